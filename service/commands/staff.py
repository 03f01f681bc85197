"""`cutday staff add`: makes an account for the desk. Its password is asked for, or read from the input's first line."""

from __future__ import annotations

import getpass
import sys

from service.accounts import Accounts
from service.clock import SystemClock
from service.commands.opening import opened
from service.commands.serve import read_settings
from service.store import cooperatives


def add(
    login: str, name: str | None, role: str, cooperative: str | None, language: str | None, database_url: str | None
) -> int:
    """Make an account. cooperative: its name, needed where there are several."""
    database = opened(database_url or read_settings().database)
    try:
        with database.reading() as connection:
            ids = list(cooperatives.versions(connection))
            id_ = cooperatives.by_name(connection, cooperative) if cooperative else (ids[0] if len(ids) == 1 else None)
            if id_ is None:
                raise SystemExit(
                    f"no cooperative {cooperative!r}" if cooperative else "which cooperative? say --cooperative NAME"
                )
            kept = cooperatives.find(connection, id_)
        password = _password()
        Accounts(database, SystemClock()).add(id_, login, name or login, role, language or kept.language, password)
    except ValueError as error:
        raise SystemExit(str(error)) from None
    finally:
        database.close()
    print(f"{login} may enter the desk of {kept.name} as {role.replace('_', ' ')}")
    return 0


def _password() -> str:
    """Typed twice at a terminal, unseen; else the first line of the input. Never an argument: others could read it."""
    if not sys.stdin.isatty():
        return sys.stdin.readline().rstrip("\r\n")
    password = getpass.getpass("Password: ")
    if getpass.getpass("Once more: ") != password:
        raise SystemExit("the two differ")
    return password
