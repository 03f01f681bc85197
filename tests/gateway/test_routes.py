"""What a gateway is answered: 200 once its text is kept, nothing else makes it forget one."""

from dataclasses import dataclass, field

import pytest
from starlette.applications import Starlette
from starlette.testclient import TestClient

from service.channels.channel import DeliveryReport, InboundText, TryLater
from service.web.gateway import routes


@dataclass
class Kept:
    """A small inbox in memory; `broken`: its commits fail."""

    texts: list[InboundText] = field(default_factory=list)
    reports: list[DeliveryReport] = field(default_factory=list)
    aside: list[tuple[str, str, str]] = field(default_factory=list)
    broken: bool = False

    async def accept(self, text: InboundText) -> None:
        self.commit()
        self.texts.append(text)

    async def report(self, report: DeliveryReport) -> None:
        self.commit()
        self.reports.append(report)

    async def set_aside(self, line: str, raw: str, reason: str) -> None:
        self.commit()
        self.aside.append((line, raw, reason))

    def commit(self) -> None:
        if self.broken:
            raise TryLater("disk full")


@pytest.fixture
def kept() -> Kept:
    return Kept()


@pytest.fixture
def client(kept: Kept) -> TestClient:
    app = Starlette(routes=routes("s3cret", kept.accept, kept.report, kept.set_aside))
    return TestClient(app, raise_server_exceptions=False)


def test_text_is_kept_then_answered_with_nothing(kept: Kept, client: TestClient) -> None:
    answer = client.get("/gateway/7000/in?key=s3cret&id=a1&from=%2B15550001&coding=2&text=%09%35%090")

    assert (answer.status_code, answer.content) == (200, b"")
    assert answer.headers["content-type"].startswith("text/plain")
    assert [(text.line, text.message_id, text.sender, text.text) for text in kept.texts] == [
        ("7000", "a1", "+15550001", "वर")
    ]


def test_our_key_is_not_kept_with_the_text(kept: Kept, client: TestClient) -> None:
    client.get("/gateway/7000/in?k%65y=s3cret&id=a1&from=1&text=ok")

    assert kept.texts[0].raw == "GET /gateway/7000/in?id=a1&from=1&text=ok"


def test_form_in_the_body(kept: Kept, client: TestClient) -> None:
    answer = client.post("/gateway/7000/in?key=s3cret", data={"from": "+15550001", "text": "बारिश 12"})

    assert answer.status_code == 200
    assert kept.texts[0].text == "बारिश 12"


def test_commit_that_fails_is_no_200(kept: Kept, client: TestClient) -> None:
    """Answered 200, the gateway would forget a text that nobody has."""
    kept.broken = True

    assert client.get("/gateway/7000/in?key=s3cret&from=1&text=ok").status_code == 503
    assert client.get("/gateway/7000/in?key=s3cret&from=1").status_code == 503
    assert client.get("/gateway/7000/report?key=s3cret&id=1&status=1").status_code == 503


def test_failure_nobody_thought_of_is_no_200() -> None:
    async def accept(text: object) -> None:
        raise RuntimeError("a bug")

    async def nothing(line: str, raw: str, reason: str) -> None: ...

    client = TestClient(Starlette(routes=routes("s3cret", accept, accept, nothing)), raise_server_exceptions=False)

    assert client.get("/gateway/7000/in?key=s3cret&from=1&text=ok").status_code == 500


def test_unreadable_is_set_aside_and_answered(kept: Kept, client: TestClient) -> None:
    """Else the gateway would deliver it for hours; it would not read better the next time."""
    answer = client.get("/gateway/7000/in?key=s3cret&id=a1&from=1&coding=1&text=%00%01")

    assert (answer.status_code, answer.content) == (200, b"")
    assert kept.aside == [("7000", "GET /gateway/7000/in?id=a1&from=1&coding=1&text=%00%01", "coding 1, charset UTF-8")]
    assert kept.texts == []


@pytest.mark.parametrize("key", ["", "key=", "key=s3cre", "key=s3cret2", "key=%FF", "key=wrong&key=s3cret"])
@pytest.mark.parametrize("path", ["in", "report"])
def test_nothing_is_read_without_the_key(kept: Kept, client: TestClient, path: str, key: str) -> None:
    answer = client.get(f"/gateway/7000/{path}?{key}&id=1&status=1&from=1&text=ok")

    assert answer.status_code == 403
    assert kept == Kept()


def test_gateway_without_a_key_is_not_opened(kept: Kept) -> None:
    with pytest.raises(ValueError, match="CUTDAY_GATEWAY_KEY"):
        routes("", kept.accept, kept.report, kept.set_aside)


def test_report_is_kept(kept: Kept, client: TestClient) -> None:
    answer = client.get("/gateway/7000/report?key=s3cret&id=42&status=1&answer=")

    assert (answer.status_code, answer.content) == (200, b"")
    assert kept.reports == [DeliveryReport(42, "delivered", "")]


def test_stray_report_is_set_aside(kept: Kept, client: TestClient) -> None:
    assert client.get("/gateway/7000/report?key=s3cret&status=1").status_code == 200
    assert len(kept.aside) == 1
