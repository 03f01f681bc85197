"""What keeps a process going: a metronome that says when to look, and the thread that sends. They decide nothing.

APScheduler is only the metronome, its jobs in memory: what is due stands in our tables, so a tick missed, doubled or
late does no harm.
"""

from __future__ import annotations

import logging
import threading
import time
from collections.abc import Callable
from datetime import UTC

from apscheduler.schedulers.background import BackgroundScheduler
from apscheduler.schedulers.base import STATE_STOPPED

from service.clock import Clock
from service.inbox import Inbox
from service.outbox import Outbox
from service.reminders import Reminders

log = logging.getLogger(__name__)

SEND_EVERY, TICK_EVERY, DAILY_EVERY = 1, 5, 60  # seconds
LONGEST_SLEEP = 5  # seconds
STEPPED_BACK = 2  # seconds
OVERDUE = 60  # seconds without a tick that ended well


class SteadyScheduler(BackgroundScheduler):  # type: ignore[misc]
    """A scheduler that outlives its own errors, and wall clocks that step back.

    APScheduler 3.11 stops for good when one wake-up fails; and, reckoning by the wall clock, runs nothing for an hour
    when that goes back by one. So: errors are logged and the loop goes on, and a step back makes every job due.
    """

    def __init__(self, clock: Clock) -> None:
        super().__init__(timezone=UTC)
        self.clock = clock

    def _offset(self) -> float:
        return self.clock.now().timestamp() - time.monotonic()

    def _main_loop(self) -> None:
        offset = self._offset()
        wait: float = 0
        while self.state != STATE_STOPPED:
            self._event.wait(min(wait, LONGEST_SLEEP))
            self._event.clear()
            try:
                before, offset = offset, self._offset()
                if offset < before - STEPPED_BACK:
                    for job in self.get_jobs():
                        job.modify(next_run_time=self.clock.now())
                wait = self._process_jobs()
            except Exception:
                log.exception("the metronome stumbled; it goes on")
                wait = 1


class Sender:
    """The thread that sends what is due, as soon as it is woken."""

    def __init__(self, outbox: Outbox) -> None:
        self.outbox = outbox
        self._wanted = threading.Event()
        self._stopping = False
        self._thread = threading.Thread(target=self._run, name="sender")

    def start(self) -> None:
        self._thread.start()

    def wake(self) -> None:
        self._wanted.set()

    def stop(self) -> None:
        """Return once the batch in hand is done."""
        self._stopping = True
        self.outbox.stop()
        self.wake()
        self._thread.join()

    def _run(self) -> None:
        while not self._stopping:
            self._wanted.wait()
            self._wanted.clear()
            try:
                self.outbox.send_due()
            except Exception as error:  # the database is away: the metronome wakes us again
                log.error("sending failed: %s", type(error).__name__)


class Metronome:
    """Looks for due work at steady intervals."""

    def __init__(self, clock: Clock, reminders: Reminders, inbox: Inbox, sender: Sender) -> None:
        self.sender = sender
        self.last_tick = time.monotonic()
        self._scheduler = SteadyScheduler(clock)
        self._every(SEND_EVERY, "send", sender.wake)
        self._every(TICK_EVERY, "tick", lambda: self._tick(reminders, inbox))
        self._every(DAILY_EVERY, "daily", reminders.daily)
        self._now = clock.now

    def start(self) -> None:
        self._scheduler.start()
        for job in self._scheduler.get_jobs():
            job.modify(next_run_time=self._now())

    def stop(self) -> None:
        """Return once what is running is done."""
        self._scheduler.shutdown(wait=True)

    @property
    def overdue(self) -> bool:
        """Whether no tick has ended well for a minute."""
        return time.monotonic() - self.last_tick > OVERDUE

    def _tick(self, reminders: Reminders, inbox: Inbox) -> None:
        reminders.tick()
        inbox.try_again()
        self.last_tick = time.monotonic()
        self.sender.wake()

    def _every(self, seconds: int, name: str, work: Callable[[], None]) -> None:
        def guarded() -> None:
            try:
                work()
            except Exception as error:  # the database is away: the next tick looks again
                log.error("%s failed: %s", name, type(error).__name__)

        self._scheduler.add_job(
            guarded, "interval", seconds=seconds, id=name, max_instances=1, coalesce=True, misfire_grace_time=None
        )
