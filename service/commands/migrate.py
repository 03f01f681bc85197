"""`cutday migrate`: brings the database up to date."""

from __future__ import annotations

from service.settings import ServiceSettings
from service.store import migrate
from service.store.session import Database


def run(database_url: str | None) -> int:
    """Migrate the database; 0 where it is up to date."""
    database = Database(database_url or ServiceSettings().database)
    try:
        migrate.upgrade(database)
    finally:
        database.close()
    return 0
