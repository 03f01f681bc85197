"""Opening a database for a command: what is wrong with it is said in one line."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO

from sqlalchemy.exc import ArgumentError, SQLAlchemyError

from service.store import migrate
from service.store.session import Database


def opened(url: str) -> Database:
    """The database, of this release's schema; else SystemExit with one line that says what to do."""
    try:
        database = Database(url)
        if database.is_sqlite and not Path(database.url.database or "").is_file():
            raise SystemExit(f"no database at {database.url.database}: run `cutday migrate`")
        migrate.require_current(database)
    except ArgumentError as error:
        raise SystemExit(f"CUTDAY_DATABASE: {error}") from None
    except migrate.OldSchema as error:
        raise SystemExit(str(error)) from None
    except SQLAlchemyError as error:
        raise SystemExit(f"the database cannot be used: {str(error.__cause__ or error).splitlines()[0]}") from None
    return database


@contextmanager
def alone(database: Database) -> Iterator[None]:
    """Hold a SQLite file as the one process that serves it; SystemExit where another one does."""
    if not database.is_sqlite:
        yield
        return
    import fcntl

    held: IO[str]
    with open(f"{database.url.database}.lock", "w") as held:
        try:
            fcntl.flock(held, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError:
            raise SystemExit(
                f"another `cutday serve` or `cutday work` runs on {database.url.database}: one is enough for a file"
            ) from None
        yield
