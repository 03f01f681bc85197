"""Texts and reports as they stand in the gateway's calls, and what each of its answers means for a text sent."""

from collections.abc import Callable
from datetime import UTC, datetime
from http.server import BaseHTTPRequestHandler, HTTPServer
from threading import Thread
from urllib.parse import quote

import httpx2
import pytest

from service.channels.channel import InboundText, OutboundText, Rejected, TryLater
from service.channels.http_gateway import HttpGateway, Unreadable, delivery_report, inbound, parameters

# As Kannel 1.4.5 called an application here; the second is the UTF-16BE of "वर्षा 12 {" percent-coded byte by byte.
SEVEN_BIT = (
    b"id=3f0c&from=%2B15550001&to=7000&coding=0&charset=UTF-8&ts=1768023000&text=rain+12+%7B%E2%82%AC%7D+%26+%C3%A9"
)
UCS2 = (
    b"id=3f0d&from=%2B15550001&to=7000&coding=2&charset=UTF-16BE&ts=1768023000&"
    b"text=%09%35%090%09M%097%09%3E%00+%001%002%00+%00%7B"
)


def read(query: bytes) -> InboundText:
    return inbound("7000", parameters(query), query.decode())


def test_text_in_seven_bit() -> None:
    """1768023000 is 2026-01-10 05:30:00 UTC (`date -u -d @1768023000`)."""
    assert read(SEVEN_BIT) == InboundText(
        line="7000",
        message_id="3f0c",
        sender="+15550001",
        text="rain 12 {€} & é",
        sent_at=datetime(2026, 1, 10, 5, 30, tzinfo=UTC),
        raw=SEVEN_BIT.decode(),
    )


def test_text_in_ucs2() -> None:
    """Coding 2 comes as UTF-16BE bytes, which only the raw query keeps."""
    assert read(UCS2).text == "वर्षा 12 {"


def test_charset_follows_from_the_coding_where_it_is_not_given() -> None:
    assert read(UCS2.replace(b"charset=UTF-16BE&", b"")).text == "वर्षा 12 {"


def test_gateway_that_recodes_says_so() -> None:
    query = f"from=1&coding=2&charset=UTF-8&text={quote('वर्षा')}"

    assert read(query.encode()).text == "वर्षा"


def test_empty_text_is_a_text() -> None:
    assert read(b"id=1&from=%2B15550001&text=").text == ""


def test_half_an_emoji_does_not_cost_the_rest() -> None:
    """A surrogate pair may be cut between two parts."""
    assert read(b"from=1&coding=2&text=%00O%00K%D8%3D").text == "OK\ufffd"


def test_what_may_be_missing() -> None:
    """The gateway's id, and a time that makes sense."""
    text = read(b"from=1&ts=soon&text=ok")

    assert (text.message_id, text.sent_at) == (None, None)
    assert read(b"from=1&ts=99999999999999999999&text=ok").sent_at is None


@pytest.mark.parametrize(
    "query",
    [
        b"",
        b"text=rain+12",
        b"from=+&text=rain+12",
        b"from=1",
        b"from=1&text=%FF%FE",
        b"from=1&coding=2&text=%09",
        b"from=1&coding=1&text=%00%01",
        b"from=1&coding=0&charset=KOI8-R&text=a",
        b"from=%FF&text=a",
        b"from=" + 65 * b"1" + b"&text=a",
        b"from=1&text=a&id=" + 129 * b"a",
    ],
)
def test_unreadable_text(query: bytes) -> None:
    with pytest.raises(Unreadable):
        read(query)


@pytest.mark.parametrize(
    ("status", "state"),
    [(1, "delivered"), (2, "failed"), (4, "handed"), (8, "handed"), (16, "failed"), (34, "failed"), (32, "failed")],
)
def test_report(status: int, state: str) -> None:
    """1 delivered, 2 failed, 4 queued, 8 taken, 16 refused (Kannel's user guide); 34 = an expired one, as measured."""
    report = delivery_report(parameters(f"id=42&status={status}&answer=".encode()))

    assert (report.outbox_id, report.state) == (42, state)


def test_report_keeps_the_reason_of_a_failure() -> None:
    report = delivery_report(parameters(b"id=42&status=16&answer=NACK%2F0x000000c3%2FExpected+TLV+missing"))

    assert report.reason == "16 NACK/0x000000c3/Expected TLV missing"


@pytest.mark.parametrize(
    "query", [b"", b"id=42", b"id=&status=1", b"id=x&status=1", b"id=-1&status=1", b"id=1&status=0"]
)
def test_unreadable_report(query: bytes) -> None:
    with pytest.raises(Unreadable):
        delivery_report(parameters(query))


TEXT = OutboundText(42, "+15550002", "+15557000", "Kept: 12 mm", "gsm7")


def gateway(answer: Callable[[httpx2.Request], httpx2.Response]) -> HttpGateway:
    return HttpGateway(
        "http://127.0.0.1:13013/cgi-bin/sendsms",
        "cutday",
        "secret",
        "http://127.0.0.1:8000/gateway/{line}/report?key=k%25",
        transport=httpx2.MockTransport(answer),
    )


def sent(text: OutboundText) -> httpx2.Request:
    requests: list[httpx2.Request] = []

    def answer(request: httpx2.Request) -> httpx2.Response:
        requests.append(request)
        return httpx2.Response(202, text="0: Accepted for delivery")

    gateway(answer).send(text)
    return requests[0]


def test_text_in_the_gsm_alphabet() -> None:
    request = sent(TEXT)

    assert request.content == b"Kept: 12 mm"
    assert request.headers["X-Kannel-Coding"] == "0"
    assert request.url == "http://127.0.0.1:13013/cgi-bin/sendsms"  # neither password nor text in an address


def test_text_outside_the_alphabet_says_so() -> None:
    """Without coding 2 and its charset Kannel sends "?" for each such character, without an error."""
    request = sent(OutboundText(43, "+15550002", "7000", "रखा: 12 mm", "ucs2"))

    assert request.content.decode() == "रखा: 12 mm"
    assert request.headers["X-Kannel-Coding"] == "2"
    assert request.headers["Content-Type"] == "text/plain; charset=UTF-8"


def test_reports_are_asked_for_with_our_own_id() -> None:
    """The gateway gives no id back. A per cent sign of the address is doubled: Kannel fills in %d and %A itself."""
    headers = sent(TEXT).headers

    assert headers["X-Kannel-DLR-Mask"] == "31"
    assert headers["X-Kannel-DLR-Url"] == (
        "http://127.0.0.1:8000/gateway/%%2B15557000/report?key=k%%25&id=42&status=%d&answer=%A"
    )


def test_registered_ids_go_as_optional_parameters_of_smpp() -> None:
    """Kannel's user guide, `meta-data`: ?group?name=value&name=value, each part percent-coded."""
    registered = OutboundText(44, "+15550002", "7000", "ok", "gsm7", "1101 23", "110&7")

    assert sent(registered).headers["X-Kannel-Meta-Data"] == "?smpp?entity_id=1101+23&template_id=110%267"
    assert "X-Kannel-Meta-Data" not in sent(TEXT).headers


def test_ids_on_the_wire() -> None:
    """As another process reads the request: the header as it stands, under the names that the operator has set."""
    seen: list[tuple[str | None, bytes]] = []

    class Sendsms(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            body = self.rfile.read(int(self.headers["Content-Length"]))
            seen.append((self.headers["X-Kannel-Meta-Data"], body))
            self.send_response(202)
            self.send_header("Content-Length", "0")
            self.end_headers()

        def log_message(self, format: str, *args: object) -> None: ...

    with HTTPServer(("127.0.0.1", 0), Sendsms) as server:
        serving = Thread(target=server.handle_request)
        serving.start()
        url = f"http://127.0.0.1:{server.server_port}/cgi-bin/sendsms"
        channel = HttpGateway(url, "cutday", "secret", "http://127.0.0.1:8000/r", "pe", "tid")
        channel.send(OutboundText(45, "+15550002", "7000", "रखा", "ucs2", "1101234567890123456", "1107"))
        channel.close()
        serving.join()

    assert seen == [("?smpp?pe=1101234567890123456&tid=1107", "रखा".encode())]


def test_one_id_alone() -> None:
    registered = OutboundText(44, "+15550002", "7000", "ok", "gsm7", template_id="1107")

    assert sent(registered).headers["X-Kannel-Meta-Data"] == "?smpp?template_id=1107"


@pytest.mark.parametrize(
    ("status", "error"),
    [(503, TryLater), (500, TryLater), (403, TryLater), (404, TryLater), (400, Rejected), (413, Rejected)],
)
def test_what_a_refusal_means(status: int, error: type[Exception]) -> None:
    """A wrong password or address is the set-up's fault: no text is given up for it."""
    with pytest.raises(error, match=str(status)):
        gateway(lambda request: httpx2.Response(status, text="no")).send(TEXT)


@pytest.mark.parametrize(
    ("failure", "may_have_gone"),
    [
        (httpx2.ConnectError, False),
        (httpx2.ConnectTimeout, False),
        (httpx2.PoolTimeout, False),
        (httpx2.ReadTimeout, True),
        (httpx2.WriteTimeout, True),
        (httpx2.RemoteProtocolError, True),
        (httpx2.ReadError, True),
    ],
)
def test_whether_it_may_have_gone(failure: type[httpx2.TransportError], may_have_gone: bool) -> None:
    """Once the request may have left, the text may have been sent, whatever came back."""

    def broken(request: httpx2.Request) -> httpx2.Response:
        raise failure("broken")

    with pytest.raises(TryLater) as raised:
        gateway(broken).send(TEXT)
    assert raised.value.may_have_gone == may_have_gone
