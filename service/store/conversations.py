"""The state of each number's conversation."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sqlalchemy import Connection

from service.store.growers import Person
from service.store.schema import conversations
from service.store.session import upsert


def save(connection: Connection, person: Person, state: Mapping[str, Any]) -> None:
    """Keep where a conversation stands."""
    connection.execute(
        upsert(connection, conversations)
        .values(number_id=person.number_id, cooperative_id=person.cooperative_id, state=state)
        .on_conflict_do_update(index_elements=["number_id"], set_={"state": state})
    )
