"""Forms that people send: each has one effect, however often it is sent.

The page gives every form a key; effect and key are committed together. Sent again, the form gets the answer that it
got; the same key with another content is refused.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping
from datetime import timedelta
from typing import Any

from sqlalchemy import Connection

from service.clock import Clock
from service.store import accounts
from service.store.accounts import Staff
from service.store.session import Database

KEPT = timedelta(days=7)


class UsedForAnother(Exception):
    """The key of a form came with another content before."""


class _SentMeanwhile(Exception):
    """Another process committed the same form between our look and our write."""


class Forms:
    """The forms of one database."""

    def __init__(self, database: Database, clock: Clock) -> None:
        self.database = database
        self.clock = clock

    def once(
        self, who: Staff, key: str, content: str, location: str, deed: Callable[[Connection], Mapping[str, Any]]
    ) -> str:
        """Do what a form asks for, unless it was done before; where to go then.

        content: everything that the form says; location: where it leads
        deed: writes, and returns what the next page tells of it, as plain values
        Raises UsedForAnother, and what `deed` raises; then nothing is written.
        """
        body_hash = hashlib.sha256(content.encode("utf-8", "replace")).hexdigest()
        try:
            with self.database.writing() as connection:
                before = self._sent(connection, who, key, body_hash)
                if before is not None:
                    return before
                now = self.clock.now()
                told = deed(connection)
                if not accounts.keep_form(connection, who, key, body_hash, location, told, now, now - KEPT):
                    raise _SentMeanwhile
                return location
        except _SentMeanwhile:
            with self.database.reading() as connection:
                before = self._sent(connection, who, key, body_hash)
            if before is None:
                raise UsedForAnother(key) from None
            return before

    def told(self, who: Staff, key: str) -> Mapping[str, Any] | None:
        """What a form that this person sent has told."""
        with self.database.reading() as connection:
            row = accounts.form(connection, who, key)
        return None if row is None else dict(row.told)

    def _sent(self, connection: Connection, who: Staff, key: str, body_hash: str) -> str | None:
        row = accounts.form(connection, who, key)
        if row is None:
            return None
        if row.body_hash != body_hash:
            raise UsedForAnother(key)
        location: str = row.location
        return location
