"""Composition: a database, a clock and channels become a service; with threads and web it is what `serve` runs.

What only `serve` needs (the web framework, the scheduler) is imported where it is used: a replay starts without it.
"""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Callable, Mapping
from contextlib import asynccontextmanager
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Any

from dialogs.language import Language
from service.channels.channel import Channel, DeliveryReport, InboundText, TryLater
from service.clock import Clock
from service.inbox import Inbox
from service.office import Office
from service.outbox import Outbox
from service.reminders import Reminders
from service.store import messages
from service.store import reminders as reminder_rows
from service.store.session import Database
from service.wording import Wording, spoken

if TYPE_CHECKING:
    from fastapi import FastAPI

    from service.accounts import Accounts

LARGEST_REQUEST = 65_536  # bytes


@dataclass(frozen=True)
class Service:
    """The use cases over one database."""

    database: Database
    clock: Clock
    inbox: Inbox
    outbox: Outbox
    reminders: Reminders
    office: Office

    def next_due(self) -> datetime | None:
        """The next instant at which something falls due; None where nothing waits."""
        with self.database.reading() as connection:
            instants = [messages.next_due(connection), reminder_rows.next_due(connection)]
        instants.append(self.reminders.next_daily())
        return min((due for due in instants if due is not None), default=None)

    def settle(self) -> None:
        """Do all that is due now: what the metronome and the sender do for a clock that runs by itself."""
        self.reminders.daily()
        self.inbox.try_again()
        self.reminders.tick()
        self.outbox.send_due()


def assemble(
    database: Database, clock: Clock, channel: Callable[[str], Channel], languages: Mapping[str, Language]
) -> Service:
    """channel: the channel of a receiving line; languages: those read by dialogs.language.load_languages

    A language that has words but no texts yet is neither offered nor read.
    """
    told = spoken()
    languages = {tag: language for tag, language in languages.items() if tag in told}
    tags = tuple(languages)
    return Service(
        database,
        clock,
        Inbox(database, clock, languages),
        Outbox(database, clock, Wording(told), channel),
        Reminders(database, clock, tags),
        Office(database, clock, tags),
    )


class Running:
    """A service with its threads: the writer, the sender and the metronome."""

    def __init__(self, service: Service) -> None:
        from service.scheduler import Metronome, Sender
        from service.writer import Writer

        self.service = service
        self.sender = Sender(service.outbox)
        self.writer = Writer(service.inbox, self.sender.wake)
        self.metronome = Metronome(service.clock, service.reminders, service.inbox, self.sender)

    def start(self) -> None:
        self.sender.start()
        self.writer.start()
        self.metronome.start()

    def stop(self) -> None:
        """Return once nothing is under way any more."""
        self.metronome.stop()
        self.writer.stop()
        self.sender.stop()

    async def accept(self, text: InboundText) -> None:
        """Return once a text is committed. Raises TryLater where it is not kept."""
        try:
            await asyncio.wrap_future(self.writer.receive(text))
        except Exception as error:  # whatever kept it from being committed: the gateway brings it again
            raise TryLater(type(error).__name__) from error

    async def report(self, report: DeliveryReport) -> None:
        """Return once a delivery report is committed."""
        try:
            await asyncio.to_thread(self.service.outbox.report, report)
        except Exception as error:
            raise TryLater(type(error).__name__) from error

    async def set_aside(self, line: str, raw: str, reason: str) -> None:
        """Return once an unreadable request is kept."""
        try:
            await asyncio.to_thread(self.service.inbox.set_aside, line, raw, reason)
        except Exception as error:
            raise TryLater(type(error).__name__) from error


def web(running: Running, gateway_key: str, accounts: Accounts | None = None) -> FastAPI:
    """The web application; its lifespan starts and stops the threads. Without a key no gateway may bring texts.

    accounts: those of the service's database, else made here
    """
    from fastapi import FastAPI
    from fastapi.responses import JSONResponse

    from service.accounts import Accounts
    from service.web import gateway
    from service.web.desk import routes as desk

    @asynccontextmanager
    async def lifespan(_: FastAPI) -> AsyncIterator[None]:
        running.start()
        try:
            yield
        finally:
            await asyncio.to_thread(running.stop)

    app = FastAPI(
        title="Cutday", telemetry={"tracing": False}, docs_url=None, redoc_url=None, lifespan=lifespan,
        max_body_size=LARGEST_REQUEST,
    )  # fmt: skip
    if gateway_key:
        app.router.routes.extend(gateway.routes(gateway_key, running.accept, running.report, running.set_aside))

    service = running.service
    accounts = accounts or Accounts(service.database, service.clock)
    app.router.routes.extend(desk.routes(service.database, service.clock, accounts, tuple(service.inbox.languages)))

    @app.get("/health")
    async def health() -> Any:
        """Whether the service does its work: 503 where no tick has ended well for a minute."""
        late = running.metronome.overdue
        return JSONResponse({"status": "overdue" if late else "ok"}, 503 if late else 200)

    return app
