"""What needs a person of the cooperative."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from sqlalchemy import Connection, exists, select

from service.store.schema import matters
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
