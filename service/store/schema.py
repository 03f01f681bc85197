"""The tables. Every row belongs to one cooperative; instants are in UTC, farm days are plain dates.

What may not happen twice is a unique key here, not a rule elsewhere.

Outbox states, and where each may go:

    waiting -> leased -> handed -> delivered | failed | unknown
    waiting, or leased with its lease run out -> leased | expired | suppressed | cancelled | failed

Reminder states: waiting -> queued (its outbox row says the rest) | dropped (with its reason) | cancelled (the plan took
it back; a plan that comes back to it makes it waiting again).
"""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from sqlalchemy import (
    DDL,
    JSON,
    Boolean,
    Column,
    Date,
    DateTime,
    Dialect,
    Float,
    ForeignKey,
    Index,
    Integer,
    MetaData,
    String,
    Table,
    Text,
    TypeDecorator,
    UniqueConstraint,
    event,
    text,
)


class UtcDateTime(TypeDecorator[datetime]):
    """An instant. Naive values are refused: SQLite would drop their zone without a word."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError(f"an instant needs its zone: {value!r}")
        return value.astimezone(UTC)

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        if value is None:
            return None
        return value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)


metadata = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
        "fk": "fk_%(table_name)s_%(column_0_name)s",
        "pk": "pk_%(table_name)s",
    }
)


def _id() -> Column[int]:
    return Column("id", Integer, primary_key=True)


def _cooperative() -> Column[int]:
    return Column("cooperative_id", Integer, ForeignKey("cooperatives.id"), nullable=False)


def _grower(nullable: bool = False) -> Column[int]:
    return Column("grower_id", Integer, ForeignKey("growers.id"), nullable=nullable)


def _at(name: str = "at", nullable: bool = False) -> Column[datetime]:
    return Column(name, UtcDateTime, nullable=nullable)


def _json(name: str) -> Column[Any]:
    return Column(name, JSON, nullable=False)


# version goes up with every change of settings, places or weather: what was read under one version stays right for it.
cooperatives = Table(
    "cooperatives",
    metadata,
    _id(),
    Column("name", Text, nullable=False, unique=True),
    Column("timezone", String(64), nullable=False),
    Column("latitude", Float, nullable=False),
    Column("longitude", Float, nullable=False),
    Column("elevation_m", Float, nullable=False),
    Column("language", String(16), nullable=False),
    _json("normals"),
    Column("version", Integer, nullable=False),
    _at(),
)

# Never overwritten: these rows are the audit log. running: cycles already open follow the change.
cooperative_settings = Table(
    "cooperative_settings",
    metadata,
    _id(),
    _cooperative(),
    Column("key", String(64), nullable=False),
    _json("value"),
    Column("since", Date, nullable=False),
    Column("running", Boolean, nullable=False),
    Column("by", Text, nullable=False),
    _at(),
    Index(None, "cooperative_id", "key"),
)

villages = Table(
    "villages",
    metadata,
    _id(),
    _cooperative(),
    Column("name", Text, nullable=False),
    Column("latitude", Float, nullable=False),
    Column("longitude", Float, nullable=False),
    Column("elevation_m", Float),
    Column("normals", JSON(none_as_null=True)),
    UniqueConstraint("cooperative_id", "name"),
)

# A receiving line (gateway account or short number): a text belongs to the cooperative of the line it came in on.
lines = Table(
    "lines",
    metadata,
    _id(),
    _cooperative(),
    Column("name", String(64), nullable=False, unique=True),
)

growers = Table(
    "growers",
    metadata,
    _id(),
    _cooperative(),
    Column("name", Text),
    Column("village", Text),
    Column("language", String(16), nullable=False),
    Column("evenings_only", Boolean, nullable=False),
    _at("erased_at", nullable=True),
    _at(),
    Index(None, "cooperative_id", "village"),
)

# Consent and stop belong to the number. Replies go to the number that texted, reminders to the first of them that may.
numbers = Table(
    "numbers",
    metadata,
    _id(),
    _cooperative(),
    _grower(),
    Column("line_id", Integer, ForeignKey("lines.id"), nullable=False),  # the line it last texted
    Column("number", String(32), nullable=False),
    Column("position", Integer, nullable=False),
    _at("joined_at", nullable=True),
    Column("joined_by", Integer),  # the text that agreed: the evidence
    _at("stopped_at", nullable=True),
    Column("stopped_by", Integer),
    _at("script_offered_at", nullable=True),  # once: its language in Latin letters
    _at(),
    UniqueConstraint("cooperative_id", "number"),
    Index(None, "grower_id", "position"),
)

# state: received (being handled), handled, ignored (with its reason), set_aside (handling failed: kept as it came).
# progress: False where nothing was understood. tries: how often handling failed.
texts_in = Table(
    "texts_in",
    metadata,
    _id(),
    _cooperative(),
    Column("line_id", Integer, ForeignKey("lines.id"), nullable=False),
    Column("message_id", String(128)),
    Column("fingerprint", String(64)),
    Column("sender", String(64), nullable=False),
    Column("number_id", Integer, ForeignKey("numbers.id")),
    Column("text", Text, nullable=False),
    Column("raw", Text, nullable=False),  # the gateway's request, for whoever has to look at it later
    _at("sent_at", nullable=True),
    _at("received_at"),
    Column("state", String(16), nullable=False),
    Column("reason", Text),
    Column("task", String(32)),
    Column("progress", Boolean),
    Column("tries", Integer, nullable=False),
    UniqueConstraint("line_id", "message_id"),
    UniqueConstraint("line_id", "fingerprint"),
    Index(None, "number_id", "received_at"),
    Index(None, "sender", "received_at"),
    Index("ix_texts_in_set_aside", "id", sqlite_where=text("state = 'set_aside'"),
          postgresql_where=text("state = 'set_aside'")),
)  # fmt: skip

conversations = Table(
    "conversations",
    metadata,
    Column("number_id", Integer, ForeignKey("numbers.id"), primary_key=True, autoincrement=False),
    _cooperative(),
    _json("state"),
)

# Append-only: `voided_by` is the text that took the entry back, and the only thing that is ever written afterwards.
entries = Table(
    "entries",
    metadata,
    _id(),
    _cooperative(),
    _grower(),
    Column("block", Text),
    Column("kind", String(16), nullable=False),
    Column("day", Date, nullable=False),
    _json("values"),
    _at(),
    Column("said_by", String(16), nullable=False),
    Column("text_in_id", Integer, ForeignKey("texts_in.id")),
    Column("voided_by", Integer, ForeignKey("texts_in.id")),
    _at("voided_at", nullable=True),
    Index(None, "grower_id", "id"),
)

# The cooperative's own weather posts, by village; village "" is the cooperative's own position.
weather = Table(
    "weather",
    metadata,
    _id(),
    _cooperative(),
    Column("village", Text, nullable=False),
    Column("day", Date, nullable=False),
    Column("rain_mm", Float),
    Column("tmin_c", Float),
    Column("tmax_c", Float),
    _at(),
    UniqueConstraint("cooperative_id", "village", "day"),
)

# A reminder is identified by what it is about. cycle: the entry that opened it. part: 0 where the job is not in parts.
reminders = Table(
    "reminders",
    metadata,
    _id(),
    _cooperative(),
    _grower(),
    Column("block", Text, nullable=False),
    Column("cycle", Integer, ForeignKey("entries.id"), nullable=False),
    Column("job", String(16), nullable=False),
    Column("part", Integer, nullable=False),
    Column("for_date", Date, nullable=False),
    Column("occasion", String(8), nullable=False),
    _at("due_at"),
    _at("useful_until"),
    Column("state", String(16), nullable=False),
    Column("reason", Text),
    Column("outbox_id", Integer, ForeignKey("outbox.id")),
    _at(),
    UniqueConstraint("block", "cycle", "job", "part", "for_date", "occasion"),
    Index(None, "grower_id", "block", "state"),
    Index("ix_reminders_due", "due_at", sqlite_where=text("state = 'waiting'"),
          postgresql_where=text("state = 'waiting'")),
    Index(None, "outbox_id"),
)  # fmt: skip

# A plan that was moved unasked, to be told in a text of its own. reason: what changed and what stood before, so that
# the plan as it was can be worked out when the text is written: taken back before then, it leaves none.
# state: waiting, told, dropped (with its reason).
moves = Table(
    "moves",
    metadata,
    _id(),
    _cooperative(),
    _grower(),
    _json("reason"),
    _at("due_at"),
    Column("state", String(16), nullable=False),
    Column("why_dropped", Text),
    Column("outbox_id", Integer, ForeignKey("outbox.id")),
    _at(),
    Index("ix_moves_due", "due_at", sqlite_where=text("state = 'waiting'"), postgresql_where=text("state = 'waiting'")),
    Index(None, "grower_id", "state"),
)

# Texts registered with an authority: under which sender and template id each goes out. Never overwritten: the newest
# row of a text holds; without ids it withdraws what was on file. text: the catalogue's when it was entered.
registered_texts = Table(
    "registered_texts",
    metadata,
    _id(),
    _cooperative(),
    Column("language", String(16), nullable=False),
    Column("key", String(64), nullable=False),
    Column("text", Text, nullable=False),
    Column("sender_id", String(64)),
    Column("template_id", String(64)),
    Column("by", Text, nullable=False),
    _at(),
    Index(None, "cooperative_id", "language", "key"),
)

# key, values, items: what is said; text, encoding, segments: as worded when it was claimed for sending, and then
# sender_id, template_id: what that wording is registered under.
# local_day, local_hour, about: set for reminders, one row of a kind for each grower and local hour.
outbox = Table(
    "outbox",
    metadata,
    _id(),
    _cooperative(),
    _grower(nullable=True),
    Column("line_id", Integer, ForeignKey("lines.id"), nullable=False),
    Column("number", String(32), nullable=False),
    Column("because", String(16), nullable=False),
    Column("priority", Integer, nullable=False),
    Column("key", String(64), nullable=False),
    _json("values"),
    _json("items"),
    Column("language", String(16), nullable=False),
    Column("text", Text),
    Column("encoding", String(8)),
    Column("segments", Integer),
    Column("sender_id", String(64)),
    Column("template_id", String(64)),
    Column("state", String(16), nullable=False),
    Column("reason", Text),
    _at("due_at"),
    _at("useful_until"),
    _at("leased_until", nullable=True),
    Column("attempts", Integer, nullable=False),
    Column("text_in_id", Integer, ForeignKey("texts_in.id")),
    Column("local_day", Date),
    Column("local_hour", Integer),
    Column("about", String(8)),
    _at(),
    _at("handed_at", nullable=True),
    _at("final_at", nullable=True),
    Index("uq_outbox_reminder", "grower_id", "local_day", "local_hour", "about", unique=True,
          sqlite_where=text("because = 'reminder' AND state <> 'cancelled'"),
          postgresql_where=text("because = 'reminder' AND state <> 'cancelled'")),
    Index("ix_outbox_live", "priority", "due_at", "id", sqlite_where=text("state IN ('waiting', 'leased')"),
          postgresql_where=text("state IN ('waiting', 'leased')")),
    Index("ix_outbox_live_number", "number", "priority", "id", sqlite_where=text("state IN ('waiting', 'leased')"),
          postgresql_where=text("state IN ('waiting', 'leased')")),
    Index(None, "number", "id"),
)  # fmt: skip

# A snapshot for lists and boards; nothing decides from it, and it can be dropped and rebuilt.
block_now = Table(
    "block_now",
    metadata,
    Column("grower_id", Integer, ForeignKey("growers.id"), primary_key=True, autoincrement=False),
    Column("block", Text, primary_key=True),
    _cooperative(),
    Column("village", Text, nullable=False),
    Column("cycle", Integer),
    Column("season", String(8)),
    Column("rest_start", Date),
    Column("counted", Integer),
    Column("days_lost", Integer),
    Column("cut", Date),
    Column("next_job", String(16)),
    Column("next_date", Date),
    Column("held", Text),
    Column("as_of", Date, nullable=False),
    Index(None, "cooperative_id", "village"),
)

# What needs a person. about: set where one matter is raised once only (a reason in a block's cycle).
matters = Table(
    "matters",
    metadata,
    _id(),
    _cooperative(),
    _grower(nullable=True),
    Column("number", String(64), nullable=False),
    Column("block", Text),
    Column("kind", String(32), nullable=False),
    Column("text", Text, nullable=False),
    Column("text_in_id", Integer, ForeignKey("texts_in.id")),
    Column("about", String(64)),
    Column("state", String(16), nullable=False),
    _at(),
    UniqueConstraint("cooperative_id", "grower_id", "block", "kind", "about"),
    Index(None, "cooperative_id", "state", "at"),
)

# Who may enter the desk. login: one for the whole service, in small letters. role: service.accounts says what it may.
staff = Table(
    "staff",
    metadata,
    _id(),
    _cooperative(),
    Column("login", String(64), nullable=False, unique=True),
    Column("name", Text, nullable=False),
    Column("role", String(16), nullable=False),
    Column("language", String(16), nullable=False),
    Column("password_hash", Text, nullable=False),
    _at("closed_at", nullable=True),
    _at(),
    Index(None, "cooperative_id", "login"),
)

# The cookie's token stands here only as its hash. ended_at: left, revoked or followed by a newer login.
staff_sessions = Table(
    "staff_sessions",
    metadata,
    _id(),
    _cooperative(),
    Column("staff_id", Integer, ForeignKey("staff.id"), nullable=False),
    Column("token_hash", String(64), nullable=False, unique=True),
    Column("agent", Text, nullable=False),
    _at(),
    _at("seen_at"),
    _at("ended_at", nullable=True),
    Index(None, "staff_id", "ended_at"),
)

# Logins that failed, to slow down whoever guesses. What was typed may name nobody: it belongs to no cooperative.
failed_logins = Table(
    "failed_logins",
    metadata,
    _id(),
    Column("login", String(64), nullable=False),
    Column("address", String(64), nullable=False),
    _at(),
    Index(None, "login", "at"),
    Index(None, "address", "at"),
)

# Forms that were sent, by the key that each bears: sent twice, a form has one effect and gets the same answer.
# told: what the page then tells, as a key and values.
sent_forms = Table(
    "sent_forms",
    metadata,
    Column("key", String(64), primary_key=True),
    _cooperative(),
    Column("staff_id", Integer, ForeignKey("staff.id"), nullable=False),
    Column("body_hash", String(64), nullable=False),
    Column("location", Text, nullable=False),
    _json("told"),
    _at(),
    Index(None, "at"),
)

# What the people of the cooperative did with a matter, never overwritten; the newest says how it stands.
# deed: taken, given_back, put_off (until a day), closed, opened_again. after: the deed that its doer had before him, 0
# for none: of two people who act at once one comes too late.
matter_deeds = Table(
    "matter_deeds",
    metadata,
    _id(),
    _cooperative(),
    Column("matter_id", Integer, ForeignKey("matters.id"), nullable=False),
    Column("after", Integer, nullable=False),
    Column("staff_id", Integer, ForeignKey("staff.id"), nullable=False),
    Column("deed", String(16), nullable=False),
    Column("said", Text, nullable=False),
    Column("until", Date),
    _at(),
    UniqueConstraint("matter_id", "after"),
)

# How far the run of a local day has got: growers up to grower_id; reminders stand as rows up to `until`.
daily_runs = Table(
    "daily_runs",
    metadata,
    Column("cooperative_id", Integer, ForeignKey("cooperatives.id"), primary_key=True, autoincrement=False),
    Column("day", Date, primary_key=True),
    Column("grower_id", Integer, nullable=False),
    _at("since"),
    _at("until"),
    _at("finished_at", nullable=True),
)

# The diary is never edited: an entry is taken back once, and of an erased grower's the values lose what named him.
# Batch migrations drop triggers without a word: whoever rebuilds `entries` makes them anew.
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
for guard in SQLITE_GUARDS:
    event.listen(metadata, "after_create", DDL(guard).execute_if(dialect="sqlite"))  # type: ignore[no-untyped-call]
for guard in POSTGRESQL_GUARDS:
    event.listen(metadata, "after_create", DDL(guard).execute_if(dialect="postgresql"))  # type: ignore[no-untyped-call]
