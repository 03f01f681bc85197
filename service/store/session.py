"""The transaction; the only commit.

SQLite: every writing transaction begins with BEGIN IMMEDIATE. In its default mode a SELECT opens no transaction, and
two threads that read and then write lose each other's update without an error.
"""

from __future__ import annotations

import sqlite3
import threading
from collections import deque
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from sqlalchemy import Connection, Engine, Table, create_engine, event, make_url
from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.pool import StaticPool

BUSY_TIMEOUT_MS = 5000


def upsert(connection: Connection, table: Table) -> postgresql.Insert | sqlite.Insert:
    """An INSERT that may say what happens where the row is already there; both databases write it alike."""
    return postgresql.insert(table) if connection.dialect.name == "postgresql" else sqlite.insert(table)


class Turns:
    """Writers of one process take turns, first come first served.

    SQLite's own lock is polled, and beside a busy writer another one may wait for seconds.
    """

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._taken = False
        self._waiting: deque[threading.Event] = deque()

    def __enter__(self) -> None:
        with self._lock:
            if not self._taken:
                self._taken = True
                return
            mine = threading.Event()
            self._waiting.append(mine)
        mine.wait()

    def __exit__(self, *_: object) -> None:
        with self._lock:
            if self._waiting:
                self._waiting.popleft().set()
            else:
                self._taken = False


class Database:
    """One database, SQLite or PostgreSQL, by its URL; "sqlite://" is a throw-away one in memory."""

    def __init__(self, url: str) -> None:
        self.url = make_url(url)
        self.is_sqlite = self.url.get_backend_name() == "sqlite"
        self._turns = Turns()
        self.engine = _sqlite(url) if self.is_sqlite else create_engine(url, pool_pre_ping=True)
        self._writes = self.engine.execution_options(cutday_writes=True)

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """A transaction that writes: committed as the block ends, rolled back whole if it raises."""
        if not self.is_sqlite:
            with self._writes.begin() as connection:
                yield connection
            return
        with self._turns, self._writes.begin() as connection:
            yield connection

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """A transaction that only reads, and never waits for a writer."""
        with self.engine.connect() as connection:
            yield connection

    def close(self) -> None:
        self.engine.dispose()


def _sqlite(url: str) -> Engine:
    in_memory = make_url(url).database in (None, "", ":memory:")
    arguments: dict[str, Any] = {"check_same_thread": False, "isolation_level": None}
    if in_memory:
        engine = create_engine(url, connect_args=arguments, poolclass=StaticPool)
    else:
        engine = create_engine(url, connect_args=arguments)

    @event.listens_for(engine, "connect")
    def _set_up(connection: sqlite3.Connection, _: object) -> None:
        cursor = connection.cursor()
        cursor.execute(f"PRAGMA busy_timeout={BUSY_TIMEOUT_MS}")
        cursor.execute("PRAGMA foreign_keys=ON")
        if not in_memory:
            cursor.execute("PRAGMA journal_mode=WAL")
            cursor.execute("PRAGMA synchronous=FULL")
        cursor.close()

    @event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        writes = connection.get_execution_options().get("cutday_writes", False)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")

    return engine
