"""`cutday cooperative`: registers a cooperative and the line on which its growers text."""

from __future__ import annotations

import tomllib
from pathlib import Path

from sqlalchemy.exc import IntegrityError

from service.clock import SystemClock, local
from service.commands.opening import opened
from service.commands.replay import demo_cooperative
from service.commands.serve import read_settings
from service.store import cooperatives


def run(file: str | None, line: str | None, database_url: str | None) -> int:
    """Register the cooperative that a TOML file describes, or the invented one."""
    settings = read_settings()
    line = line or settings.line
    try:
        described = demo_cooperative() if file is None else tomllib.loads(Path(file).read_text(encoding="utf-8"))
        zone = cooperatives.zone(described)
        cooperatives.check(described)
    except (OSError, KeyError, TypeError, ValueError) as error:
        missing = f"{error} is missing" if isinstance(error, KeyError) else str(error)
        raise SystemExit(f"{file}: {missing}") from None
    database = opened(database_url or settings.database)
    now = SystemClock().now()
    try:
        with database.writing() as connection:
            cooperatives.create(connection, described, line, now, local(now, zone).date())
    except IntegrityError:
        raise SystemExit(f"a cooperative {described['name']}, or the line {line}, is there already") from None
    finally:
        database.close()
    print(f"{described['name']} is registered; its growers text the line {line}")
    return 0
