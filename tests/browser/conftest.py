"""A desk served on the loopback, filled by texts, and Debian's chromium to look at it with."""

import secrets
import shutil
import socket
import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date, datetime
from datetime import time as time_of_day
from pathlib import Path
from typing import Any

import pytest
import uvicorn
from argon2 import PasswordHasher

from dialogs.language import load_languages
from service.accounts import Accounts
from service.app import Running, Service, assemble, web
from service.channels.channel import InboundText, OutboundText, Rejected
from service.clock import SimulatedClock, instant
from service.commands.replay import demo_cooperative
from service.store import cooperatives, migrate
from service.store.session import Database
from tests.browser import season

CHROMIUM = shutil.which("chromium")
LINE, OTHER_LINE = "main", "other"
FIRST_DAY = date(2026, 1, 1)
NOW = datetime(2026, 1, 10, 13, 42)  # noqa: DTZ001  local, as is all that the season tells
CHEAP = PasswordHasher(time_cost=1, memory_cost=8, parallelism=1)
FLAGS = [
    "--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-quic", "--no-first-run",
    "--disable-component-update", "--disable-sync",
]  # fmt: skip
AXE = (Path(__file__).parent / "vendored" / "axe.min.js").read_text(encoding="utf-8")


@pytest.hookimpl(tryfirst=True)  # before the groups are read
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """One process serves all of them."""
    for item in items:
        if Path(__file__).parent in item.path.parents:
            item.add_marker(pytest.mark.xdist_group("browser"))


class Deaf:
    """A channel that takes every text but one number's."""

    def send(self, text: OutboundText) -> None:
        if text.to == season.number(8):
            raise Rejected("number not in service")


@dataclass
class Served:
    """The desk as it is served: its address, its clock, and the accounts that may enter."""

    address: str
    clock: SimulatedClock
    service: Service
    accounts: Accounts
    cooperative_id: int
    other_id: int
    passwords: dict[str, str]

    def staff(self, login: str, role: str = "coordinator", language: str = "en", other: bool = False) -> str:
        """Make an account, once; its login."""
        if login not in self.passwords:
            self.passwords[login] = secrets.token_urlsafe(12)
            where = self.other_id if other else self.cooperative_id
            self.accounts.add(where, login, f"{login.title()} Rao", role, language, self.passwords[login])
        return login


def played(database: Database, clock: SimulatedClock) -> tuple[Service, int, int]:
    """The service after the texts of the season; two cooperatives, of which the second has one grower."""
    described = demo_cooperative()
    zone = cooperatives.zone(described)
    with database.writing() as connection:
        id_ = cooperatives.create(connection, described, LINE, clock.now(), FIRST_DAY)
        other = {**described, "name": "Stone Field growers"}
        other_id = cooperatives.create(connection, other, OTHER_LINE, clock.now(), FIRST_DAY)
    service = assemble(database, clock, lambda line: Deaf(), load_languages())

    def move(to: datetime) -> None:
        end = instant(to, zone)
        while (due := service.next_due()) is not None and due <= end:
            clock.move(max(due, clock.now()))
            service.settle()
        clock.move(end)

    for count, (at, number, text) in enumerate(season.told()):
        move(at)
        service.inbox.receive(InboundText(LINE, f"s{count}", number, text, None, ""))
        service.settle()
    first = "hello this is Tara from Red Bank. 200 plants 12x8 feet red soil drip planted july 2019"
    for count, text in enumerate((first, "yes", "call me")):
        service.inbox.receive(InboundText(OTHER_LINE, f"o{count}", "+919800000999", text, None, ""))
        service.settle()
    move(NOW)
    service.settle()
    return service, id_, other_id


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    database = Database(f"sqlite:///{tmp_path_factory.mktemp('desk')}/desk.sqlite3")
    migrate.create(database)
    clock = SimulatedClock(instant(datetime.combine(FIRST_DAY, time_of_day(9)), cooperatives.zone(demo_cooperative())))
    service, id_, other_id = played(database, clock)
    accounts = Accounts(database, clock, CHEAP)
    listening = socket.create_server(("127.0.0.1", 0))
    running = Running(service)
    config = uvicorn.Config(web(running, "", accounts), access_log=False, log_config=None, timeout_graceful_shutdown=2)
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]})
    thread.start()
    try:
        end = time.monotonic() + 30
        while not server.started:
            assert time.monotonic() < end, "the web server did not start"
            threading.Event().wait(0.02)
        address = f"http://127.0.0.1:{listening.getsockname()[1]}"
        yield Served(address, clock, service, accounts, id_, other_id, {})
    finally:
        server.should_exit = True
        thread.join()
        database.close()


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    if CHROMIUM is None:
        pytest.skip("no chromium: apt-get install chromium")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield browser
        browser.close()


class Page:
    """A page of the desk in the browser, entered; everything that it complains about is kept."""

    def __init__(self, page: Any, served: Served) -> None:
        self.page = page
        self.served = served
        self.complaints: list[str] = []
        page.on(
            "console", lambda said: self.complaints.append(said.text) if said.type in ("error", "warning") else None
        )
        page.on("pageerror", lambda error: self.complaints.append(str(error)))

    def open(self, path: str) -> Any:
        self.page.goto(self.served.address + path)
        return self.page

    def serious(self) -> list[str]:
        """What axe finds wrong: WCAG 2.2 A and AA, its serious and critical findings."""
        self.page.evaluate(AXE)
        found = self.page.evaluate(
            "axe.run(document, {runOnly: ['wcag2a','wcag2aa','wcag21a','wcag21aa','wcag22aa','best-practice']})"
        )
        return [
            f"{one['id']}: {one['nodes'][0]['html'][:200]}"
            for one in found["violations"]
            if one["impact"] in ("serious", "critical")
        ]

    def too_wide(self) -> int:
        """By how many pixels the page scrolls sideways."""
        width: int = self.page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
        return width


Enter = Callable[..., Page]


@pytest.fixture
def enter(served: Served, browser: Any) -> Iterator[Enter]:
    """Enters as somebody: enter("devika", language="ar", width=360)."""
    contexts: list[Any] = []
    pages: list[Page] = []

    def enter(
        login: str = "devika", role: str = "coordinator", language: str = "en", width: int = 1280,
        script: bool = True, other: bool = False,
    ) -> Page:  # fmt: skip
        served.staff(login, role, language, other)
        context = browser.new_context(viewport={"width": width, "height": 800}, java_script_enabled=script)
        contexts.append(context)
        page = Page(context.new_page(), served)
        pages.append(page)
        page.open("/desk/today")
        page.page.fill("#login", login)
        page.page.fill("#password", served.passwords[login])
        page.page.press("#password", "Enter")
        page.page.wait_for_url("**/desk/today")
        return page

    yield enter
    for context in contexts:
        context.close()
    assert [page.complaints for page in pages if page.complaints] == []
