"""Staff of the desk with their sessions and forms, and what they did with matters."""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"


def upgrade() -> None:
    op.create_table(
        "staff",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("cooperative_id", sa.Integer(), nullable=False),
        sa.Column("login", sa.String(length=64), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("role", sa.String(length=16), nullable=False),
        sa.Column("language", sa.String(length=16), nullable=False),
        sa.Column("password_hash", sa.Text(), nullable=False),
        sa.Column("closed_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["cooperative_id"], ["cooperatives.id"], name=op.f("fk_staff_cooperative_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_staff")),
        sa.UniqueConstraint("login", name=op.f("uq_staff_login")),
    )
    op.create_index("ix_staff_cooperative_id_login", "staff", ["cooperative_id", "login"], unique=False)
    op.create_table(
        "staff_sessions",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("cooperative_id", sa.Integer(), nullable=False),
        sa.Column("staff_id", sa.Integer(), nullable=False),
        sa.Column("token_hash", sa.String(length=64), nullable=False),
        sa.Column("agent", sa.Text(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("seen_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("ended_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["cooperative_id"], ["cooperatives.id"], name=op.f("fk_staff_sessions_cooperative_id")),
        sa.ForeignKeyConstraint(["staff_id"], ["staff.id"], name=op.f("fk_staff_sessions_staff_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_staff_sessions")),
        sa.UniqueConstraint("token_hash", name=op.f("uq_staff_sessions_token_hash")),
    )
    op.create_index("ix_staff_sessions_staff_id_ended_at", "staff_sessions", ["staff_id", "ended_at"], unique=False)
    op.create_table(
        "failed_logins",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("login", sa.String(length=64), nullable=False),
        sa.Column("address", sa.String(length=64), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_failed_logins")),
    )
    op.create_index("ix_failed_logins_login_at", "failed_logins", ["login", "at"], unique=False)
    op.create_index("ix_failed_logins_address_at", "failed_logins", ["address", "at"], unique=False)
    op.create_table(
        "sent_forms",
        sa.Column("key", sa.String(length=64), nullable=False),
        sa.Column("cooperative_id", sa.Integer(), nullable=False),
        sa.Column("staff_id", sa.Integer(), nullable=False),
        sa.Column("body_hash", sa.String(length=64), nullable=False),
        sa.Column("location", sa.Text(), nullable=False),
        sa.Column("told", sa.JSON(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["cooperative_id"], ["cooperatives.id"], name=op.f("fk_sent_forms_cooperative_id")),
        sa.ForeignKeyConstraint(["staff_id"], ["staff.id"], name=op.f("fk_sent_forms_staff_id")),
        sa.PrimaryKeyConstraint("key", name=op.f("pk_sent_forms")),
    )
    op.create_index("ix_sent_forms_at", "sent_forms", ["at"], unique=False)
    op.create_table(
        "matter_deeds",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("cooperative_id", sa.Integer(), nullable=False),
        sa.Column("matter_id", sa.Integer(), nullable=False),
        sa.Column("after", sa.Integer(), nullable=False),
        sa.Column("staff_id", sa.Integer(), nullable=False),
        sa.Column("deed", sa.String(length=16), nullable=False),
        sa.Column("said", sa.Text(), nullable=False),
        sa.Column("until", sa.Date(), nullable=True),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["cooperative_id"], ["cooperatives.id"], name=op.f("fk_matter_deeds_cooperative_id")),
        sa.ForeignKeyConstraint(["matter_id"], ["matters.id"], name=op.f("fk_matter_deeds_matter_id")),
        sa.ForeignKeyConstraint(["staff_id"], ["staff.id"], name=op.f("fk_matter_deeds_staff_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_matter_deeds")),
        sa.UniqueConstraint("matter_id", "after", name=op.f("uq_matter_deeds_matter_id_after")),
    )
