"""`cutday serve`: web, sender and scheduler in one process. `cutday work`: sender and scheduler alone."""

from __future__ import annotations

import logging
import signal
import socket
import threading
from collections.abc import Mapping

from pydantic import ValidationError

from dialogs.language import Language, load_languages
from service.app import Running, assemble, web
from service.channels.channel import Channel
from service.channels.console import Console
from service.clock import SystemClock
from service.commands.opening import alone, opened
from service.settings import ServiceSettings

STOP_WITHIN = 20  # seconds


def run(host: str | None, port: int | None, database_url: str | None) -> int:
    """Serve until stopped."""
    import uvicorn

    settings = read_settings()
    host, port = host or settings.host, settings.port if port is None else port
    key = settings.gateway_key.get_secret_value()
    if settings.gateway_url and not key:
        raise SystemExit("a gateway needs a key: set CUTDAY_GATEWAY_KEY")
    database = opened(database_url or settings.database)
    with alone(database), _listening(host, port) as listening:
        _log()
        at = f"http://{host}:{listening.getsockname()[1]}"
        running = Running(assemble(database, SystemClock(), channels(settings, at), _languages()))
        config = uvicorn.Config(
            web(running, key), access_log=False, log_config=None, server_header=False, limit_concurrency=1000,
            timeout_graceful_shutdown=STOP_WITHIN,
        )  # fmt: skip
        print(f"Cutday serves on {at}", flush=True)
        uvicorn.Server(config).run(sockets=[listening])
    database.close()
    return 0


def work(database_url: str | None) -> int:
    """Send and remind until stopped."""
    settings = read_settings()
    database = opened(database_url or settings.database)
    stop = threading.Event()
    for asked in (signal.SIGINT, signal.SIGTERM):
        signal.signal(asked, lambda *_: stop.set())
    with alone(database):
        _log()
        at = f"http://{settings.host}:{settings.port}"
        running = Running(assemble(database, SystemClock(), channels(settings, at), _languages()))
        running.start()
        print("Cutday works", flush=True)
        stop.wait()
        running.stop()
    database.close()
    return 0


def _languages() -> Mapping[str, Language]:
    """All languages with their words made ready: the first grower of a language does not wait for that."""
    languages = load_languages()
    for tag, language in languages.items():
        _ = language.lexicon
        language.lexicons.spelt(tag)
    return languages


def read_settings() -> ServiceSettings:
    """The settings; SystemExit with one line where one of them is none."""
    try:
        return ServiceSettings()
    except ValidationError as error:
        wrong = "; ".join(f"CUTDAY_{'_'.join(map(str, one['loc'])).upper()}: {one['msg']}" for one in error.errors())
        raise SystemExit(wrong) from None


class channels:
    """The channel of a line: the gateway that is set, else the terminal."""

    def __init__(self, settings: ServiceSettings, at: str) -> None:
        self.channel: Channel
        if settings.gateway_url is None:
            self.channel = Console()
            return
        from service.channels.http_gateway import HttpGateway

        key = settings.gateway_key.get_secret_value()
        self.channel = HttpGateway(
            settings.gateway_url, settings.gateway_user, settings.gateway_password.get_secret_value(),
            f"{settings.public_url or at}/gateway/{{line}}/report?key={key}", settings.gateway_sender_parameter,
            settings.gateway_template_parameter,
        )  # fmt: skip

    def __call__(self, line: str) -> Channel:
        return self.channel


def _listening(host: str, port: int) -> socket.socket:
    listening = socket.socket(socket.AF_INET6 if ":" in host else socket.AF_INET)
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind((host, port))
    except (OSError, OverflowError) as error:
        raise SystemExit(
            f"port {port} of {host} cannot be had ({error}): set CUTDAY_PORT or stop what uses it"
        ) from None
    listening.listen(2048)
    return listening


def _log() -> None:
    logging.basicConfig(level=logging.INFO, format="%(asctime)s %(levelname)s %(name)s %(message)s")
    for chatty in ("apscheduler", "httpx", "httpx2", "httpcore2", "uvicorn.error"):
        logging.getLogger(chatty).setLevel(logging.WARNING)
