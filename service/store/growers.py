"""Queries on growers and their numbers."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, bindparam, select, update

from service.store.schema import conversations, growers, numbers
from service.store.session import upsert

OF_A_GROWER = {"name", "village", "language", "evenings_only"}
OF_A_NUMBER = {"joined", "stopped", "script_offered"}


@dataclass(frozen=True)
class Person:
    """A number, the grower it belongs to, and the state of its conversation (None: none yet)."""

    grower_id: int
    number_id: int
    cooperative_id: int
    line_id: int
    number: str
    name: str | None
    village: str | None
    language: str
    evenings_only: bool
    joined: bool
    stopped: bool
    script_offered: bool
    conversation: Mapping[str, Any] | None


# Built once: to build a statement costs as much as to run it.
_PEOPLE = (
    select(
        growers.c.id.label("grower_id"), numbers.c.id.label("number_id"), numbers.c.cooperative_id,
        numbers.c.line_id, numbers.c.number, growers.c.name, growers.c.village, growers.c.language,
        growers.c.evenings_only, numbers.c.joined_at, numbers.c.stopped_at, numbers.c.script_offered_at,
        conversations.c.state,
    )
    .join(growers, growers.c.id == numbers.c.grower_id)
    .outerjoin(conversations, conversations.c.number_id == numbers.c.id)
)  # fmt: skip
_BY_NUMBERS = _PEOPLE.where(
    numbers.c.cooperative_id == bindparam("cooperative"), numbers.c.number.in_(bindparam("wanted", expanding=True))
)
_OF_GROWER = (
    _PEOPLE.where(numbers.c.grower_id == bindparam("grower")).order_by(numbers.c.position, numbers.c.id).limit(1)
)
_TO_REMIND = _OF_GROWER.where(numbers.c.joined_at.is_not(None), numbers.c.stopped_at.is_(None))
_AFTER = (
    select(growers.c.id)
    .where(growers.c.cooperative_id == bindparam("cooperative"), growers.c.id > bindparam("grower"))
    .order_by(growers.c.id)
    .limit(bindparam("most"))
)


def _person(row: Any) -> Person:
    return Person(
        row.grower_id, row.number_id, row.cooperative_id, row.line_id, row.number, row.name, row.village, row.language,
        row.evenings_only, row.joined_at is not None, row.stopped_at is not None,
        row.script_offered_at is not None, row.state,
    )  # fmt: skip


def by_numbers(connection: Connection, cooperative_id: int, wanted: Iterable[str]) -> dict[str, Person]:
    """Who texts from these numbers."""
    rows = connection.execute(_BY_NUMBERS, {"cooperative": cooperative_id, "wanted": sorted(set(wanted))})
    return {row.number: _person(row) for row in rows}


def by_number(connection: Connection, cooperative_id: int, number: str) -> Person | None:
    return by_numbers(connection, cooperative_id, [number]).get(number)


def lock(connection: Connection, grower_ids: Collection[int]) -> None:
    """Let the texts of these growers take turns with those that other processes handle. SQLite has one writer."""
    if connection.dialect.name == "postgresql" and grower_ids:
        connection.execute(
            select(growers.c.id).where(growers.c.id.in_(sorted(grower_ids))).order_by(growers.c.id).with_for_update()
        )


def meet(connection: Connection, cooperative_id: int, line_id: int, number: str, language: str, at: datetime) -> None:
    """Make a grower of a number that was never seen; nothing where another process has just done so."""
    grower_id = connection.execute(
        growers.insert()
        .returning(growers.c.id)
        .values(cooperative_id=cooperative_id, language=language, evenings_only=False, at=at)
    ).scalar_one()
    made = connection.execute(
        upsert(connection, numbers)
        .values(cooperative_id=cooperative_id, grower_id=grower_id, line_id=line_id, number=number, position=0, at=at)
        .on_conflict_do_nothing(index_elements=["cooperative_id", "number"])
        .returning(numbers.c.id)
    ).one_or_none()
    if made is None:
        connection.execute(growers.delete().where(growers.c.id == grower_id))


def change(connection: Connection, person: Person, changes: Mapping[str, Any], by: int | None, at: datetime) -> None:
    """Write what a grower chose. by: the text that said so, the evidence of consent and of stopping."""
    of_grower = {key: value for key, value in changes.items() if key in OF_A_GROWER}
    if of_grower:
        connection.execute(update(growers).where(growers.c.id == person.grower_id).values(of_grower))
    of_number: dict[str, Any] = {}
    if "joined" in changes:
        of_number |= {"joined_at": at, "joined_by": by} if changes["joined"] else {"joined_at": None, "joined_by": by}
    if "stopped" in changes:
        of_number |= {"stopped_at": at if changes["stopped"] else None, "stopped_by": by}
    if changes.get("script_offered"):
        of_number["script_offered_at"] = at
    if of_number:
        connection.execute(update(numbers).where(numbers.c.id == person.number_id).values(of_number))
    unknown = changes.keys() - OF_A_GROWER - OF_A_NUMBER
    if unknown:
        raise ValueError(f"a grower has no {sorted(unknown)}")


def seen_on(connection: Connection, person: Person, line_id: int) -> None:
    """Answers and reminders go out on the line that a number last texted."""
    if person.line_id != line_id:
        connection.execute(update(numbers).where(numbers.c.id == person.number_id).values(line_id=line_id))


def to_remind(connection: Connection, grower_id: int) -> Person | None:
    """The first of a grower's numbers that agreed and has not stopped."""
    row = connection.execute(_TO_REMIND, {"grower": grower_id}).one_or_none()
    return None if row is None else _person(row)


def after(connection: Connection, cooperative_id: int, grower_id: int, limit: int) -> list[int]:
    """The next growers of a cooperative in id order."""
    given = {"cooperative": cooperative_id, "grower": grower_id, "most": limit}
    return list(connection.execute(_AFTER, given).scalars())


def first_people(connection: Connection, grower_ids: Collection[int]) -> dict[int, Person]:
    """The first number of each of these growers, whatever it agreed to."""
    found = connection.execute(
        _PEOPLE.where(numbers.c.grower_id.in_(sorted(grower_ids))).order_by(numbers.c.position, numbers.c.id)
    )
    people: dict[int, Person] = {}
    for row in found:
        people.setdefault(row.grower_id, _person(row))
    return people


def first_person(connection: Connection, grower_id: int) -> Person | None:
    """The first number of a grower, whatever it agreed to."""
    row = connection.execute(_OF_GROWER, {"grower": grower_id}).one_or_none()
    return None if row is None else _person(row)
