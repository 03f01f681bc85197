"""What needs a person of the cooperative."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from sqlalchemy import ColumnElement, Connection, Select, and_, case, exists, func, or_, select, update

from service.store.schema import growers, matter_deeds, matters, staff
from service.store.session import upsert


def raise_matter(
    connection: Connection, cooperative_id: int, grower_id: int | None, number: str, kind: str, text: str,
    at: datetime, *, block: str | None = None, text_in_id: int | None = None, about: str | None = None,
) -> None:  # fmt: skip
    """Put something before the people of the cooperative; once only for a grower's block where `about` says so."""
    connection.execute(
        upsert(connection, matters)
        .values(
            cooperative_id=cooperative_id, grower_id=grower_id, number=number, block=block, kind=kind, text=text,
            text_in_id=text_in_id, about=about, state="open", at=at,
        )
        .on_conflict_do_nothing()
    )  # fmt: skip


def is_open(connection: Connection, cooperative_id: int, number: str, kind: str) -> bool:
    """Whether that is before them already."""
    return connection.execute(
        select(
            exists().where(
                matters.c.cooperative_id == cooperative_id, matters.c.number == number, matters.c.kind == kind,
                matters.c.state == "open",
            )
        )
    ).scalar_one()  # fmt: skip


def open_ones(connection: Connection, cooperative_id: int) -> list[Any]:
    """Open matters, oldest first."""
    return list(
        connection.execute(
            select(matters)
            .where(matters.c.cooperative_id == cooperative_id, matters.c.state == "open")
            .order_by(matters.c.at, matters.c.id)
        )
    )


@dataclass(frozen=True)
class Standing:
    """A matter and how it stands: its newest deed (0, None: nobody has done anything with it) and whose that was."""

    id: int
    kind: str
    state: str
    block: str | None
    text: str
    number: str
    grower_id: int | None
    grower: str | None
    village: str | None
    language: str | None
    at: datetime
    deed_id: int
    deed: str | None
    by: str | None
    said: str
    until: date | None
    deed_at: datetime | None


_NEWEST = (
    select(func.max(matter_deeds.c.id)).where(matter_deeds.c.matter_id == matters.c.id).correlate(matters)
).scalar_subquery()
_STANDING = (
    select(
        matters.c.id, matters.c.kind, matters.c.state, matters.c.block, matters.c.text, matters.c.number,
        matters.c.grower_id, growers.c.name.label("grower"), growers.c.village, growers.c.language, matters.c.at,
        func.coalesce(matter_deeds.c.id, 0).label("deed_id"), matter_deeds.c.deed, staff.c.name.label("by"),
        func.coalesce(matter_deeds.c.said, "").label("said"), matter_deeds.c.until,
        matter_deeds.c.at.label("deed_at"),
    )
    .outerjoin(growers, growers.c.id == matters.c.grower_id)
    .outerjoin(matter_deeds, and_(matter_deeds.c.matter_id == matters.c.id, matter_deeds.c.id == _NEWEST))
    .outerjoin(staff, staff.c.id == matter_deeds.c.staff_id)
)  # fmt: skip


def standing(connection: Connection, cooperative_id: int, matter_id: int) -> Standing | None:
    """A matter of the cooperative."""
    row = connection.execute(
        _STANDING.where(matters.c.cooperative_id == cooperative_id, matters.c.id == matter_id)
    ).one_or_none()
    return None if row is None else Standing(**row._mapping)


def history(connection: Connection, cooperative_id: int, matter_id: int) -> list[Any]:
    """The deeds on a matter in their order, each with the name of its doer."""
    return list(
        connection.execute(
            select(matter_deeds, staff.c.name.label("by"))
            .join(staff, staff.c.id == matter_deeds.c.staff_id)
            .where(matter_deeds.c.cooperative_id == cooperative_id, matter_deeds.c.matter_id == matter_id)
            .order_by(matter_deeds.c.id)
        )
    )


def add_deed(
    connection: Connection, cooperative_id: int, matter_id: int, after: int, staff_id: int, deed: str, said: str,
    until: date | None, at: datetime,
) -> bool:  # fmt: skip
    """Write a deed; False where another was written after the one that its doer saw."""
    made = connection.execute(
        upsert(connection, matter_deeds)
        .values(
            cooperative_id=cooperative_id, matter_id=matter_id, after=after, staff_id=staff_id, deed=deed, said=said,
            until=until, at=at,
        )
        .on_conflict_do_nothing(index_elements=["matter_id", "after"])
        .returning(matter_deeds.c.id)
    ).one_or_none()  # fmt: skip
    if made is None:
        return False
    state = "closed" if deed == "closed" else "open"
    connection.execute(
        update(matters).where(matters.c.cooperative_id == cooperative_id, matters.c.id == matter_id).values(state=state)
    )
    return True


# What the list shows: what waits, what somebody took, what was put off until a later day, what is closed.
SHOWN = ("waiting", "mine", "put_off", "closed")


def _shown(query: Select[Any], cooperative_id: int, show: str, staff_id: int, today: date) -> Select[Any]:
    query = query.where(matters.c.cooperative_id == cooperative_id)
    put_off = and_(matter_deeds.c.deed == "put_off", matter_deeds.c.until > today)
    match show:
        case "closed":
            return query.where(matters.c.state == "closed")
        case "put_off":
            return query.where(matters.c.state == "open", put_off)
        case "mine":
            return query.where(
                matters.c.state == "open", matter_deeds.c.deed == "taken", matter_deeds.c.staff_id == staff_id
            )
        case _:
            return query.where(matters.c.state == "open", or_(matter_deeds.c.id.is_(None), ~put_off))


def listed(
    connection: Connection, cooperative_id: int, show: str, staff_id: int, today: date, *, groups: Mapping[str, int],
    ranks: Mapping[str, int], unknown: int, left_since: datetime | None, limit: int, offset: int,
) -> list[Standing]:  # fmt: skip
    """Matters in order of harm.

    groups: kind -> its group's place; ranks: kind -> its own place; unknown: the group of kinds that stand in none
    left_since: what waits since before then comes first in its group; None for none
    In a group what nobody has taken comes first, then by rank, then what has waited longest.
    """
    group = case(groups, value=matters.c.kind, else_=unknown)
    order: list[ColumnElement[Any]] = [group, case((matter_deeds.c.deed == "taken", 1), else_=0)]
    if left_since is not None:
        order.append(case((matters.c.at < left_since, 0), else_=1))
    order += [case(ranks, value=matters.c.kind, else_=len(ranks)), matters.c.at, matters.c.id]
    if show == "closed":
        order = [matter_deeds.c.at.desc(), matters.c.id.desc()]
    query = _shown(_STANDING, cooperative_id, show, staff_id, today).order_by(*order).limit(limit).offset(offset)
    return [Standing(**row._mapping) for row in connection.execute(query)]


def counts(connection: Connection, cooperative_id: int, show: str, staff_id: int, today: date) -> dict[str, int]:
    """How many matters of each kind are shown."""
    query = (
        select(matters.c.kind, func.count())
        .outerjoin(matter_deeds, and_(matter_deeds.c.matter_id == matters.c.id, matter_deeds.c.id == _NEWEST))
        .group_by(matters.c.kind)
    )
    found = connection.execute(_shown(query, cooperative_id, show, staff_id, today))
    return {kind: count for kind, count in found}
