"""Texts through a real gateway, both directions: Kannel, with a pretend phone network behind it."""

import os
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from threading import Thread
from typing import Any

import pytest
import uvicorn
from starlette.applications import Starlette

from service.channels.channel import DeliveryReport, InboundText, OutboundText, TryLater
from service.channels.http_gateway import HttpGateway
from service.segments import segments
from service.web.gateway import routes
from service.wording import translations
from tests.gateway import kannel
from tests.gateway.kannel import Kannel, free_port, until

pytestmark = pytest.mark.skipif(kannel.MISSING is not None, reason=str(kannel.MISSING))

KEY = "k-test_1"
LINE = "7000"


@pytest.fixture(scope="module")
def gateway(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Kannel]:
    with kannel.running(tmp_path_factory.mktemp("kannel"), LINE, KEY) as running:
        yield running


class Application:
    """Our own routes, with lists behind them."""

    def __init__(self, port: int) -> None:
        self.texts: list[InboundText] = []
        self.reports: list[DeliveryReport] = []
        self.aside: list[str] = []
        app = Starlette(routes=routes(KEY, self.accept, self.report, self.set_aside))
        config = uvicorn.Config(app, host="127.0.0.1", port=port, log_level="warning", ws="none", lifespan="off")
        self.server = uvicorn.Server(config)
        self.thread = Thread(target=self.server.run, daemon=True)
        self.thread.start()
        until(lambda: self.server.started, "our routes")

    async def accept(self, text: InboundText) -> None:
        self.texts.append(text)

    async def report(self, report: DeliveryReport) -> None:
        self.reports.append(report)

    async def set_aside(self, line: str, raw: str, reason: str) -> None:
        self.aside.append(reason)

    def close(self) -> None:
        self.server.should_exit = True
        self.thread.join()


@pytest.fixture
def application(gateway: Kannel) -> Iterator[Application]:
    gateway.relay.application = free_port()
    application = Application(gateway.relay.application)
    yield application
    application.close()


@pytest.fixture
def channel(gateway: Kannel) -> Iterator[HttpGateway]:
    report_url = f"http://127.0.0.1:{gateway.relay.port}/gateway/{{line}}/report?key={KEY}"
    channel = HttpGateway(gateway.sendsms_url, gateway.user, gateway.password, report_url)
    yield channel
    channel.close()


@pytest.mark.parametrize("words", ["rain 12 {€} & é + 5%", "कल बारिश 12 मिमी 😀", "ಮಳೆ 12"], ids=["gsm7", "hi", "kn"])
def test_handset_to_us(gateway: Kannel, application: Application, words: str) -> None:
    gateway.network.text("+15550001", LINE, words)

    until(lambda: application.texts, "the text")
    text = application.texts[0]
    assert (text.line, text.sender, text.text) == (LINE, "+15550001", words)
    assert text.message_id
    assert text.sent_at


@pytest.mark.parametrize(
    ("outbox_id", "line", "words"),
    [
        (1, "7000", "Kept: 12 mm, Fri 9 Jan, block 2 [UNDO] {€}"),
        (2, "+15557000", "रखा: 12 mm, शुक्र 9 जन, ब्लॉक 2 (UNDO)"),
        (3, "7000", "Rest day 12. " * 20),
        (4, "7000", "पानी रोकें. " * 20),
    ],
    ids=["gsm7", "ucs2", "gsm7 long", "ucs2 long"],
)
def test_us_to_handset(
    gateway: Kannel, application: Application, channel: HttpGateway, outbox_id: int, line: str, words: str
) -> None:
    """The text arrives as it was; reports come back with our own id, in the end that it was delivered."""
    number = f"+155501{outbox_id:02}"

    channel.send(OutboundText(outbox_id, number, line, words.strip(), segments(words).encoding))

    until(lambda: gateway.network.received(number), "the text at the handset")
    assert gateway.network.received(number) == [words.strip()]
    until(lambda: "delivered" in [report.state for report in application.reports], "the delivery report")
    assert {report.outbox_id for report in application.reports} == {outbox_id}
    assert application.aside == []


def test_lost_answer_brings_the_same_text_again(gateway: Kannel, application: Application) -> None:
    """What we tell it apart by, the gateway's id, stays the same."""
    gateway.relay.lose = 1

    gateway.network.text("+15550003", LINE, "stopped water")

    until(lambda: len(application.texts) == 2, "the same text again")
    assert application.texts[0].message_id == application.texts[1].message_id
    assert application.texts[0].text == application.texts[1].text


def test_wrong_password_gives_up_no_text(gateway: Kannel) -> None:
    """It is the set-up that is wrong; the text goes once that is put right."""
    shut_out = HttpGateway(gateway.sendsms_url, gateway.user, "wrong", "http://127.0.0.1/gateway/{line}/report")

    with pytest.raises(TryLater, match="403"):
        shut_out.send(OutboundText(9, "+15550109", LINE, "ok", "gsm7"))
    shut_out.close()


class Served:
    """`cutday serve` as an operator starts it, behind the gateway."""

    def __init__(self, gateway: Kannel, folder: Path) -> None:
        self.database = folder / "cutday.db"
        self.log = folder / "serve.log"
        gateway.relay.application = free_port()
        settings = {
            "CUTDAY_DATABASE": f"sqlite:///{self.database}",
            "CUTDAY_PORT": str(gateway.relay.application),
            "CUTDAY_GATEWAY_URL": gateway.sendsms_url,
            "CUTDAY_GATEWAY_USER": gateway.user,
            "CUTDAY_GATEWAY_PASSWORD": gateway.password,
            "CUTDAY_GATEWAY_KEY": KEY,
            "CUTDAY_PUBLIC_URL": f"http://127.0.0.1:{gateway.relay.port}",
            "CUTDAY_LINE": LINE,
        }
        self.environment = {
            name: value for name, value in os.environ.items() if not name.startswith("CUTDAY_")
        } | settings
        for preparation in ("migrate", "cooperative"):
            self.run(preparation)
        with self.log.open("wb") as log:
            self.process = subprocess.Popen(self.command("serve"), env=self.environment, stdout=log, stderr=log)
        until(lambda: "serves on" in self.log.read_text() or self.process.poll() is not None, "cutday serve")
        assert self.process.poll() is None, self.log.read_text()

    def command(self, name: str) -> list[str]:
        return [sys.executable, "-m", "service", name]

    def run(self, name: str) -> None:
        done = subprocess.run(self.command(name), env=self.environment, capture_output=True, text=True, timeout=60)
        assert done.returncode == 0, done.stderr

    def rows(self, query: str, *values: Any) -> list[tuple[Any, ...]]:
        with closing(sqlite3.connect(f"file:{self.database}?mode=ro", uri=True)) as database:
            return database.execute(query, values).fetchall()

    def close(self) -> None:
        self.process.terminate()
        try:
            self.process.wait(20)
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.wait()


@pytest.fixture
def served(gateway: Kannel, tmp_path: Path) -> Iterator[Served]:
    served = Served(gateway, tmp_path)
    yield served
    served.close()


IN, OUT = "SELECT text FROM texts_in WHERE sender = ?", "SELECT text, state FROM outbox WHERE number = ? ORDER BY id"


@pytest.mark.parametrize(("number", "words"), [("+15550201", "join"), ("+15550202", "जुड़ना है")], ids=["en", "hi"])
def test_text_is_answered_at_the_handset(gateway: Kannel, served: Served, number: str, words: str) -> None:
    """Through everything: kept as typed, answered once, as worded, with the delivery on record."""
    gateway.network.text(number, LINE, words)

    until(lambda: gateway.network.received(number), "the answer at the handset")
    until(lambda: {state for _, state in served.rows(OUT, number)} == {"delivered"}, "delivery on record")
    assert served.rows(IN, number) == [(words,)]
    answers = gateway.network.received(number)
    assert answers == [text for text, _ in served.rows(OUT, number)]
    assert len(answers) == 1


DONE = "change_language.done"


def test_hindi_is_answered_in_hindi(gateway: Kannel, served: Served) -> None:
    number = "+15550204"

    gateway.network.text(number, LINE, "भाषा हिंदी")

    until(lambda: gateway.network.received(number), "the answer at the handset")
    assert served.rows(IN, number) == [("भाषा हिंदी",)]
    assert gateway.network.received(number)[0] == translations("hi").gettext(DONE)


def test_redelivered_text_is_answered_once(gateway: Kannel, served: Served) -> None:
    """The answer to the gateway is lost, so it delivers the text again: one row, one answer, and it is content."""
    number = "+15550203"
    gateway.relay.lose = 1
    before = len(gateway.relay.calls)

    gateway.network.text(number, LINE, "join")

    until(lambda: len(texts_in(gateway, before)) == 2, "the same text again")
    until(lambda: {state for _, state in served.rows(OUT, number)} == {"delivered"}, "delivery on record")
    assert [status for _, status in texts_in(gateway, before)] == [200, 200]
    assert len(served.rows(IN, number)) == 1
    assert len(served.rows(OUT, number)) == len(gateway.network.received(number)) == 1


def texts_in(gateway: Kannel, since: int) -> list[tuple[str, int]]:
    return [(path, status) for path, status in gateway.relay.calls[since:] if f"/{LINE}/in" in path]
