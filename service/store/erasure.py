"""Erasing a grower: who he is and what was typed go, dates and amounts stay without an owner.

Identity stands in few columns: names, numbers, texts in and out, and the names of blocks.
"""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import Connection, exists, select, update

from service.store.growers import Person
from service.store.messages import LIVE
from service.store.schema import (
    block_now,
    conversations,
    entries,
    growers,
    matters,
    moves,
    numbers,
    outbox,
    reminders,
    texts_in,
)


def erase(connection: Connection, person: Person, last_text: int, at: datetime) -> None:
    """Blank everything that names a grower. last_text: the text that asked for it; its answer still goes out."""
    mine = select(numbers.c.id).where(numbers.c.grower_id == person.grower_id)
    ids = list(connection.execute(mine).scalars())
    connection.execute(update(growers).where(growers.c.id == person.grower_id).values(name=None, erased_at=at))
    for id_ in ids:
        connection.execute(
            update(numbers)
            .where(numbers.c.id == id_)
            .values(number=f"erased {id_}", joined_at=None, stopped_at=at, stopped_by=last_text)
        )
    connection.execute(conversations.delete().where(conversations.c.number_id.in_(ids)))
    connection.execute(
        update(texts_in).where(texts_in.c.number_id.in_(ids)).values(sender="", text="", raw="", fingerprint=None)
    )
    connection.execute(update(matters).where(matters.c.grower_id == person.grower_id).values(number="", text=""))
    answers = outbox.c.text_in_id == last_text
    connection.execute(
        update(outbox)
        .where(outbox.c.grower_id == person.grower_id, outbox.c.state.in_(LIVE), ~answers)
        .values(state="cancelled", reason="erased", leased_until=None, final_at=at)
    )
    forget_sent(connection)
    for table in (reminders, moves):
        connection.execute(
            update(table)
            .where(table.c.grower_id == person.grower_id, table.c.state == "waiting")
            .values(state="cancelled")
        )
    connection.execute(block_now.delete().where(block_now.c.grower_id == person.grower_id))
    named = select(entries.c.id, entries.c["values"]).where(
        entries.c.grower_id == person.grower_id, entries.c.kind == "block"
    )
    for id_, values in list(connection.execute(named)):
        if "name" in values:
            rest = {key: value for key, value in values.items() if key != "name"}
            connection.execute(update(entries).where(entries.c.id == id_).values(values=rest))


def forget_sent(connection: Connection) -> None:
    """Blank what went out to growers since erased, their last answer too once it is gone."""
    erased = exists().where(growers.c.id == outbox.c.grower_id, growers.c.erased_at.is_not(None))
    connection.execute(
        update(outbox)
        .where(erased, outbox.c.state.not_in(LIVE), outbox.c.number != "")
        .values(number="", text=None, values={}, items=[])
    )
