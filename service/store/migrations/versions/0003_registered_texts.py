"""Texts registered with an authority, and the ids that each text went out under."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"


def upgrade() -> None:
    op.create_table(
        "registered_texts",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("cooperative_id", sa.Integer(), nullable=False),
        sa.Column("language", sa.String(length=16), nullable=False),
        sa.Column("key", sa.String(length=64), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("sender_id", sa.String(length=64), nullable=True),
        sa.Column("template_id", sa.String(length=64), nullable=True),
        sa.Column("by", sa.Text(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(
            ["cooperative_id"], ["cooperatives.id"], name=op.f("fk_registered_texts_cooperative_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_registered_texts")),
    )
    op.create_index(
        "ix_registered_texts_cooperative_id_language_key",
        "registered_texts",
        ["cooperative_id", "language", "key"],
        unique=False,
    )
    op.add_column("outbox", sa.Column("sender_id", sa.String(length=64), nullable=True))
    op.add_column("outbox", sa.Column("template_id", sa.String(length=64), nullable=True))
