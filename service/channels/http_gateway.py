"""Texts through Kannel's HTTP interface, both directions.

Out: its `sendsms`, by POST. In: its `sms-service` group calls us with
`?key=…&id=%I&from=%q&to=%Q&coding=%c&charset=%C&ts=%T&text=%b`, and each text sent carries the address for its delivery
reports. Names and numbers are those of Kannel's user guide, 1.4.5.
"""

from datetime import UTC, datetime
from urllib.parse import quote, unquote_to_bytes, urlencode

import httpx2

from service.channels.channel import DeliveryReport, InboundText, OutboundText, Rejected, TryLater

ALL_REPORTS = 31  # dlr-mask: delivered 1, failed 2, queued 4, taken by the network 8, refused by it 16
DELIVERED, FAILED, REFUSED, EXPIRED = 1, 2, 16, 32  # an expired text came as 34

# Seconds. Connecting is to our own machine or the next one; an answer comes once the text is on the gateway's disk.
TIMEOUT = httpx2.Timeout(connect=3, read=15, write=5, pool=5)
CONNECTIONS = 20  # at once; 10 carried 1,550 texts a second


LONGEST_SENDER, LONGEST_ID = 64, 128  # characters; a number has 15 digits, Kannel's id 36 characters


class Unreadable(Exception):
    """A request of the gateway that cannot be understood, and why."""


class HttpGateway:
    """Kannel's sendsms at `url`.

    report_url: our own address for delivery reports, `http://…/gateway/{line}/report?key=…`, with {line} for the line
    sender_parameter, template_parameter: the names that the gateway's `smpp-tlv` groups give to the optional parameters
        of SMPP that carry registered ids; which tag a name stands for is set there, for each network
    """

    def __init__(
        self,
        url: str,
        user: str,
        password: str,
        report_url: str,
        sender_parameter: str = "entity_id",
        template_parameter: str = "template_id",
        transport: httpx2.BaseTransport | None = None,
    ) -> None:
        self.url = url
        self.user = user
        self.password = password
        self.report_url = report_url
        self.sender_parameter = sender_parameter
        self.template_parameter = template_parameter
        self.client = httpx2.Client(
            timeout=TIMEOUT,
            # None is kept open: one that the gateway has closed meanwhile looks like a text that may have gone.
            limits=httpx2.Limits(max_connections=CONNECTIONS, max_keepalive_connections=0),
            trust_env=False,
            follow_redirects=False,
            transport=transport,
        )

    def send(self, text: OutboundText) -> None:
        """Raises TryLater where the gateway is down, busy or shuts us out; Rejected where it refuses this text."""
        # In headers and body, not in the address: addresses are logged on the way, with password and text.
        try:
            answer = self.client.post(self.url, content=text.text.encode(), headers=self.headers(text))
        except (httpx2.ConnectError, httpx2.ConnectTimeout, httpx2.PoolTimeout) as error:
            raise TryLater(f"gateway not reached: {type(error).__name__}") from error
        except httpx2.TransportError as error:
            raise TryLater(f"no answer: {type(error).__name__}", may_have_gone=True) from error
        if answer.status_code in (200, 202):
            return
        reason = f"{answer.status_code} {answer.text.strip()[:200]}"
        if answer.status_code in (401, 403, 404) or answer.status_code >= 500:
            raise TryLater(reason)  # shut out or wrongly addressed: the set-up is at fault, not the text
        raise Rejected(reason)

    def headers(self, text: OutboundText) -> dict[str, str]:
        report = self.report_url.replace("{line}", quote(text.sender_line, safe="")).replace("%", "%%")
        joint = "&" if "?" in report else "?"
        given = {self.sender_parameter: text.sender_id, self.template_parameter: text.template_id}
        ids = urlencode({name: id_ for name, id_ in given.items() if id_})
        return {
            "Content-Type": "text/plain; charset=UTF-8",
            "X-Kannel-Username": self.user,
            "X-Kannel-Password": self.password,
            "X-Kannel-From": text.sender_line,
            "X-Kannel-To": text.to,
            # Without coding 2 each character outside the GSM alphabet arrives as "?".
            "X-Kannel-Coding": "2" if text.encoding == "ucs2" else "0",
            "X-Kannel-DLR-Mask": str(ALL_REPORTS),
            "X-Kannel-DLR-Url": f"{report}{joint}id={text.id}&status=%d&answer=%A",
            **({"X-Kannel-Meta-Data": f"?smpp?{ids}"} if ids else {}),
        }

    def close(self) -> None:
        self.client.close()


def parameters(query: bytes) -> dict[str, bytes]:
    """The parameters of a raw query as bytes: a text in UTF-16 does not survive a decoded one.

    The first of a name counts.
    """
    found: dict[str, bytes] = {}
    for pair in query.split(b"&"):
        name, _, value = pair.partition(b"=")
        found.setdefault(unquote_to_bytes(name).decode("latin-1"), unquote_to_bytes(value.replace(b"+", b" ")))
    return found


def inbound(line: str, given: dict[str, bytes], raw: str) -> InboundText:
    """The text in a call of the gateway; raises Unreadable."""
    sender, message_id = _plain(given, "from").strip(), _plain(given, "id").strip()
    if not sender:
        raise Unreadable("no sender")
    if len(sender) > LONGEST_SENDER or len(message_id) > LONGEST_ID:
        raise Unreadable(f"too long: sender {len(sender)}, id {len(message_id)} characters")
    if "text" not in given:
        raise Unreadable("no text")
    return InboundText(
        line=line,
        message_id=message_id or None,
        sender=sender,
        text=_text(given),
        sent_at=_sent_at(_plain(given, "ts")),
        raw=raw,
    )


def delivery_report(given: dict[str, bytes]) -> DeliveryReport:
    """The report in a call of the gateway; raises Unreadable."""
    try:
        outbox_id, status = int(_plain(given, "id")), int(_plain(given, "status"))
    except ValueError as error:
        raise Unreadable(f"no report: {error}") from error
    if not 0 < outbox_id < 2**63 or not 0 < status < 64:
        raise Unreadable(f"no report: id {outbox_id}, status {status}")
    if status & (FAILED | REFUSED | EXPIRED):
        reason = given.get("answer", b"").decode("utf-8", "replace").strip()
        return DeliveryReport(outbox_id, "failed", f"{status} {reason}".strip())
    return DeliveryReport(outbox_id, "delivered" if status & DELIVERED else "handed", "")


def _plain(given: dict[str, bytes], name: str) -> str:
    try:
        return given.get(name, b"").decode("utf-8").replace("\0", "")
    except UnicodeDecodeError as error:
        raise Unreadable(f"{name}: {error}") from error


def _text(given: dict[str, bytes]) -> str:
    """Coding 0 comes as UTF-8, coding 2 as UTF-16BE, unless the gateway recodes and says so by its charset.

    Half an emoji, cut off between two parts, is no reason to leave the rest unanswered. NUL is dropped: no database
    keeps it everywhere.
    """
    coding = _plain(given, "coding") or "0"
    charset = _plain(given, "charset").upper() or ("UTF-16BE" if coding == "2" else "UTF-8")
    if coding not in ("0", "2") or charset not in ("UTF-8", "UTF-16BE"):
        raise Unreadable(f"coding {coding}, charset {charset}")
    halves_allowed = charset == "UTF-16BE" and len(given["text"]) % 2 == 0
    try:
        return given["text"].decode(charset, "replace" if halves_allowed else "strict").replace("\0", "")
    except UnicodeDecodeError as error:
        raise Unreadable(f"text: {error}") from error


def _sent_at(epoch: str) -> datetime | None:
    try:
        return datetime.fromtimestamp(int(epoch), UTC)
    except (ValueError, OverflowError, OSError):
        return None
