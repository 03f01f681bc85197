"""Bringing a database to the schema of this release.

Alembic is imported where it is used: a throw-away database is made without it.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from sqlalchemy import inspect

from service.store.schema import metadata
from service.store.session import Database

if TYPE_CHECKING:
    from alembic.config import Config


class OldSchema(Exception):
    """The database is of another release."""


def create(database: Database) -> None:
    """Make the tables of a throw-away database; a test holds them equal to what the migrations make."""
    with database.writing() as connection:
        metadata.create_all(connection)


def upgrade(database: Database) -> None:
    """Bring a database up to date, whole or not at all; a SQLite file is copied first where it holds anything."""
    from alembic import command

    if database.is_sqlite and database.url.database:
        Path(database.url.database).parent.mkdir(parents=True, exist_ok=True)
    if is_current(database):
        return
    _copy_first(database)
    config = _config()
    with database.engine.connect().execution_options(cutday_writes=True) as connection:
        if database.is_sqlite:  # a rebuilt table would take the rows that hang on it along
            connection.connection.cursor().execute("PRAGMA foreign_keys=OFF")
        with connection.begin():
            config.attributes["connection"] = connection
            command.upgrade(config, "head")
            if database.is_sqlite:
                broken = connection.exec_driver_sql("PRAGMA foreign_key_check").fetchall()
                if broken:
                    raise OldSchema(f"the migration left rows that hang on nothing: {broken[:3]}")
        if database.is_sqlite:
            connection.connection.cursor().execute("PRAGMA foreign_keys=ON")


def revision(database: Database) -> str | None:
    """The revision that a database stands at; None for an empty one."""
    from alembic.migration import MigrationContext

    with database.reading() as connection:
        return MigrationContext.configure(connection).get_current_revision()


def is_current(database: Database) -> bool:
    from alembic.script import ScriptDirectory

    return revision(database) == ScriptDirectory.from_config(_config()).get_current_head()


def require_current(database: Database) -> None:
    """Raises OldSchema where the database is not of this release."""
    if not is_current(database):
        raise OldSchema("the database is not up to date: run `cutday migrate`")


def require_current_or_create(database: Database) -> None:
    """As require_current; an empty database is brought up to date."""
    if revision(database) is None:
        with database.reading() as connection:
            if inspect(connection).get_table_names():
                raise OldSchema("the database holds tables that are not ours")
        upgrade(database)
    require_current(database)


def _config() -> Config:
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", "service:store/migrations")
    return config


def _copy_first(database: Database) -> None:
    file = database.url.database
    at = revision(database)
    if not database.is_sqlite or not file or file == ":memory:" or at is None:
        return
    copy = Path(f"{file}.before-{at}")
    copy.unlink(missing_ok=True)
    with database.engine.connect() as connection:
        connection.connection.cursor().execute("VACUUM INTO ?", (str(copy),))
