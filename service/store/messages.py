"""Texts in, and the outbox: its rows, their claiming, and where each state may go."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from sqlalchemy import Connection, and_, bindparam, case, exists, func, or_, select, update

from service.store.schema import UtcDateTime, daily_runs, outbox, texts_in
from service.store.session import upsert

PRIORITY = {"reply": 0, "reminder": 1, "broadcast": 2}
LIVE = ("waiting", "leased")
# From where a receipt may take a row to what it says. The first final word stands; a receipt may overtake the answer of
# the send itself, and tell that a text put off without an answer has gone after all.
RECEIPTS = {
    "handed": ("leased", "waiting"),
    "delivered": ("leased", "waiting", "handed", "unknown"),
    "failed": ("leased", "waiting", "handed", "unknown"),
}


@dataclass(frozen=True)
class Recent:
    """How much a number has texted: answered texts of the last hour and day, and those of them that led nowhere."""

    hour: int
    day: int
    astray_two_minutes: int
    astray_day: int


@dataclass(frozen=True)
class NewText:
    """A text to go into the outbox, unworded."""

    number: str
    line_id: int
    because: str
    key: str
    values: Mapping[str, Any]
    items: Sequence[Mapping[str, Any]]
    language: str
    due_at: datetime
    useful_until: datetime
    text_in_id: int | None = None
    local_day: date | None = None
    local_hour: int | None = None
    about: str | None = None


# Texts in


def take_in(connection: Connection, row: Mapping[str, Any]) -> int | None:
    """Keep a text as received; its id, or None where it was kept before (same line and message id or fingerprint)."""
    return connection.execute(
        upsert(connection, texts_in).values(dict(row)).on_conflict_do_nothing().returning(texts_in.c.id)
    ).scalar_one_or_none()


def said_just_now(connection: Connection, line_id: int, sender: str, text: str, since: datetime) -> bool:
    """Whether this sender's very text came in without a message id since then."""
    return connection.execute(
        select(
            exists().where(
                texts_in.c.line_id == line_id, texts_in.c.sender == sender, texts_in.c.text == text,
                texts_in.c.message_id.is_(None), texts_in.c.received_at >= since,
            )
        )
    ).scalar_one()  # fmt: skip


def settle(
    connection: Connection, text_in_id: int, state: str, *, reason: str | None = None, number_id: int | None = None,
    task: str | None = None, progress: bool | None = None,
) -> None:  # fmt: skip
    """Write what became of a text."""
    connection.execute(
        update(texts_in)
        .where(texts_in.c.id == text_in_id)
        .values(state=state, reason=reason, number_id=number_id, task=task, progress=progress)
    )


_astray = texts_in.c.progress.is_(False)
_RECENT = select(
    func.count(case((texts_in.c.received_at > bindparam("hour_ago", type_=UtcDateTime), 1))),
    func.count(),
    func.count(case((and_(_astray, texts_in.c.received_at > bindparam("two_minutes_ago", type_=UtcDateTime)), 1))),
    func.count(case((_astray, 1))),
).where(
    texts_in.c.number_id == bindparam("number"),
    texts_in.c.received_at > bindparam("day_ago", type_=UtcDateTime),
    texts_in.c.state == "handled",
)


def recent(connection: Connection, number_id: int, now: datetime) -> Recent:
    """What a number has texted lately."""
    row = connection.execute(
        _RECENT,
        {
            "number": number_id,
            "hour_ago": now - timedelta(hours=1),
            "two_minutes_ago": now - timedelta(minutes=2),
            "day_ago": now - timedelta(days=1),
        },
    ).one()
    return Recent(row[0], row[1], row[2], row[3])


def refused_since(connection: Connection, number_id: int, reason: str, since: datetime) -> bool:
    """Whether a text of this number was left unanswered for that reason since then."""
    return connection.execute(
        select(
            exists().where(
                texts_in.c.number_id == number_id, texts_in.c.reason == reason, texts_in.c.received_at > since
            )
        )
    ).scalar_one()


_SET_ASIDE = (
    select(texts_in)
    .where(texts_in.c.state == "set_aside", texts_in.c.tries < bindparam("most_tries"))
    .order_by(texts_in.c.id)
    .limit(100)
)


def set_aside(connection: Connection, most_tries: int) -> list[Any]:
    """Texts whose handling failed and that are to be tried once more, oldest first."""
    return list(connection.execute(_SET_ASIDE, {"most_tries": most_tries}))


def tried_again(connection: Connection, text_in_id: int, reason: str) -> None:
    """Note that a text set aside failed again."""
    connection.execute(
        update(texts_in).where(texts_in.c.id == text_in_id).values(tries=texts_in.c.tries + 1, reason=reason)
    )


def last_said(connection: Connection, number: str, count: int) -> list[str]:
    """The texts last sent to a number, newest first."""
    return [
        text
        for text in connection.execute(
            select(outbox.c.text).where(outbox.c.number == number).order_by(outbox.c.id.desc()).limit(count)
        ).scalars()
        if text
    ]


def newest(connection: Connection) -> datetime | None:
    """The last instant that the tables know of."""
    newest_of = (texts_in.c.received_at, outbox.c.handed_at, daily_runs.c.finished_at)
    instants = [connection.execute(select(func.max(column))).scalar() for column in newest_of]
    return max((instant for instant in instants if instant is not None), default=None)


def count_in(connection: Connection) -> int:
    """How many texts have come in."""
    return connection.execute(select(func.count()).select_from(texts_in)).scalar_one()


# Outbox


def queue(connection: Connection, cooperative_id: int, grower_id: int | None, new: NewText, at: datetime) -> int:
    """Put a text into the outbox."""
    row = {
        "cooperative_id": cooperative_id, "grower_id": grower_id, "line_id": new.line_id, "number": new.number,
        "because": new.because, "priority": PRIORITY[new.because], "key": new.key, "values": dict(new.values),
        "items": [dict(item) for item in new.items], "language": new.language, "state": "waiting",
        "due_at": new.due_at, "useful_until": new.useful_until, "attempts": 0, "text_in_id": new.text_in_id,
        "local_day": new.local_day, "local_hour": new.local_hour, "about": new.about, "at": at,
    }  # fmt: skip
    id_: int = connection.execute(outbox.insert().returning(outbox.c.id).values(row)).scalar_one()
    return id_


_earlier = outbox.alias("earlier")
_CLAIMABLE = (
    select(outbox.c.id)
    .where(
        outbox.c.state.in_(LIVE),
        or_(
            and_(outbox.c.state == "waiting", outbox.c.due_at <= bindparam("now", type_=UtcDateTime)),
            and_(outbox.c.state == "leased", outbox.c.leased_until < bindparam("now", type_=UtcDateTime)),
        ),
        ~exists().where(
            _earlier.c.number == outbox.c.number,
            _earlier.c.cooperative_id == outbox.c.cooperative_id,
            _earlier.c.priority == outbox.c.priority,
            _earlier.c.id < outbox.c.id,
            _earlier.c.state.in_(LIVE),
        ),
    )
    .order_by(outbox.c.priority, outbox.c.due_at, outbox.c.id)
    .limit(bindparam("most"))
    .with_for_update(skip_locked=True, of=outbox)
)
_CLAIMABLE_TO = _CLAIMABLE.where(outbox.c.number == bindparam("to_number"))


def claim(connection: Connection, now: datetime, until: datetime, limit: int, number: str | None = None) -> list[Any]:
    """Lease rows whose time has come, first things first; of one number and kind only the oldest that is live.

    A lease that ran out may have gone out: replies and reminders go again.
    """
    if number is None:
        ids = list(connection.execute(_CLAIMABLE, {"now": now, "most": limit}).scalars())
    else:
        ids = list(connection.execute(_CLAIMABLE_TO, {"now": now, "most": limit, "to_number": number}).scalars())
    if not ids:
        return []
    connection.execute(
        update(outbox)
        .where(outbox.c.id.in_(ids))
        .values(state="leased", leased_until=until, attempts=outbox.c.attempts + 1)
    )
    rows = {row.id: row for row in connection.execute(select(outbox).where(outbox.c.id.in_(ids)))}
    return [rows[id_] for id_ in ids]


def keep_wording(
    connection: Connection, outbox_id: int, language: str, text: str, encoding: str, segments: int,
    sender_id: str | None, template_id: str | None,
) -> None:  # fmt: skip
    """Keep a row's text, in the language that it was worded in, and the ids that this is registered under."""
    connection.execute(
        update(outbox)
        .where(outbox.c.id == outbox_id)
        .values(
            language=language,
            text=text,
            encoding=encoding,
            segments=segments,
            sender_id=sender_id,
            template_id=template_id,
        )
    )


def end(connection: Connection, outbox_id: int, state: str, reason: str | None, now: datetime) -> None:
    """Bring a live row to its end: expired, suppressed, cancelled or failed, with the reason."""
    connection.execute(
        update(outbox)
        .where(outbox.c.id == outbox_id, outbox.c.state.in_(LIVE))
        .values(state=state, reason=reason, leased_until=None, final_at=now)
    )


def handed(connection: Connection, outbox_id: int, now: datetime) -> None:
    """The gateway has taken it. A receipt that was quicker stands."""
    connection.execute(
        update(outbox)
        .where(outbox.c.id == outbox_id)
        .values(
            state=case((outbox.c.state == "leased", "handed"), else_=outbox.c.state), leased_until=None, handed_at=now
        )
    )


def put_off(connection: Connection, outbox_id: int, until: datetime, reason: str) -> None:
    """Give a leased row back, to be claimed again then."""
    connection.execute(
        update(outbox)
        .where(outbox.c.id == outbox_id, outbox.c.state == "leased")
        .values(state="waiting", due_at=until, leased_until=None, reason=reason)
    )


def receipt(connection: Connection, outbox_id: int, state: str, reason: str | None, now: datetime) -> bool:
    """What a gateway reports of a text: only forward, and no report is a normal end. False where it changed nothing."""
    done = connection.execute(
        update(outbox)
        .where(outbox.c.id == outbox_id, outbox.c.state.in_(RECEIPTS[state]), outbox.c.attempts > 0)
        .values(
            state=state, reason=reason, leased_until=None, handed_at=func.coalesce(outbox.c.handed_at, now),
            final_at=None if state == "handed" else now,
        )
    )  # fmt: skip
    return done.rowcount == 1


def still_leased(connection: Connection, outbox_id: int) -> bool:
    """Whether a row was not taken back since it was claimed."""
    return connection.execute(select(exists().where(outbox.c.id == outbox_id, outbox.c.state == "leased"))).scalar_one()


def cancel_unsent(
    connection: Connection, number: str, cooperative_id: int, because: Collection[str], reason: str, now: datetime
) -> None:
    """Take back what is not handed over yet to a number, of those kinds; a row just leased too."""
    connection.execute(
        update(outbox)
        .where(
            outbox.c.cooperative_id == cooperative_id, outbox.c.number == number, outbox.c.because.in_(because),
            outbox.c.state.in_(LIVE),
        )
        .values(state="cancelled", reason=reason, leased_until=None, final_at=now)
    )  # fmt: skip


def reminded_on(connection: Connection, grower_id: int, day: date) -> int:
    """How many reminders a grower has or gets on a local day."""
    return connection.execute(
        select(func.count()).where(
            outbox.c.grower_id == grower_id, outbox.c.because == "reminder", outbox.c.local_day == day,
            outbox.c.state.not_in(("cancelled", "suppressed", "expired")),
        )
    ).scalar_one()  # fmt: skip


def has_hour(connection: Connection, grower_id: int, day: date, hour: int, about: str) -> bool:
    """Whether the row of that local hour is made already."""
    return connection.execute(
        select(
            exists().where(
                outbox.c.grower_id == grower_id, outbox.c.because == "reminder", outbox.c.local_day == day,
                outbox.c.local_hour == hour, outbox.c.about == about, outbox.c.state != "cancelled",
            )
        )
    ).scalar_one()  # fmt: skip


_NEXT_DUE = select(func.min(outbox.c.due_at)).where(outbox.c.state == "waiting")


def next_due(connection: Connection) -> datetime | None:
    """When the next row of the outbox is due."""
    return connection.execute(_NEXT_DUE).scalar()


def by_ids(connection: Connection, ids: Sequence[int]) -> list[Any]:
    """Rows of the outbox, in the order asked for."""
    rows = {row.id: row for row in connection.execute(select(outbox).where(outbox.c.id.in_(ids)))}
    return [rows[id_] for id_ in ids]


def handed_to(connection: Connection, number: str) -> list[Any]:
    """What was handed over to a number, in the order in which it went."""
    return list(
        connection.execute(
            select(outbox)
            .where(outbox.c.number == number, outbox.c.handed_at.is_not(None))
            .order_by(outbox.c.handed_at, outbox.c.id)
        )
    )


def is_leased(connection: Connection, number: str) -> bool:
    """Whether somebody has a text to this number in hand."""
    return connection.execute(
        select(exists().where(outbox.c.number == number, outbox.c.state == "leased"))
    ).scalar_one()
