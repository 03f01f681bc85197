"""The first tables."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None

SQLITE_GUARDS = (
    """CREATE TRIGGER entries_are_never_edited BEFORE UPDATE ON entries
    WHEN NEW.id IS NOT OLD.id OR NEW.cooperative_id IS NOT OLD.cooperative_id OR NEW.grower_id IS NOT OLD.grower_id
      OR NEW.block IS NOT OLD.block OR NEW.kind IS NOT OLD.kind OR NEW.day IS NOT OLD.day OR NEW.at IS NOT OLD.at
      OR NEW.said_by IS NOT OLD.said_by OR NEW.text_in_id IS NOT OLD.text_in_id
      OR OLD.voided_by IS NOT NULL AND (NEW.voided_by IS NOT OLD.voided_by OR NEW.voided_at IS NOT OLD.voided_at)
      OR NEW."values" IS NOT OLD."values"
        AND (SELECT erased_at FROM growers WHERE growers.id = OLD.grower_id) IS NULL
    BEGIN SELECT RAISE(ABORT, 'the diary is append-only'); END""",
    """CREATE TRIGGER entries_are_never_deleted BEFORE DELETE ON entries
    BEGIN SELECT RAISE(ABORT, 'the diary is append-only'); END""",
)
POSTGRESQL_GUARDS = (
    """CREATE FUNCTION entries_are_append_only() RETURNS trigger LANGUAGE plpgsql AS $$
    BEGIN
      IF TG_OP = 'UPDATE'
        AND (NEW.id, NEW.cooperative_id, NEW.grower_id, NEW.block, NEW.kind, NEW.day, NEW.at, NEW.said_by,
            NEW.text_in_id)
          IS NOT DISTINCT FROM
          (OLD.id, OLD.cooperative_id, OLD.grower_id, OLD.block, OLD.kind, OLD.day, OLD.at, OLD.said_by,
            OLD.text_in_id)
        AND (OLD.voided_by IS NULL
          OR (NEW.voided_by, NEW.voided_at) IS NOT DISTINCT FROM (OLD.voided_by, OLD.voided_at))
        AND (NEW."values"::text = OLD."values"::text
          OR (SELECT erased_at FROM growers WHERE growers.id = OLD.grower_id) IS NOT NULL)
      THEN RETURN NEW; END IF;
      RAISE EXCEPTION 'the diary is append-only';
    END $$""",
    """CREATE TRIGGER entries_are_append_only BEFORE UPDATE OR DELETE ON entries FOR EACH ROW
    EXECUTE FUNCTION entries_are_append_only()""",
)


def upgrade() -> None:
    op.create_table(
        "cooperatives",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("timezone", sa.String(length=64), nullable=False),
        sa.Column("latitude", sa.Float(), nullable=False),
        sa.Column("longitude", sa.Float(), nullable=False),
        sa.Column("elevation_m", sa.Float(), nullable=False),
        sa.Column("language", sa.String(length=16), nullable=False),
        sa.Column("normals", sa.JSON(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_cooperatives")),
        sa.UniqueConstraint("name", name=op.f("uq_cooperatives_name")),
    )
    op.create_table(
        "cooperative_settings",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("cooperative_id", sa.Integer(), nullable=False),
        sa.Column("key", sa.String(length=64), nullable=False),
        sa.Column("value", sa.JSON(), nullable=False),
        sa.Column("since", sa.Date(), nullable=False),
        sa.Column("running", sa.Boolean(), nullable=False),
        sa.Column("by", sa.Text(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(
            ["cooperative_id"], ["cooperatives.id"], name=op.f("fk_cooperative_settings_cooperative_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_cooperative_settings")),
    )
    op.create_index(
        "ix_cooperative_settings_cooperative_id_key", "cooperative_settings", ["cooperative_id", "key"], unique=False
    )

    op.create_table(
        "daily_runs",
        sa.Column("cooperative_id", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("grower_id", sa.Integer(), nullable=False),
        sa.Column("since", sa.DateTime(timezone=True), nullable=False),
        sa.Column("until", sa.DateTime(timezone=True), nullable=False),
        sa.Column("finished_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["cooperative_id"], ["cooperatives.id"], name=op.f("fk_daily_runs_cooperative_id")),
        sa.PrimaryKeyConstraint("cooperative_id", "day", name=op.f("pk_daily_runs")),
    )
    op.create_table(
        "growers",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("cooperative_id", sa.Integer(), nullable=False),
        sa.Column("name", sa.Text(), nullable=True),
        sa.Column("village", sa.Text(), nullable=True),
        sa.Column("language", sa.String(length=16), nullable=False),
        sa.Column("evenings_only", sa.Boolean(), nullable=False),
        sa.Column("erased_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["cooperative_id"], ["cooperatives.id"], name=op.f("fk_growers_cooperative_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_growers")),
    )
    op.create_index("ix_growers_cooperative_id_village", "growers", ["cooperative_id", "village"], unique=False)

    op.create_table(
        "lines",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("cooperative_id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=64), nullable=False),
        sa.ForeignKeyConstraint(["cooperative_id"], ["cooperatives.id"], name=op.f("fk_lines_cooperative_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_lines")),
        sa.UniqueConstraint("name", name=op.f("uq_lines_name")),
    )
    op.create_table(
        "villages",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("cooperative_id", sa.Integer(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("latitude", sa.Float(), nullable=False),
        sa.Column("longitude", sa.Float(), nullable=False),
        sa.Column("elevation_m", sa.Float(), nullable=True),
        sa.Column("normals", sa.JSON(), nullable=True),
        sa.ForeignKeyConstraint(["cooperative_id"], ["cooperatives.id"], name=op.f("fk_villages_cooperative_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_villages")),
        sa.UniqueConstraint("cooperative_id", "name", name=op.f("uq_villages_cooperative_id_name")),
    )
    op.create_table(
        "weather",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("cooperative_id", sa.Integer(), nullable=False),
        sa.Column("village", sa.Text(), nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("rain_mm", sa.Float(), nullable=True),
        sa.Column("tmin_c", sa.Float(), nullable=True),
        sa.Column("tmax_c", sa.Float(), nullable=True),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["cooperative_id"], ["cooperatives.id"], name=op.f("fk_weather_cooperative_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_weather")),
        sa.UniqueConstraint("cooperative_id", "village", "day", name=op.f("uq_weather_cooperative_id_village_day")),
    )
    op.create_table(
        "block_now",
        sa.Column("grower_id", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("block", sa.Text(), nullable=False),
        sa.Column("cooperative_id", sa.Integer(), nullable=False),
        sa.Column("village", sa.Text(), nullable=False),
        sa.Column("cycle", sa.Integer(), nullable=True),
        sa.Column("season", sa.String(length=8), nullable=True),
        sa.Column("rest_start", sa.Date(), nullable=True),
        sa.Column("counted", sa.Integer(), nullable=True),
        sa.Column("days_lost", sa.Integer(), nullable=True),
        sa.Column("cut", sa.Date(), nullable=True),
        sa.Column("next_job", sa.String(length=16), nullable=True),
        sa.Column("next_date", sa.Date(), nullable=True),
        sa.Column("held", sa.Text(), nullable=True),
        sa.Column("as_of", sa.Date(), nullable=False),
        sa.ForeignKeyConstraint(["cooperative_id"], ["cooperatives.id"], name=op.f("fk_block_now_cooperative_id")),
        sa.ForeignKeyConstraint(["grower_id"], ["growers.id"], name=op.f("fk_block_now_grower_id")),
        sa.PrimaryKeyConstraint("grower_id", "block", name=op.f("pk_block_now")),
    )
    op.create_index("ix_block_now_cooperative_id_village", "block_now", ["cooperative_id", "village"], unique=False)

    op.create_table(
        "numbers",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("cooperative_id", sa.Integer(), nullable=False),
        sa.Column("grower_id", sa.Integer(), nullable=False),
        sa.Column("line_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.String(length=32), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("joined_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("joined_by", sa.Integer(), nullable=True),
        sa.Column("stopped_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("stopped_by", sa.Integer(), nullable=True),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["cooperative_id"], ["cooperatives.id"], name=op.f("fk_numbers_cooperative_id")),
        sa.ForeignKeyConstraint(["grower_id"], ["growers.id"], name=op.f("fk_numbers_grower_id")),
        sa.ForeignKeyConstraint(["line_id"], ["lines.id"], name=op.f("fk_numbers_line_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_numbers")),
        sa.UniqueConstraint("cooperative_id", "number", name=op.f("uq_numbers_cooperative_id_number")),
    )
    op.create_index("ix_numbers_grower_id_position", "numbers", ["grower_id", "position"], unique=False)

    op.create_table(
        "conversations",
        sa.Column("number_id", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("cooperative_id", sa.Integer(), nullable=False),
        sa.Column("state", sa.JSON(), nullable=False),
        sa.ForeignKeyConstraint(["cooperative_id"], ["cooperatives.id"], name=op.f("fk_conversations_cooperative_id")),
        sa.ForeignKeyConstraint(["number_id"], ["numbers.id"], name=op.f("fk_conversations_number_id")),
        sa.PrimaryKeyConstraint("number_id", name=op.f("pk_conversations")),
    )
    op.create_table(
        "texts_in",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("cooperative_id", sa.Integer(), nullable=False),
        sa.Column("line_id", sa.Integer(), nullable=False),
        sa.Column("message_id", sa.String(length=128), nullable=True),
        sa.Column("fingerprint", sa.String(length=64), nullable=True),
        sa.Column("sender", sa.String(length=64), nullable=False),
        sa.Column("number_id", sa.Integer(), nullable=True),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("raw", sa.Text(), nullable=False),
        sa.Column("sent_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("received_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("state", sa.String(length=16), nullable=False),
        sa.Column("reason", sa.Text(), nullable=True),
        sa.Column("task", sa.String(length=32), nullable=True),
        sa.Column("progress", sa.Boolean(), nullable=True),
        sa.Column("tries", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["cooperative_id"], ["cooperatives.id"], name=op.f("fk_texts_in_cooperative_id")),
        sa.ForeignKeyConstraint(["line_id"], ["lines.id"], name=op.f("fk_texts_in_line_id")),
        sa.ForeignKeyConstraint(["number_id"], ["numbers.id"], name=op.f("fk_texts_in_number_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_texts_in")),
        sa.UniqueConstraint("line_id", "fingerprint", name=op.f("uq_texts_in_line_id_fingerprint")),
        sa.UniqueConstraint("line_id", "message_id", name=op.f("uq_texts_in_line_id_message_id")),
    )
    op.create_index("ix_texts_in_number_id_received_at", "texts_in", ["number_id", "received_at"], unique=False)
    op.create_index("ix_texts_in_sender_received_at", "texts_in", ["sender", "received_at"], unique=False)
    op.create_index(
        "ix_texts_in_set_aside",
        "texts_in",
        ["id"],
        unique=False,
        sqlite_where=sa.text("state = 'set_aside'"),
        postgresql_where=sa.text("state = 'set_aside'"),
    )

    op.create_table(
        "entries",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("cooperative_id", sa.Integer(), nullable=False),
        sa.Column("grower_id", sa.Integer(), nullable=False),
        sa.Column("block", sa.Text(), nullable=True),
        sa.Column("kind", sa.String(length=16), nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("values", sa.JSON(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("said_by", sa.String(length=16), nullable=False),
        sa.Column("text_in_id", sa.Integer(), nullable=True),
        sa.Column("voided_by", sa.Integer(), nullable=True),
        sa.Column("voided_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["cooperative_id"], ["cooperatives.id"], name=op.f("fk_entries_cooperative_id")),
        sa.ForeignKeyConstraint(["grower_id"], ["growers.id"], name=op.f("fk_entries_grower_id")),
        sa.ForeignKeyConstraint(["text_in_id"], ["texts_in.id"], name=op.f("fk_entries_text_in_id")),
        sa.ForeignKeyConstraint(["voided_by"], ["texts_in.id"], name=op.f("fk_entries_voided_by")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_entries")),
    )
    op.create_index("ix_entries_grower_id_id", "entries", ["grower_id", "id"], unique=False)

    op.create_table(
        "matters",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("cooperative_id", sa.Integer(), nullable=False),
        sa.Column("grower_id", sa.Integer(), nullable=True),
        sa.Column("number", sa.String(length=64), nullable=False),
        sa.Column("block", sa.Text(), nullable=True),
        sa.Column("kind", sa.String(length=32), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("text_in_id", sa.Integer(), nullable=True),
        sa.Column("about", sa.String(length=64), nullable=True),
        sa.Column("state", sa.String(length=16), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["cooperative_id"], ["cooperatives.id"], name=op.f("fk_matters_cooperative_id")),
        sa.ForeignKeyConstraint(["grower_id"], ["growers.id"], name=op.f("fk_matters_grower_id")),
        sa.ForeignKeyConstraint(["text_in_id"], ["texts_in.id"], name=op.f("fk_matters_text_in_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_matters")),
        sa.UniqueConstraint(
            "cooperative_id",
            "grower_id",
            "block",
            "kind",
            "about",
            name=op.f("uq_matters_cooperative_id_grower_id_block_kind_about"),
        ),
    )
    op.create_index("ix_matters_cooperative_id_state_at", "matters", ["cooperative_id", "state", "at"], unique=False)

    op.create_table(
        "outbox",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("cooperative_id", sa.Integer(), nullable=False),
        sa.Column("grower_id", sa.Integer(), nullable=True),
        sa.Column("line_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.String(length=32), nullable=False),
        sa.Column("because", sa.String(length=16), nullable=False),
        sa.Column("priority", sa.Integer(), nullable=False),
        sa.Column("key", sa.String(length=64), nullable=False),
        sa.Column("values", sa.JSON(), nullable=False),
        sa.Column("items", sa.JSON(), nullable=False),
        sa.Column("language", sa.String(length=16), nullable=False),
        sa.Column("text", sa.Text(), nullable=True),
        sa.Column("encoding", sa.String(length=8), nullable=True),
        sa.Column("segments", sa.Integer(), nullable=True),
        sa.Column("state", sa.String(length=16), nullable=False),
        sa.Column("reason", sa.Text(), nullable=True),
        sa.Column("due_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("useful_until", sa.DateTime(timezone=True), nullable=False),
        sa.Column("leased_until", sa.DateTime(timezone=True), nullable=True),
        sa.Column("attempts", sa.Integer(), nullable=False),
        sa.Column("text_in_id", sa.Integer(), nullable=True),
        sa.Column("local_day", sa.Date(), nullable=True),
        sa.Column("local_hour", sa.Integer(), nullable=True),
        sa.Column("about", sa.String(length=8), nullable=True),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("handed_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("final_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["cooperative_id"], ["cooperatives.id"], name=op.f("fk_outbox_cooperative_id")),
        sa.ForeignKeyConstraint(["grower_id"], ["growers.id"], name=op.f("fk_outbox_grower_id")),
        sa.ForeignKeyConstraint(["line_id"], ["lines.id"], name=op.f("fk_outbox_line_id")),
        sa.ForeignKeyConstraint(["text_in_id"], ["texts_in.id"], name=op.f("fk_outbox_text_in_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_outbox")),
    )
    op.create_index(
        "ix_outbox_live",
        "outbox",
        ["priority", "due_at", "id"],
        unique=False,
        sqlite_where=sa.text("state IN ('waiting', 'leased')"),
        postgresql_where=sa.text("state IN ('waiting', 'leased')"),
    )
    op.create_index(
        "ix_outbox_live_number",
        "outbox",
        ["number", "priority", "id"],
        unique=False,
        sqlite_where=sa.text("state IN ('waiting', 'leased')"),
        postgresql_where=sa.text("state IN ('waiting', 'leased')"),
    )
    op.create_index("ix_outbox_number_id", "outbox", ["number", "id"], unique=False)
    op.create_index(
        "uq_outbox_reminder",
        "outbox",
        ["grower_id", "local_day", "local_hour", "about"],
        unique=True,
        sqlite_where=sa.text("because = 'reminder' AND state <> 'cancelled'"),
        postgresql_where=sa.text("because = 'reminder' AND state <> 'cancelled'"),
    )

    op.create_table(
        "moves",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("cooperative_id", sa.Integer(), nullable=False),
        sa.Column("grower_id", sa.Integer(), nullable=False),
        sa.Column("reason", sa.JSON(), nullable=False),
        sa.Column("due_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("state", sa.String(length=16), nullable=False),
        sa.Column("why_dropped", sa.Text(), nullable=True),
        sa.Column("outbox_id", sa.Integer(), nullable=True),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["cooperative_id"], ["cooperatives.id"], name=op.f("fk_moves_cooperative_id")),
        sa.ForeignKeyConstraint(["grower_id"], ["growers.id"], name=op.f("fk_moves_grower_id")),
        sa.ForeignKeyConstraint(["outbox_id"], ["outbox.id"], name=op.f("fk_moves_outbox_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_moves")),
    )
    op.create_index(
        "ix_moves_due",
        "moves",
        ["due_at"],
        unique=False,
        sqlite_where=sa.text("state = 'waiting'"),
        postgresql_where=sa.text("state = 'waiting'"),
    )
    op.create_index("ix_moves_grower_id_state", "moves", ["grower_id", "state"], unique=False)

    op.create_table(
        "reminders",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("cooperative_id", sa.Integer(), nullable=False),
        sa.Column("grower_id", sa.Integer(), nullable=False),
        sa.Column("block", sa.Text(), nullable=False),
        sa.Column("cycle", sa.Integer(), nullable=False),
        sa.Column("job", sa.String(length=16), nullable=False),
        sa.Column("part", sa.Integer(), nullable=False),
        sa.Column("for_date", sa.Date(), nullable=False),
        sa.Column("occasion", sa.String(length=8), nullable=False),
        sa.Column("due_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("useful_until", sa.DateTime(timezone=True), nullable=False),
        sa.Column("state", sa.String(length=16), nullable=False),
        sa.Column("reason", sa.Text(), nullable=True),
        sa.Column("outbox_id", sa.Integer(), nullable=True),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["cooperative_id"], ["cooperatives.id"], name=op.f("fk_reminders_cooperative_id")),
        sa.ForeignKeyConstraint(["cycle"], ["entries.id"], name=op.f("fk_reminders_cycle")),
        sa.ForeignKeyConstraint(["grower_id"], ["growers.id"], name=op.f("fk_reminders_grower_id")),
        sa.ForeignKeyConstraint(["outbox_id"], ["outbox.id"], name=op.f("fk_reminders_outbox_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_reminders")),
        sa.UniqueConstraint(
            "block",
            "cycle",
            "job",
            "part",
            "for_date",
            "occasion",
            name=op.f("uq_reminders_block_cycle_job_part_for_date_occasion"),
        ),
    )
    op.create_index(
        "ix_reminders_due",
        "reminders",
        ["due_at"],
        unique=False,
        sqlite_where=sa.text("state = 'waiting'"),
        postgresql_where=sa.text("state = 'waiting'"),
    )
    op.create_index("ix_reminders_grower_id_block_state", "reminders", ["grower_id", "block", "state"], unique=False)
    op.create_index("ix_reminders_outbox_id", "reminders", ["outbox_id"], unique=False)
    guards = POSTGRESQL_GUARDS if op.get_bind().dialect.name == "postgresql" else SQLITE_GUARDS
    for guard in guards:
        op.execute(guard)
