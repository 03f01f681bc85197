"""Texts through a real gateway, both directions: Kannel, with a pretend phone network behind it."""

from collections.abc import Iterator
from threading import Thread

import pytest
import uvicorn
from starlette.applications import Starlette

from service.channels.channel import DeliveryReport, InboundText, OutboundText, TryLater
from service.channels.http_gateway import HttpGateway
from service.segments import segments
from service.web.gateway import routes
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

    async def set_aside(self, raw: str, reason: str) -> None:
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
