"""A real gateway, Kannel, between our application and a pretend phone network; all on loopback, all on free ports.

handset <-> PhoneNetwork <-> bearerbox <-> smsbox <-> Relay <-> the application
"""

import shutil
import socket
import subprocess
import threading
import urllib.error
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from string import Template
from time import monotonic
from urllib.parse import unquote_to_bytes

HERE = Path(__file__).parent
LOOPBACK = urllib.request.build_opener(urllib.request.ProxyHandler({}))  # whatever proxy the environment names
PATIENCE = 60  # seconds for another process to do its part

BOXES = {box: shutil.which(box, path="/usr/sbin:/usr/bin:/usr/local/sbin") for box in ("bearerbox", "smsbox")}
MISSING = None if all(BOXES.values()) else "Kannel is not installed (Debian package kannel: no /usr/sbin/bearerbox)"


def until(holds: Callable[[], object], what: str) -> None:
    """Wait for something that happens in another process."""
    deadline = monotonic() + PATIENCE
    pause = threading.Event()
    while not holds():
        assert monotonic() < deadline, f"not within {PATIENCE} s: {what}"
        pause.wait(0.02)


def free_port() -> int:
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        port: int = one.getsockname()[1]
        return port


def fetched(url: str) -> str:
    """The answer's text; empty where there is none yet."""
    try:
        with LOOPBACK.open(url, timeout=5) as answer:
            text: str = answer.read().decode()
            return text
    except (OSError, urllib.error.URLError):
        return ""


@dataclass
class PhoneNetwork:
    """The far side of Kannel's SMSC of type "fake": one connection, one message a line.

    to Kannel     SENDER RECEIVER text WORDS
    from Kannel   SENDER RECEIVER text WORDS | ucs-2 BODY | udh HEADER data BODY     HEADER and BODY percent-coded

    It cannot mark a text to Kannel as UCS-2: Hindi goes in as UTF-8 and arrives with coding 0. (Seen in Kannel 1.4.5.)
    """

    port: int
    got: list[tuple[str, str]] = field(default_factory=list)  # (number, text), long texts put together
    parts: dict[tuple[str, int], dict[int, bytes]] = field(default_factory=dict)
    link: socket.socket | None = None

    def connect(self) -> bool:
        try:
            self.link = socket.create_connection(("127.0.0.1", self.port), 2)
        except OSError:
            return False
        self.link.settimeout(None)
        threading.Thread(target=self.listen, args=(self.link.makefile("rb"),), daemon=True).start()
        return True

    def close(self) -> None:
        if self.link:
            self.link.shutdown(socket.SHUT_RDWR)
            self.link.close()

    def text(self, sender: str, receiver: str, words: str) -> None:
        """A handset sends a text."""
        assert self.link
        self.link.sendall(f"{sender} {receiver} text {words}\n".encode())

    def received(self, number: str) -> list[str]:
        return [text for receiver, text in list(self.got) if receiver == number]

    def listen(self, lines: Iterator[bytes]) -> None:
        for line in lines:
            _, receiver, kind, body = line.rstrip(b"\n").split(b" ", 3)
            number = receiver.decode()
            if kind == b"udh":
                header, _, data = body.split(b" ", 2)
                self.part(number, decoded(header), decoded(data))
            else:
                self.got.append((number, decoded(body).decode("utf-16-be") if kind == b"ucs-2" else body.decode()))

    def part(self, number: str, header: bytes, data: bytes) -> None:
        """Parts of a long text as a handset joins them; header: 05 00 03 reference parts part (TS 23.040)."""
        reference, of, position = header[3:6]
        parts = self.parts.setdefault((number, reference), {})
        parts[position] = data
        if len(parts) == of:
            whole = b"".join(parts[one] for one in sorted(parts))
            # The link does not say which coding a part has; only UTF-16 holds bytes below a space here.
            self.got.append((number, whole.decode("utf-16-be" if min(whole) < 32 else "utf-8")))


def decoded(body: bytes) -> bytes:
    return unquote_to_bytes(body.replace(b"+", b" "))


class Relay:
    """Hands the gateway's calls on to the application, and can lose an answer, so that the gateway calls again."""

    def __init__(self) -> None:
        relay = self

        class Handler(BaseHTTPRequestHandler):
            def do_GET(self) -> None:
                relay.hand_on(self)

            def log_message(self, format: str, *args: object) -> None: ...

        self.server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
        self.port = self.server.server_port
        self.application = 0  # its port
        self.lose = 0  # answers to texts still to be lost; a late delivery report of the text before takes none
        self.calls: list[tuple[str, int]] = []  # (path and query, what the application answered)
        threading.Thread(target=self.server.serve_forever, daemon=True).start()

    def hand_on(self, call: BaseHTTPRequestHandler) -> None:
        try:
            with LOOPBACK.open(f"http://127.0.0.1:{self.application}{call.path}", timeout=20) as answer:
                status, body = answer.status, answer.read()
        except urllib.error.HTTPError as error:
            status, body = error.code, b""
            error.close()
        except OSError:
            status, body = 502, b""
        self.calls.append((call.path, status))
        if self.lose and status == 200 and "/in?" in call.path:
            self.lose -= 1
            status, body = 502, b""
        call.send_response(status)
        call.send_header("Content-Type", "text/plain")
        call.send_header("Content-Length", str(len(body)))
        call.end_headers()
        call.wfile.write(body)

    def close(self) -> None:
        self.server.shutdown()
        self.server.server_close()


@dataclass
class Kannel:
    """A running gateway: where to send texts, the network behind it, and the relay through which it calls us."""

    sendsms_url: str
    network: PhoneNetwork
    relay: Relay
    user: str = "cutday"
    password: str = "test-password"


@contextmanager
def running(folder: Path, line: str, key: str) -> Iterator[Kannel]:
    """Kannel with its queues and logs in `folder`, handing texts in on `line` with our `key`."""
    for queue in ("store", "dlr"):
        (folder / queue).mkdir()
    relay = Relay()
    ports = {name: free_port() for name in ("admin_port", "box_port", "network_port", "sendsms_port")}
    in_url = f"http://127.0.0.1:{relay.port}/gateway/{line}/in?key={key}"
    conf = folder / "kannel.conf"
    conf.write_text(Template((HERE / "kannel.conf").read_text()).substitute(ports, folder=folder, in_url=in_url))
    network = PhoneNetwork(ports["network_port"])
    boxes: list[subprocess.Popen[bytes]] = []

    def start(box: str, ready: Callable[[], object]) -> None:
        with (folder / f"{box}.out").open("wb") as out:
            boxes.append(subprocess.Popen([str(BOXES[box]), "-v", "4", str(conf)], stdout=out, stderr=out))
        until(lambda: ready() or boxes[-1].poll() is not None, f"{box} ready")
        assert boxes[-1].poll() is None, (folder / f"{box}.out").read_text()[-2000:]

    status = f"http://127.0.0.1:{ports['admin_port']}/status.txt?password=test-status"
    try:
        start("bearerbox", lambda: "Status: " in fetched(status))
        start("smsbox", lambda: "smsbox:box" in fetched(status))
        until(network.connect, "the phone network's link")
        until(lambda: "(online" in fetched(status), "the SMSC on line")
        yield Kannel(f"http://127.0.0.1:{ports['sendsms_port']}/cgi-bin/sendsms", network, relay)
    finally:
        network.close()
        # smsbox first: it starts itself anew when bearerbox goes away before it.
        for box in reversed(boxes):
            box.terminate()
            try:
                box.wait(10)
            except subprocess.TimeoutExpired:
                box.kill()
                box.wait()
        relay.close()
