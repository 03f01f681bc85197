"""Reminders as rows, plans moved unasked, and how far the daily runs have got."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from datetime import date, datetime
from typing import Any

from sqlalchemy import Connection, bindparam, func, or_, select, union, update

from service.store.schema import UtcDateTime, block_now, daily_runs, growers, moves, outbox, reminders
from service.store.session import upsert

# What a reminder is about: (block, cycle, job, part, for_date, occasion).
Key = tuple[str, int, str, int, date, str]


def key_of(row: Any) -> Key:
    return (row.block, row.cycle, row.job, row.part, row.for_date, row.occasion)


_OF_BLOCKS = (
    select(reminders, outbox.c.state.label("outbox_state"))
    .outerjoin(outbox, outbox.c.id == reminders.c.outbox_id)
    .where(
        reminders.c.grower_id == bindparam("grower"),
        reminders.c.block.in_(bindparam("blocks", expanding=True)),
        or_(reminders.c.state == "waiting", reminders.c.due_at >= bindparam("since", type_=UtcDateTime)),
    )
    .order_by(reminders.c.id)
)


def of_blocks(connection: Connection, grower_id: int, blocks: Collection[str], since: datetime) -> list[Any]:
    """The reminders of some blocks of a grower that wait or fell due since then, with their outbox rows' states."""
    return list(connection.execute(_OF_BLOCKS, {"grower": grower_id, "blocks": sorted(blocks), "since": since}))


def make(
    connection: Connection, cooperative_id: int, grower_id: int, new: Sequence[tuple[Key, datetime, datetime]],
    at: datetime,
) -> None:  # fmt: skip
    """Make reminders, each (what it is about, when it is due, until when it is of use); none twice.

    One that was taken back earlier stands again.
    """
    for key, due_at, useful_until in new:
        block, cycle, job, part, for_date, occasion = key
        times = {"due_at": due_at, "useful_until": useful_until, "state": "waiting"}
        connection.execute(
            upsert(connection, reminders)
            .values(
                cooperative_id=cooperative_id, grower_id=grower_id, block=block, cycle=cycle, job=job, part=part,
                for_date=for_date, occasion=occasion, at=at, **times,
            )
            .on_conflict_do_update(
                index_elements=["block", "cycle", "job", "part", "for_date", "occasion"],
                set_={**times, "reason": None, "outbox_id": None},
                where=reminders.c.state == "cancelled",
            )
        )  # fmt: skip


def wait_again(connection: Connection, id_: int, due_at: datetime, useful_until: datetime) -> None:
    """A reminder taken back stands again, or waits for another hour."""
    connection.execute(
        update(reminders)
        .where(reminders.c.id == id_)
        .values(state="waiting", reason=None, outbox_id=None, due_at=due_at, useful_until=useful_until)
    )


def cancel(connection: Connection, ids: Collection[int], reason: str) -> None:
    """Take unsent reminders back."""
    if ids:
        connection.execute(
            update(reminders)
            .where(reminders.c.id.in_(sorted(ids)))
            .values(state="cancelled", reason=reason, outbox_id=None)
        )


def drop(connection: Connection, id_: int, reason: str) -> None:
    """Give a reminder up, with the reason."""
    connection.execute(update(reminders).where(reminders.c.id == id_).values(state="dropped", reason=reason))


def queued(connection: Connection, ids: Collection[int], outbox_id: int) -> None:
    """These reminders go out in that row."""
    connection.execute(
        update(reminders).where(reminders.c.id.in_(sorted(ids))).values(state="queued", outbox_id=outbox_id)
    )


def in_row(connection: Connection, outbox_id: int) -> list[Any]:
    """The reminders that one outbox row carries."""
    return list(
        connection.execute(select(reminders).where(reminders.c.outbox_id == outbox_id).order_by(reminders.c.id))
    )


def put_off(connection: Connection, grower_id: int, now: datetime, until: datetime) -> None:
    """Let everything that is due for a grower wait."""
    for table in (reminders, moves):
        connection.execute(
            update(table)
            .where(table.c.grower_id == grower_id, table.c.state == "waiting", table.c.due_at <= now)
            .values(due_at=until)
        )


_GROWERS_DUE = (
    select(growers.c.id, growers.c.cooperative_id)
    .where(
        growers.c.id.in_(
            union(
                *(
                    select(table.c.grower_id).where(
                        table.c.state == "waiting", table.c.due_at <= bindparam("now", type_=UtcDateTime)
                    )
                    for table in (reminders, moves)
                )
            )
        )
    )
    .order_by(growers.c.cooperative_id, growers.c.id)
    .limit(bindparam("most"))
    .with_for_update(skip_locked=True, of=growers)
)
_DUE = (
    select(reminders)
    .where(
        reminders.c.grower_id == bindparam("grower"),
        reminders.c.state == "waiting",
        reminders.c.due_at <= bindparam("now", type_=UtcDateTime),
    )
    .order_by(reminders.c.due_at, reminders.c.block, reminders.c.id)
)
_NEXT_REMINDER = select(func.min(reminders.c.due_at)).where(reminders.c.state == "waiting")
_NEXT_MOVE = select(func.min(moves.c.due_at)).where(moves.c.state == "waiting")


def growers_due(connection: Connection, now: datetime, limit: int) -> list[tuple[int, int]]:
    """(grower, cooperative) of those with a reminder or a moved plan due, each locked for this transaction."""
    return [(row.id, row.cooperative_id) for row in connection.execute(_GROWERS_DUE, {"now": now, "most": limit})]


def due(connection: Connection, grower_id: int, now: datetime) -> list[Any]:
    """A grower's reminders whose time has come, in the order in which they came due."""
    return list(connection.execute(_DUE, {"grower": grower_id, "now": now}))


def next_due(connection: Connection) -> datetime | None:
    """When the next reminder or moved plan is due."""
    instants = (connection.execute(_NEXT_REMINDER).scalar(), connection.execute(_NEXT_MOVE).scalar())
    return min((instant for instant in instants if instant is not None), default=None)


# Plans moved unasked


def move(
    connection: Connection, cooperative_id: int, grower_id: int, reason: Mapping[str, Any], due_at: datetime,
    at: datetime,
) -> None:  # fmt: skip
    """Note that something may have moved a grower's plan, to be told at that time."""
    connection.execute(
        moves.insert().values(
            cooperative_id=cooperative_id, grower_id=grower_id, reason=dict(reason), due_at=due_at, state="waiting",
            at=at,
        )
    )  # fmt: skip


def moves_of(connection: Connection, grower_id: int) -> list[Any]:
    """What may have moved a grower's plan and is not told yet, in the order in which it came."""
    return list(
        connection.execute(
            select(moves).where(moves.c.grower_id == grower_id, moves.c.state == "waiting").order_by(moves.c.id)
        )
    )


def settle_moves(
    connection: Connection, ids: Collection[int], state: str, why_dropped: str | None, outbox_id: int | None
) -> None:
    connection.execute(
        update(moves)
        .where(moves.c.id.in_(sorted(ids)))
        .values(state=state, why_dropped=why_dropped, outbox_id=outbox_id)
    )


def put_off_moves(connection: Connection, ids: Collection[int], due_at: datetime) -> None:
    connection.execute(update(moves).where(moves.c.id.in_(sorted(ids))).values(due_at=due_at))


# The snapshot of blocks


def snapshot(connection: Connection, row: Mapping[str, Any]) -> None:
    """Write what a block stands at."""
    changed = {key: value for key, value in row.items() if key not in ("grower_id", "block")}
    connection.execute(
        upsert(connection, block_now)
        .values(dict(row))
        .on_conflict_do_update(index_elements=["grower_id", "block"], set_=changed)
    )


def forget(connection: Connection, grower_id: int, blocks: Collection[str]) -> None:
    """Drop blocks that are no longer worked from the snapshot."""
    if blocks:
        connection.execute(
            block_now.delete().where(block_now.c.grower_id == grower_id, block_now.c.block.in_(sorted(blocks)))
        )


def growers_in_cycle(connection: Connection, cooperative_id: int, village: str | None) -> list[int]:
    """Growers with a cycle open on a block of that village, or of any (None), in id order."""
    query = (
        select(block_now.c.grower_id)
        .where(block_now.c.cooperative_id == cooperative_id, block_now.c.cycle.is_not(None))
        .distinct()
        .order_by(block_now.c.grower_id)
    )
    if village is not None:
        query = query.where(block_now.c.village == village)
    return list(connection.execute(query).scalars())


# Daily runs


_LAST_RUN = (
    select(daily_runs)
    .where(daily_runs.c.cooperative_id == bindparam("cooperative"))
    .order_by(daily_runs.c.day.desc())
    .limit(1)
)
_RUN_OF = (
    select(daily_runs)
    .where(daily_runs.c.cooperative_id == bindparam("cooperative"), daily_runs.c.day == bindparam("day"))
    .with_for_update(skip_locked=True)
)


def last_run(connection: Connection, cooperative_id: int) -> Any | None:
    """The newest daily run of a cooperative, finished or not."""
    return connection.execute(_LAST_RUN, {"cooperative": cooperative_id}).one_or_none()


def begin_run(connection: Connection, cooperative_id: int, day: date, since: datetime, until: datetime) -> None:
    """Begin the run of a local day; nothing where another process has begun it."""
    connection.execute(
        upsert(connection, daily_runs)
        .values(cooperative_id=cooperative_id, day=day, grower_id=0, since=since, until=until)
        .on_conflict_do_nothing()
    )


def run_of(connection: Connection, cooperative_id: int, day: date) -> Any | None:
    """The run of a local day, locked for this transaction; None where another process holds it."""
    return connection.execute(_RUN_OF, {"cooperative": cooperative_id, "day": day}).one_or_none()


def got_to(
    connection: Connection, cooperative_id: int, day: date, grower_id: int, finished_at: datetime | None
) -> None:
    """Note how far a run has got."""
    connection.execute(
        update(daily_runs)
        .where(daily_runs.c.cooperative_id == cooperative_id, daily_runs.c.day == day)
        .values(grower_id=grower_id, finished_at=finished_at)
    )
