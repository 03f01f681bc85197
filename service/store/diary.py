"""Diary entries: appended and voided, never edited."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from sqlalchemy import Connection, bindparam, select, update

from service.orchard.diary import Entry
from service.store.schema import entries


class AlreadyVoided(Exception):
    """An entry was to be taken back that another text has taken back in between: the text is handled anew."""


@dataclass(frozen=True)
class Kept:
    """A live entry and the text that wrote it (None: written at the desk)."""

    entry: Entry
    text_in_id: int | None


_LIVE = (
    select(
        entries.c.id, entries.c.kind, entries.c.block, entries.c.day, entries.c["values"], entries.c.at,
        entries.c.said_by, entries.c.text_in_id,
    )
    .where(entries.c.grower_id == bindparam("grower"), entries.c.voided_by.is_(None))
    .order_by(entries.c.id)
)  # fmt: skip


def live(connection: Connection, grower_id: int) -> list[Kept]:
    """A grower's entries that are not taken back, in received order."""
    return [
        Kept(Entry(id_, kind, block, day, values, at, said_by), text)
        for id_, kind, block, day, values, at, said_by, text in connection.execute(_LIVE, {"grower": grower_id})
    ]


def live_of(connection: Connection, grower_ids: Collection[int]) -> dict[int, list[Kept]]:
    """The same for several growers at once, by grower."""
    kept: dict[int, list[Kept]] = {id_: [] for id_ in grower_ids}
    found = connection.execute(
        select(entries)
        .where(entries.c.grower_id.in_(sorted(grower_ids)), entries.c.voided_by.is_(None))
        .order_by(entries.c.id)
    )
    for row in found:
        entry = Entry(row.id, row.kind, row.block, row.day, row._mapping["values"], row.at, row.said_by)
        kept[row.grower_id].append(Kept(entry, row.text_in_id))
    return kept


def append(
    connection: Connection, cooperative_id: int, grower_id: int, text_in_id: int | None, said_by: str, at: datetime,
    new: Sequence[tuple[str, str | None, date, Mapping[str, Any]]],
) -> list[Kept]:  # fmt: skip
    """Append entries, each given as (kind, block, day, values), in this order."""
    kept = []
    for kind, block, day, values in new:
        id_ = connection.execute(
            entries.insert()
            .returning(entries.c.id)
            .values(
                cooperative_id=cooperative_id, grower_id=grower_id, block=block, kind=kind, day=day,
                values=dict(values), at=at, said_by=said_by, text_in_id=text_in_id,
            )
        ).scalar_one()  # fmt: skip
        kept.append(Kept(Entry(id_, kind, block, day, dict(values), at, said_by), text_in_id))
    return kept


def void(connection: Connection, grower_id: int, ids: Sequence[int], text_in_id: int, at: datetime) -> None:
    """Take entries back."""
    done = connection.execute(
        update(entries)
        .where(entries.c.grower_id == grower_id, entries.c.id.in_(ids), entries.c.voided_by.is_(None))
        .values(voided_by=text_in_id, voided_at=at)
    )
    if done.rowcount != len(set(ids)):
        raise AlreadyVoided(f"entries {sorted(ids)} of grower {grower_id}")
