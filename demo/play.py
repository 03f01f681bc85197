"""Plays a season of an invented cooperative through the entrance that a gateway uses, then serves on.

The clock runs fast through the weeks before today and by itself from then on.
"""

from __future__ import annotations

import argparse
import http.client
import logging
import os
import secrets
import shutil
import socket
import sys
import threading
import time
import tomllib
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

import uvicorn

from dialogs.language import load_languages
from service.accounts import Accounts
from service.app import Running, Service, assemble, web
from service.channels.channel import OutboundText
from service.clock import SimulatedClock, SystemClock, instant, local
from service.commands.replay import demo_cooperative
from service.store import cooperatives, messages, migrate
from service.store.session import Database

HOST, LINE = "127.0.0.1", "main"
ROOM = 50_000_000  # bytes: what the demo's database and its log may grow to
START_WITHIN = 20.0  # seconds
STAFF = (("devika", "R. Devika", "coordinator"), ("ashok", "Ashok N.", "adviser"), ("mina", "Mina K.", "field_officer"))
FILE = Path("var/demo.sqlite3")
REST_DAYS = 45  # the default of a rest; the season's cut is set so that its rest begins as the texts say


class Demonstration:
    """A clock that is moved through the played weeks, then goes with the machine's."""

    def __init__(self, start: datetime) -> None:
        self.played = SimulatedClock(start)
        self.live = False

    def now(self) -> datetime:
        return SystemClock().now() if self.live else self.played.now()


class Screen:
    """A channel that prints each text under the clock of the demo."""

    def __init__(self, clock: Demonstration, names: dict[str, str], zone: Any) -> None:
        self.clock, self.names, self.zone = clock, names, zone

    def send(self, text: OutboundText) -> None:
        self.show(self.names.get(text.to, text.to), "<", text.text)

    def show(self, who: str, way: str, text: str) -> None:
        when = local(self.clock.now(), self.zone)
        print(f"{when:%a %d %b %H:%M}  {who:8} {way} {text}", flush=True)


def main() -> None:
    asked = argparse.ArgumentParser(prog="demo/run", description=__doc__)
    asked.add_argument("--once", action="store_true", help="stop after the played part")
    once: bool = asked.parse_args().once
    port = int(os.environ.get("CUTDAY_PORT", "8000"))
    listening = _listen(port)
    logging.basicConfig(level=logging.ERROR)
    season = tomllib.loads((Path(__file__).parent / "season.toml").read_text(encoding="utf-8"))
    described = demo_cooperative()
    zone = cooperatives.zone(described)
    first = local(SystemClock().now(), zone).date() - timedelta(days=season["first_day_ago"])
    clock = Demonstration(instant(datetime.combine(first, datetime.min.time()), zone))
    database = _fresh_database()
    with database.writing() as connection:
        cooperatives.create(connection, described, LINE, clock.now(), first)
    names = {number: name for name, number in season["numbers"].items()}
    screen = Screen(clock, names, zone)
    service = assemble(database, clock, lambda _: screen, load_languages())
    running = Running(service)
    accounts = Accounts(database, clock)
    passwords = _staff(accounts, database)
    key = secrets.token_urlsafe(16)
    server = uvicorn.Server(uvicorn.Config(web(running, key, accounts), access_log=False, log_config=None))
    serving = threading.Thread(target=server.run, kwargs={"sockets": [listening]})
    serving.start()
    try:
        _wait_for(server)
        _play(season, first, zone, clock, service, screen, f"/gateway/{LINE}/in?key={key}", port)
        clock.live = True
        if not once:
            _what_next(port, passwords)
            serving.join()
    except KeyboardInterrupt:
        pass
    finally:
        server.should_exit = True
        serving.join()
        database.close()


def _play(
    season: dict[str, Any], first: date, zone: Any, clock: Demonstration, service: Service, screen: Screen,
    entrance: str, port: int,
) -> None:  # fmt: skip
    """Each text at its own time, with all that falls due before it."""
    stopped = next(text["day"] for text in season["texts"] if "water" in text["text"])
    cut = first + timedelta(days=stopped + REST_DAYS)
    for number, text in enumerate(season["texts"]):
        at = instant(datetime.fromisoformat(f"{first + timedelta(days=text['day'])}T{text['at']}"), zone)
        _move(service, clock, at)
        if "say" in text:
            print(f"\n# {text['say']}", flush=True)
        typed = text["text"].format(cut=f"{cut.day} {cut:%b}".lower())
        screen.show(text["who"], ">", typed)
        who = season["numbers"][text["who"]]
        _post(port, entrance, {"id": f"demo-{number}", "from": who, "text": typed})
        _answered(service, who)
    print("\n# The days go on until now.", flush=True)
    _move(service, clock, datetime.now(UTC))  # noqa: TID251  the played weeks end at the machine's own time


def _move(service: Service, clock: Demonstration, to: datetime) -> None:
    while (due := service.next_due()) is not None and due <= to:
        clock.played.move(max(due, clock.now()))
        service.settle()
    clock.played.move(max(to, clock.now()))


def _answered(service: Service, number: str) -> None:
    """Return once everything that answers a text is on the screen."""
    waits = True
    while waits:
        service.settle()
        with service.database.reading() as connection:
            waits = messages.is_leased(connection, number)
        if waits:
            time.sleep(0.01)


def _post(port: int, entrance: str, fields: dict[str, str]) -> None:
    """Bring a text as the gateway does; it is kept once this returns."""
    connection = http.client.HTTPConnection(HOST, port, timeout=30)
    try:
        connection.request("GET", f"{entrance}&{urlencode({**fields, 'coding': '0'})}")
        answer = connection.getresponse()
        answer.read()
    finally:
        connection.close()
    if answer.status != 200:
        raise SystemExit(f"the entrance answered {answer.status}")


def _listen(port: int) -> socket.socket:
    listening = socket.socket()
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind((HOST, port))
    except OSError as error:
        raise SystemExit(f"port {port} is in use ({error.strerror}): stop what uses it, or set CUTDAY_PORT") from None
    listening.listen()
    return listening


def _fresh_database() -> Database:
    """A new file for each demo; one line where the disk has no room for it."""
    try:
        FILE.parent.mkdir(exist_ok=True)
        for old in FILE.parent.glob(f"{FILE.name}*"):
            old.unlink()
        if shutil.disk_usage(FILE.parent).free < ROOM:
            raise SystemExit(f"no room left for {FILE}: the demo wants {ROOM // 1_000_000} MB")
        database = Database(f"sqlite:///{FILE}")
        migrate.upgrade(database)
    except OSError as error:
        raise SystemExit(f"{FILE} cannot be written: {error.strerror}") from None
    return database


def _wait_for(server: uvicorn.Server) -> None:
    end = time.monotonic() + START_WITHIN
    while not server.started:
        if time.monotonic() > end:
            raise SystemExit("the web server did not start")
        time.sleep(0.02)


def _staff(accounts: Accounts, database: Database) -> dict[str, str]:
    """People of the desk, with passwords that are good for this demo only: login -> password."""
    with database.reading() as connection:
        (cooperative_id,) = cooperatives.versions(connection)
    passwords = {}
    for login, name, role in STAFF:
        passwords[login] = secrets.token_urlsafe(9)
        accounts.add(cooperative_id, login, name, role, "en", passwords[login])
    return passwords


def _what_next(port: int, passwords: dict[str, str]) -> None:
    entering = "\n".join(f"      {login} ({role.replace('_', ' ')}): {passwords[login]}" for login, _, role in STAFF)
    database = f"sqlite:///{FILE}"
    print(
        f"""
Cutday serves on http://{HOST}:{port} until you press Ctrl-C. In a browser:
  http://{HOST}:{port}/desk
      the desk of the cooperative; names, and passwords made for this run:
{entering}
In another terminal:
  CUTDAY_DATABASE={database} .venv/bin/cutday phone --number +919800000001
      a phone: text e.g. "rain 12 yesterday", "what work today", "how much ethephon for 15 litre pump", "undo", "help"
  CUTDAY_DATABASE={database} .venv/bin/cutday phone --number +919800000009
      a phone that has not joined yet: text "hello" or "namaste"
  curl http://{HOST}:{port}/health""",
        flush=True,
    )


if __name__ == "__main__":
    sys.exit(main())
