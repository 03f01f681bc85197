"""A migrated database is the one that the code describes, with its guards."""

from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from sqlalchemy import select, text

from service.store import migrate, schema
from service.store.session import Database
from tests.service.world import World

GUARDS = {
    "sqlite": {"entries_are_never_edited", "entries_are_never_deleted"},
    "postgresql": {"entries_are_append_only"},
}


def guards(database: Database) -> set[str]:
    query = "SELECT name FROM sqlite_master WHERE type = 'trigger'"
    if not database.is_sqlite:
        query = "SELECT tgname FROM pg_trigger WHERE NOT tgisinternal"
    with database.reading() as connection:
        return set(connection.execute(text(query)).scalars())


@pytest.fixture
def empty(database: Database) -> Database:
    with database.writing() as connection:
        if database.is_sqlite:
            schema.metadata.drop_all(connection)
        else:
            connection.execute(text("DROP SCHEMA public CASCADE"))
            connection.execute(text("CREATE SCHEMA public"))
    return database


def test_migrations_make_what_the_code_describes(empty: Database) -> None:
    migrate.upgrade(empty)

    with empty.reading() as connection:
        assert compare_metadata(MigrationContext.configure(connection), schema.metadata) == []
    assert migrate.is_current(empty)
    assert guards(empty) == GUARDS[empty.engine.dialect.name]


def test_throw_away_database_has_the_same_guards(database: Database) -> None:
    assert guards(database) == GUARDS[database.engine.dialect.name]


def test_migrating_again_changes_nothing_and_loses_nothing(empty: Database) -> None:
    migrate.upgrade(empty)
    world = World(empty)
    world.block(world.grower())

    migrate.upgrade(empty)

    with empty.reading() as connection:
        assert len(connection.execute(select(schema.entries)).all()) == 1


def test_foreign_schema_is_left_alone(tmp_path: Path) -> None:
    database = Database(f"sqlite:///{tmp_path}/other.db")
    with database.writing() as connection:
        connection.execute(text("CREATE TABLE theirs (id INTEGER)"))

    with pytest.raises(migrate.OldSchema):
        migrate.require_current_or_create(database)
    database.close()


def test_instants_need_their_zone(database: Database) -> None:
    from datetime import datetime

    from sqlalchemy.exc import StatementError

    with pytest.raises(StatementError, match="needs its zone"), database.writing() as connection:
        connection.execute(schema.weather.select().where(schema.weather.c.at == datetime(2026, 1, 1)))  # noqa: DTZ001
