"""The commands as an operator starts them: real processes, loopback only."""

import json
import os
import signal
import socket
import sqlite3
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path
from urllib.parse import quote

import pytest

KEY = "k3y"
NUMBER = "+919000000001"


class Place:
    """A folder with a database, and the environment that points to it."""

    def __init__(self, folder: Path) -> None:
        self.file = folder / "a place" / "cutday.db"
        with closing(socket.socket()) as one:
            one.bind(("127.0.0.1", 0))
            self.port = one.getsockname()[1]
        self.environment = {name: value for name, value in os.environ.items() if not name.startswith("CUTDAY_")} | {
            "CUTDAY_DATABASE": f"sqlite:///{self.file}",
            "CUTDAY_PORT": str(self.port),
            "CUTDAY_GATEWAY_KEY": KEY,
            "LC_ALL": "C",
        }
        self.started: list[subprocess.Popen[bytes]] = []

    def run(self, *arguments: str, given: str = "") -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [sys.executable, "-m", "service", *arguments], env=self.environment, input=given, capture_output=True,
            text=True, encoding="utf-8", timeout=60,
        )  # fmt: skip

    def ready(self) -> None:
        for command in ("migrate", "cooperative"):
            done = self.run(command)
            assert done.returncode == 0, done.stderr

    def serve(self) -> subprocess.Popen[bytes]:
        with (self.file.parent / "log").open("ab") as log:
            process = subprocess.Popen(
                [sys.executable, "-m", "service", "serve"], env=self.environment, stdout=log, stderr=log
            )
        self.started.append(process)
        until(lambda: self.healthy() or process.poll() is not None)
        assert process.poll() is None, (self.file.parent / "log").read_text()
        return process

    def healthy(self) -> bool:
        try:
            return self.get("/health")[0] == 200
        except OSError:
            return False

    def get(self, path: str) -> tuple[int, bytes]:
        try:
            with urllib.request.urlopen(f"http://127.0.0.1:{self.port}{path}", timeout=10) as answer:
                return answer.status, answer.read()
        except urllib.error.HTTPError as error:
            return error.code, error.read()

    def texts(self, text: str, id_: str) -> tuple[int, bytes]:
        return self.get(f"/gateway/main/in?key={KEY}&id={id_}&from={quote(NUMBER)}&text={quote(text)}")

    def rows(self, query: str) -> list[tuple[object, ...]]:
        with closing(sqlite3.connect(self.file)) as database:
            return database.execute(query).fetchall()


def until(true: Callable[[], bool]) -> None:
    end = time.monotonic() + 90
    while not true():
        assert time.monotonic() < end, "not within 90 seconds"
        time.sleep(0.05)


@pytest.fixture
def place(tmp_path: Path) -> Iterator[Place]:
    place = Place(tmp_path)
    yield place
    for process in place.started:
        if process.poll() is None:
            process.kill()
        process.wait()


def complaint(done: subprocess.CompletedProcess[str]) -> str:
    """What a command that will not start says: one line."""
    assert done.returncode != 0
    assert done.stderr.count("\n") == 1, done.stderr
    return done.stderr


def test_text_through_the_gateway_s_door_is_answered(place: Place) -> None:
    """Served from a path with a space in a C locale; once for three deliveries; stopped in order."""
    place.ready()
    process = place.serve()

    assert [place.texts("join", "a1") for _ in range(3)] == [(200, b"")] * 3

    until(lambda: place.rows("SELECT state FROM outbox") == [("handed",)])
    assert place.rows("SELECT text, state FROM texts_in") == [("join", "handled")]
    process.send_signal(signal.SIGTERM)
    assert process.wait(20) in (0, -signal.SIGTERM)
    assert f"{NUMBER} < " in (place.file.parent / "log").read_text(encoding="utf-8")


def test_a_phone_beside_a_running_serve(place: Place) -> None:
    place.ready()
    place.serve()

    done = place.run("phone", "--number", NUMBER, given="join\nyes\n")

    assert done.returncode == 0, done.stderr
    assert len([line for line in done.stdout.splitlines() if line.startswith("< ")]) == 2


def test_a_phone_alone_at_a_time_of_its_own(place: Place) -> None:
    place.ready()

    done = place.run("phone", "--number", NUMBER, "--at", "2026-10-23T18:40", given="join\n")

    assert done.stdout.startswith("< ")
    assert place.rows("SELECT received_at FROM texts_in") == [("2026-10-23 13:10:00.000000",)]  # 5:30 h ahead of UTC


@pytest.mark.parametrize("second", ["serve", "work"])
def test_two_processes_on_one_file_are_refused(place: Place, second: str) -> None:
    place.ready()
    place.serve()

    assert "one is enough" in complaint(place.run(second))


def test_busy_port(place: Place) -> None:
    place.ready()
    with closing(socket.socket()) as other:
        other.bind(("127.0.0.1", place.port))
        other.listen()

        assert f"port {place.port}" in complaint(place.run("serve"))


def test_no_database(place: Place) -> None:
    assert "cutday migrate" in complaint(place.run("serve"))
    assert not place.file.exists()


def test_database_of_another_release(place: Place) -> None:
    place.ready()
    with closing(sqlite3.connect(place.file)) as database:
        database.execute("UPDATE alembic_version SET version_num = '0000'")
        database.commit()

    assert "cutday migrate" in complaint(place.run("serve"))


def test_wrong_setting_is_named(place: Place) -> None:
    place.environment["CUTDAY_PORT"] = "many"

    assert "CUTDAY_PORT" in complaint(place.run("serve"))


def test_gateway_without_a_key(place: Place) -> None:
    place.ready()
    place.environment |= {"CUTDAY_GATEWAY_KEY": "", "CUTDAY_GATEWAY_URL": "http://127.0.0.1:1/"}

    assert "CUTDAY_GATEWAY_KEY" in complaint(place.run("serve"))


def test_cooperative_is_registered_once(place: Place) -> None:
    place.ready()

    assert "is there already" in complaint(place.run("cooperative"))


def test_replay_speaks_utf8_in_any_locale(place: Place) -> None:
    line = json.dumps({"at": "2026-10-23T18:40", "from": NUMBER, "text": "जुड़ना है"}, ensure_ascii=False)

    done = place.run("replay", given=line)

    assert (done.returncode, done.stderr) == (0, "")
    assert json.loads(done.stdout)["to"] == NUMBER
