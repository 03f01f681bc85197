"""What the desk's lists and sheets read: growers, their blocks from the snapshot, the whole diary, the texts.

Each query names the cooperative, and shows a page of rows.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from sqlalchemy import ColumnElement, Connection, Select, and_, exists, func, or_, select

from service.store.schema import block_now, entries, growers, numbers, outbox, texts_in

STAGES = ("no_plan", "before_rest", "resting", "after_cut", "late", "held")
_RESTING = ("defoliate", "leaf_check", "copper", "cut")
_AFTER_CUT = ("second_spray", "clean", "second_clean", "water")


@dataclass(frozen=True)
class Sieve:
    """What to show: a village ("" for all), a stage ("" for all), and a part of a name or number."""

    village: str = ""
    stage: str = ""
    wanted: str = ""


def _stage(stage: str, today: date) -> ColumnElement[bool] | None:
    match stage:
        case "no_plan":
            return block_now.c.cycle.is_(None)
        case "before_rest":
            return block_now.c.next_job == "rest"
        case "resting":
            return block_now.c.next_job.in_(_RESTING)
        case "after_cut":
            return block_now.c.next_job.in_(_AFTER_CUT)
        case "late":
            return block_now.c.next_date < today
        case "held":
            return block_now.c.held.is_not(None)
        case _:
            return None


def _wanted(cooperative_id: int, wanted: str) -> ColumnElement[bool]:
    like = "%" + wanted.replace("\\", "\\\\").replace("%", "\\%").replace("_", "\\_") + "%"
    named = or_(growers.c.name.ilike(like, escape="\\"), growers.c.village.ilike(like, escape="\\"))
    if not any(character.isdigit() for character in wanted):
        return named
    # Not correlated: the numbers are walked once, not once for each grower.
    numbered = select(numbers.c.grower_id).where(
        numbers.c.cooperative_id == cooperative_id, numbers.c.number.like(like, escape="\\")
    )
    return or_(named, growers.c.id.in_(numbered))


def _sieved(query: Select[Any], cooperative_id: int, sieve: Sieve, today: date) -> Select[Any]:
    query = query.where(block_now.c.cooperative_id == cooperative_id)
    if sieve.village:
        query = query.where(block_now.c.village == sieve.village)
    stage = _stage(sieve.stage, today)
    if stage is not None:
        query = query.where(stage)
    if sieve.wanted:
        query = query.join(growers, growers.c.id == block_now.c.grower_id).where(_wanted(cooperative_id, sieve.wanted))
    return query


def blocks(
    connection: Connection, cooperative_id: int, sieve: Sieve, today: date, limit: int, offset: int
) -> list[Any]:
    """A page of blocks by village, grower and block, each with its grower; plans come from the snapshot."""
    place = (block_now.c.village, block_now.c.grower_id, block_now.c.block)
    page = _sieved(select(*place), cooperative_id, sieve, today).order_by(*place).limit(limit).offset(offset).subquery()
    return list(
        connection.execute(
            select(block_now, growers.c.name, growers.c.language, numbers.c.number)
            .join(page, and_(page.c.grower_id == block_now.c.grower_id, page.c.block == block_now.c.block))
            .join(growers, growers.c.id == block_now.c.grower_id)
            .outerjoin(numbers, and_(numbers.c.grower_id == growers.c.id, numbers.c.position == 0))
            .order_by(*place)
        )
    )


def count(connection: Connection, cooperative_id: int, sieve: Sieve, today: date) -> int:
    """How many blocks the sieve lets through."""
    found: int = connection.execute(
        _sieved(select(func.count()).select_from(block_now), cooperative_id, sieve, today)
    ).scalar_one()
    return found


def blocks_of(connection: Connection, cooperative_id: int, grower_id: int) -> list[Any]:
    """The snapshot of a grower's blocks."""
    return list(
        connection.execute(
            select(block_now)
            .where(block_now.c.cooperative_id == cooperative_id, block_now.c.grower_id == grower_id)
            .order_by(block_now.c.block)
        )
    )


def _without_a_block(cooperative_id: int, wanted: str) -> list[ColumnElement[bool]]:
    found = [
        growers.c.cooperative_id == cooperative_id,
        growers.c.erased_at.is_(None),
        ~exists().where(block_now.c.grower_id == growers.c.id),
    ]
    return [*found, _wanted(cooperative_id, wanted)] if wanted else found


def without_a_block(connection: Connection, cooperative_id: int, wanted: str, limit: int, offset: int) -> list[Any]:
    """Growers who have registered no block, in the order in which they came."""
    return list(
        connection.execute(
            select(growers, numbers.c.number, numbers.c.joined_at, numbers.c.stopped_at)
            .outerjoin(numbers, and_(numbers.c.grower_id == growers.c.id, numbers.c.position == 0))
            .where(*_without_a_block(cooperative_id, wanted))
            .order_by(growers.c.id)
            .limit(limit)
            .offset(offset)
        )
    )


def count_without_a_block(connection: Connection, cooperative_id: int, wanted: str = "") -> int:
    found: int = connection.execute(
        select(func.count()).select_from(growers).where(*_without_a_block(cooperative_id, wanted))
    ).scalar_one()
    return found


def villages(connection: Connection, cooperative_id: int) -> list[str]:
    """The villages in which blocks stand."""
    query = select(block_now.c.village).where(block_now.c.cooperative_id == cooperative_id).distinct()
    return sorted(village for village in connection.execute(query).scalars() if village)


def told_of_blocks(connection: Connection, cooperative_id: int, grower_ids: Collection[int]) -> list[Any]:
    """The live entries that say what the blocks of some growers are: (grower, entry), in received order."""
    return list(
        connection.execute(
            select(entries)
            .where(
                entries.c.cooperative_id == cooperative_id,
                entries.c.grower_id.in_(sorted(grower_ids)),
                entries.c.kind.in_(("block", "retired")),
                entries.c.voided_by.is_(None),
            )
            .order_by(entries.c.id)
        )
    )


def grower(connection: Connection, cooperative_id: int, grower_id: int) -> Any | None:
    """A grower of the cooperative."""
    return connection.execute(
        select(growers).where(growers.c.cooperative_id == cooperative_id, growers.c.id == grower_id)
    ).one_or_none()


def numbers_of(connection: Connection, cooperative_id: int, grower_id: int) -> list[Any]:
    return list(
        connection.execute(
            select(numbers)
            .where(numbers.c.cooperative_id == cooperative_id, numbers.c.grower_id == grower_id)
            .order_by(numbers.c.position, numbers.c.id)
        )
    )


def diary(connection: Connection, cooperative_id: int, grower_id: int) -> list[Any]:
    """All entries of a grower, voided ones too, each with the text that it came from and the one that took it back."""
    by, voiding = texts_in.alias(), texts_in.alias()
    return list(
        connection.execute(
            select(entries, by.c.text.label("said"), voiding.c.text.label("voided_with"))
            .outerjoin(by, by.c.id == entries.c.text_in_id)
            .outerjoin(voiding, voiding.c.id == entries.c.voided_by)
            .where(entries.c.cooperative_id == cooperative_id, entries.c.grower_id == grower_id)
            .order_by(entries.c.id)
        )
    )


def texts(connection: Connection, cooperative_id: int, grower_id: int, limit: int) -> list[tuple[bool, Any]]:
    """The newest texts of a grower's numbers, newest first: (whether it came in, its row)."""
    mine = select(numbers.c.id).where(numbers.c.cooperative_id == cooperative_id, numbers.c.grower_id == grower_id)
    came = connection.execute(
        select(texts_in.c.id, texts_in.c.text, texts_in.c.received_at.label("at"), texts_in.c.state, texts_in.c.reason)
        .where(texts_in.c.cooperative_id == cooperative_id, texts_in.c.number_id.in_(mine))
        .order_by(texts_in.c.received_at.desc(), texts_in.c.id.desc())
        .limit(limit)
    )
    sent = connection.execute(
        select(
            outbox.c.id, outbox.c.text, outbox.c.handed_at, outbox.c.at.label("made_at"), outbox.c.because,
            outbox.c.state, outbox.c.language, outbox.c.segments, outbox.c.key, outbox.c.due_at, outbox.c.reason,
        )
        .where(
            outbox.c.cooperative_id == cooperative_id,
            outbox.c.number.in_(select(numbers.c.number).where(numbers.c.id.in_(mine))),
        )
        .order_by(outbox.c.id.desc())
        .limit(limit)
    )  # fmt: skip
    both: list[tuple[bool, Any]] = [(True, row) for row in came] + [(False, row) for row in sent]
    both.sort(key=lambda one: (one[1].at if one[0] else one[1].handed_at or one[1].due_at, one[0], one[1].id))
    return both[::-1][:limit]


def jobs_by_day(connection: Connection, cooperative_id: int, today: date, days: int) -> dict[tuple[date, str], int]:
    """How many blocks have which job as their next, by its day, from today on."""
    found = connection.execute(
        select(block_now.c.next_date, block_now.c.next_job, func.count())
        .where(
            block_now.c.cooperative_id == cooperative_id,
            block_now.c.next_date >= today,
            block_now.c.next_date < today + timedelta(days=days),
        )
        .group_by(block_now.c.next_date, block_now.c.next_job)
    )
    return {(day, job): count for day, job, count in found}


@dataclass(frozen=True)
class Figures:
    """A day in figures: blocks whose job is due today, is late, blocks in a cycle, growers who wrote since midnight."""

    due: int
    late: int
    in_cycle: int
    wrote: int
    growers: int


def figures_of_the_day(connection: Connection, cooperative_id: int, today: date, midnight: datetime) -> Figures:
    due, late, in_cycle = connection.execute(
        select(
            func.count().filter(block_now.c.next_date == today),
            func.count().filter(block_now.c.next_date < today),
            func.count().filter(block_now.c.cycle.is_not(None)),
        ).where(block_now.c.cooperative_id == cooperative_id)
    ).one()
    wrote = connection.execute(
        select(func.count(func.distinct(texts_in.c.number_id))).where(
            texts_in.c.cooperative_id == cooperative_id, texts_in.c.received_at >= midnight
        )
    ).scalar_one()
    all_growers = connection.execute(
        select(func.count())
        .select_from(growers)
        .where(growers.c.cooperative_id == cooperative_id, growers.c.erased_at.is_(None))
    ).scalar_one()
    return Figures(due, late, in_cycle, wrote, all_growers)
