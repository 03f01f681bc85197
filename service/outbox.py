"""The outbox: claims what is due, words it, hands it to its channel, notes what became of it.

A crash between handing a text over and noting it sends it once more: replies and reminders are wanted at least once.
"""

from __future__ import annotations

import logging
from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import Connection

from service.channels.channel import Channel, DeliveryReport, OutboundText, Rejected, TryLater
from service.clock import Clock, instant, local
from service.farms import Cooperatives
from service.hours import next_allowed
from service.segments import Encoding, segments
from service.store import cooperatives, growers, matters, messages
from service.store.cooperatives import Cooperative, Registered
from service.store.session import Database
from service.wording import Wording

log = logging.getLogger(__name__)

Worded = tuple[str, Encoding, str | None, str | None]  # text, encoding, registered sender and template id
NOT_REGISTERED = Registered("", None, None)

BATCH = 200
LEASE = timedelta(seconds=60)
PAUSES = tuple(timedelta(seconds=seconds) for seconds in (10, 30, 120, 600, 1800, 3600))  # the last again and again
FAULT = "fault.passed_on"  # said where nothing else can be
FOR_A_REPORT = timedelta(minutes=2)  # after a send without an answer: a delivery report may tell that it went


class Outbox:
    """Sends what is due in a database.

    channel: the channel of a receiving line
    """

    def __init__(self, database: Database, clock: Clock, wording: Wording, channel: Callable[[str], Channel]) -> None:
        self.database = database
        self.clock = clock
        self.wording = wording
        self.channel = channel
        self.cooperatives = Cooperatives()
        self._stopping = False

    def stop(self) -> None:
        """Let the text in hand be the last; what is leased and not sent is given back."""
        self._stopping = True

    def send_due(self, number: str | None = None) -> int:
        """Send everything that is due, first things first; returns how many were handed over.

        number: only what goes to this one (a phone in a terminal)
        """
        handed = 0
        while not self._stopping and (claimed := self._claim(number)):
            for row, text in claimed:
                if self._stopping:
                    self._give_back(row)
                else:
                    handed += self._send(row, text)
        return handed

    def report(self, report: DeliveryReport) -> None:
        """Take in what the network says of a text."""
        with self.database.writing() as connection:
            messages.receipt(connection, report.outbox_id, report.state, report.reason or None, self.clock.now())

    def _claim(self, number: str | None) -> list[tuple[Any, OutboundText]]:
        """Lease a batch and word it; empty when nothing that is due is left."""
        while True:
            now = self.clock.now()
            with self.database.writing() as connection:
                rows = messages.claim(connection, now, now + LEASE, BATCH, number)
                lines = cooperatives.all_lines(connection) if rows else {}
                ready = [(row, lines[row.line_id], self._ready(connection, row, now)) for row in rows]
            if not rows:
                return []
            texts = [
                (row, OutboundText(row.id, row.number, line, *worded))
                for row, line, worded in ready
                if worded is not None
            ]
            if texts:
                return texts

    def _ready(self, connection: Connection, row: Any, now: datetime) -> Worded | None:
        """The text as it goes out, or None where the row is not to be sent now or ever."""
        if now >= row.useful_until:
            messages.end(connection, row.id, "expired", "past its use", now)
            return None
        cooperative = self.cooperatives.get(connection, row.cooperative_id)
        if row.because != "reply":
            person = growers.by_number(connection, row.cooperative_id, row.number)
            if person is None or person.stopped or not person.joined:
                messages.end(connection, row.id, "suppressed", "stopped or not joined", now)
                return None
            here = local(now, cooperative.zone)
            allowed = next_allowed(here, cooperative.settings_on(here.date()))
            if allowed > here:
                messages.put_off(connection, row.id, instant(allowed, cooperative.zone), "quiet hours")
                return None
        if row.text is not None:
            return row.text, row.encoding, row.sender_id, row.template_id
        return self._word(connection, row, cooperative, now)

    def _word(self, connection: Connection, row: Any, cooperative: Cooperative, now: datetime) -> Worded | None:
        today = local(now, cooperative.zone).date()
        ways = [(tag, row.key, row.values, row.items) for tag in (row.language, cooperative.language, "en")]
        for language, key, values, items in [*ways, ("en", FAULT, {}, ())]:
            if language not in self.wording.catalogues:
                continue
            try:
                text = self.wording.text(language, key, values, items, today=today)
                break
            except Exception as error:  # a fault of ours, whatever it is: it holds up no other, and is no silence
                log.error("text %d (%s, %s) cannot be worded: %s", row.id, language, key, error)
                matters.raise_matter(
                    connection, row.cooperative_id, row.grower_id, row.number, "no_text", key, now,
                    text_in_id=row.text_in_id,
                )  # fmt: skip
        else:
            messages.end(connection, row.id, "failed", "no text", now)
            return None
        counted = segments(text)
        registered = cooperative.registered.get((language, key), NOT_REGISTERED)
        ids = registered.sender_id, registered.template_id
        messages.keep_wording(connection, row.id, language, text, counted.encoding, counted.segments, *ids)
        return text, counted.encoding, *ids

    def _send(self, row: Any, text: OutboundText) -> int:
        if row.because != "reply":
            with self.database.reading() as connection:
                if not messages.still_leased(connection, row.id):  # stopped, or taken back, since it was claimed
                    return 0
        try:
            self.channel(text.sender_line).send(text)
        except TryLater as later:
            log.warning("text %d: %s; again later", row.id, later.reason)
            self._again(row, later)
            return 0
        except Rejected as refused:
            log.warning("text %d refused: %s", row.id, refused.reason)
            now = self.clock.now()
            with self.database.writing() as connection:
                messages.end(connection, row.id, "failed", refused.reason, now)
                if not matters.is_open(connection, row.cooperative_id, row.number, "not_delivered"):
                    matters.raise_matter(
                        connection, row.cooperative_id, row.grower_id, row.number, "not_delivered", row.key, now,
                        text_in_id=row.text_in_id,
                    )  # fmt: skip
            return 0
        except Exception as fault:  # a fault of the channel's: it holds up no other text
            log.exception("text %d: the channel failed; again later", row.id)
            self._again(row, TryLater(type(fault).__name__, may_have_gone=True))
            return 0
        with self.database.writing() as connection:
            messages.handed(connection, row.id, self.clock.now())
        return 1

    def _give_back(self, row: Any) -> None:
        with self.database.writing() as connection:
            messages.put_off(connection, row.id, row.due_at, "not sent: the process was stopped")

    def _again(self, row: Any, later: TryLater) -> None:
        now = self.clock.now()
        pause = PAUSES[min(row.attempts, len(PAUSES)) - 1]
        if later.may_have_gone:
            pause = max(pause, FOR_A_REPORT)
        with self.database.writing() as connection:
            messages.put_off(connection, row.id, now + pause, later.reason)
