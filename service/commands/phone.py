"""`cutday phone`: a phone in the terminal, against a database file, beside a running `serve` too.

Each line typed is a text; what comes back to the number is printed. Texts go through the inbox that `serve` uses, and
what waits for this number is sent here unless a running `serve` is quicker.
"""

from __future__ import annotations

import sys
import time
import uuid
from collections.abc import Callable
from datetime import datetime
from typing import TypeVar

from sqlalchemy.exc import OperationalError

from dialogs.language import load_languages
from service.app import Service, assemble
from service.channels.channel import InboundText, OutboundText
from service.clock import Clock, SimulatedClock, SystemClock, instant
from service.commands.opening import opened
from service.commands.serve import read_settings
from service.inbox import phone_number
from service.store import cooperatives, messages

TRIES = 20  # a busy `serve` leaves the file to others only between two of its commits
PAUSE = 0.1  # seconds
PATIENCE = 5.0  # seconds until an answer that `serve` has in hand is given up on

Result = TypeVar("Result")


class Terminal:
    """A channel that hands nothing over: what is sent is printed from its row, whoever sent it."""

    def send(self, text: OutboundText) -> None:
        pass


def run(number: str, at: str | None, database_url: str | None) -> int:
    """Read texts from the terminal until its end."""
    settings = read_settings()
    database = opened(database_url or settings.database)
    with database.reading() as connection:
        line = cooperatives.by_line(connection, settings.line)
        if line is None:
            raise SystemExit(f"no cooperative has the line {settings.line}: see `cutday cooperative` and CUTDAY_LINE")
        cooperative = cooperatives.find(connection, line[1])
    known = phone_number(number, cooperative.timezone)
    if known is None:
        raise SystemExit(f"no phone number: {number}")
    clock: Clock = SystemClock()
    if at is not None:
        try:
            read = datetime.fromisoformat(at)
        except ValueError:
            raise SystemExit(f"--at: a local time such as 2026-01-10T07:30 is wanted, not {at}") from None
        clock = SimulatedClock(read if read.tzinfo is not None else instant(read, cooperative.zone))
    phone = Phone(assemble(database, clock, lambda _: Terminal(), load_languages()), settings.line, known)
    try:
        phone.talk()
    except KeyboardInterrupt:
        print()
    finally:
        database.close()
    return 0


class Phone:
    """One number's phone."""

    def __init__(self, service: Service, line: str, number: str) -> None:
        self.service = service
        self.line = line
        self.number = number
        with service.database.reading() as connection:
            self.shown = {row.id for row in messages.handed_to(connection, number)}

    def talk(self) -> None:
        """One text a line; empty lines only look for what has come."""
        asks = sys.stdin.isatty()
        while True:
            if asks:
                print("> ", end="", flush=True)
            typed = sys.stdin.readline()
            if not typed:
                return
            if typed.strip():
                self.text(typed.rstrip("\n"))
            self.show()

    def text(self, typed: str) -> None:
        """Send a text and wait for what answers it."""
        inbound = InboundText(self.line, uuid.uuid4().hex, self.number, typed, None, "")
        patiently(lambda: self.service.inbox.receive_together([inbound]))

    def show(self) -> None:
        """Print what has come to this number, once what is due to it has gone out."""
        end = time.monotonic() + PATIENCE
        while True:
            patiently(lambda: self.service.outbox.send_due(self.number))
            with self.service.database.reading() as connection:
                rows = [row for row in messages.handed_to(connection, self.number) if row.id not in self.shown]
                waits = messages.is_leased(connection, self.number)
            for row in rows:
                print(f"< {row.text}", flush=True)
                self.shown.add(row.id)
            if not waits or time.monotonic() > end:
                return
            time.sleep(PAUSE)


def patiently(write: Callable[[], Result]) -> Result:
    """Write beside another process: where the file is busy, try again."""
    for attempt in range(TRIES):
        try:
            return write()
        except OperationalError:
            if attempt == TRIES - 1:
                raise SystemExit("the database is busy; try again") from None
            time.sleep(PAUSE)
    raise AssertionError("not reached")
