"""The metronome goes on whatever happens to it, and the web side answers by what is committed."""

import threading
from datetime import timedelta

import pytest
from starlette.testclient import TestClient

from service import scheduler
from service.app import Running, web
from service.scheduler import SteadyScheduler
from service.store import schema
from tests.service.test_commands import until
from tests.service.test_inbox import FailingCommits
from tests.service.world import World


def test_metronome_outlives_an_error_of_its_own(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    """APScheduler 3.11 alone never runs anything again after one error while it wakes up."""
    steady = SteadyScheduler(world.clock)
    ran = threading.Event()
    broken = iter([True])
    process = steady._process_jobs

    def once_broken() -> float:
        if next(broken, False):
            raise RuntimeError("boom")
        return float(process() or 0)

    monkeypatch.setattr(steady, "_process_jobs", once_broken)
    steady.add_job(ran.set, "interval", seconds=0.05)
    steady.start()

    assert ran.wait(10)
    steady.shutdown()


def test_metronome_goes_on_when_the_clock_steps_back(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    """A wall clock put back by an hour: the next look is now, not in an hour."""
    monkeypatch.setattr(scheduler, "LONGEST_SLEEP", 0.05)
    steady = SteadyScheduler(world.clock)
    ran = threading.Event()
    steady.add_job(ran.set, "interval", hours=1, misfire_grace_time=None)
    stepped = iter([0.0, 0.0])
    monkeypatch.setattr(steady, "_offset", lambda: next(stepped, -3600.0))
    steady.start()

    assert ran.wait(10)
    steady.shutdown()


def test_answer_to_the_gateway_waits_for_the_commit(world: World) -> None:
    """Each n-th commit failing: no 200 without its row; delivered again, every text is there and answered once."""
    world.block(world.grower())
    running = Running(world.service)
    commits = FailingCommits(world.database)
    with TestClient(web(running, "k"), raise_server_exceptions=False) as client:
        for number in range(6):
            url = f"/gateway/7000/in?key=k&id=t{number}&from=%2B919000000001&text=rain+{number}"
            commits.in_force = number % 2 == 1
            first = client.get(url).status_code
            commits.in_force = False
            assert first == (503 if number % 2 else 200)
            assert client.get(url).status_code == 200
        assert client.get("/gateway/7001/in?key=k&id=x&from=%2B919000000001&text=rain").status_code == 503
        assert client.get("/gateway/7000/in?key=k&id=y&text=rain").status_code == 200
        assert client.get("/health").json() == {"status": "ok"}

    assert [text.text for text in world.rows(schema.texts_in)] == [f"rain {number}" for number in range(6)]
    assert len(world.rows(schema.outbox)) == 6
    assert [matter.kind for matter in world.rows(schema.matters)] == ["unreadable"]


def test_health_says_when_no_tick_ends_well(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    with TestClient(web(Running(world.service), "")) as client:
        assert client.get("/health").status_code == 200
        monkeypatch.setattr(scheduler, "OVERDUE", -1)
        assert client.get("/health").status_code == 503


def test_no_texts_without_a_key(world: World) -> None:
    with TestClient(web(Running(world.service), "")) as client:
        assert client.get("/gateway/7000/in?key=&id=x&from=%2B919000000001&text=rain").status_code == 404


def test_texts_that_came_while_the_database_was_away_are_sent_after_it(world: World) -> None:
    """The sender and the tick outlive a database that fails for a while."""
    world.block(world.grower())
    world.service.inbox.receive(world.inbound("rain 12"))
    commits = FailingCommits(world.database)
    running = Running(world.service)
    commits.in_force = True
    running.sender.start()
    running.sender.wake()
    until(lambda: not running.sender._wanted.is_set())
    commits.in_force = False
    world.clock.move(world.clock.now() + timedelta(minutes=2))

    running.sender.wake()
    until(lambda: world.rows(schema.outbox)[0].state == "handed")
    running.sender.stop()

    assert [row.state for row in world.rows(schema.outbox)] == ["handed"]
