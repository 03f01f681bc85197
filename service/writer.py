"""One thread through which all texts of a process go in: what has queued up is committed together.

Nothing waits for company: the thread takes what is there. A text's future is done once it is committed.
"""

from __future__ import annotations

import logging
import queue
import threading
from collections.abc import Callable
from concurrent.futures import Future

from service.channels.channel import InboundText
from service.inbox import Inbox, Received

log = logging.getLogger(__name__)

BATCH = 200
PENDING_AT_MOST = 5000


class TooMany(Exception):
    """More texts are waiting than can be taken: the gateway is to bring this one again."""


class Writer:
    """The writer of one process.

    committed: called after each batch, to wake whoever sends the answers
    """

    def __init__(self, inbox: Inbox, committed: Callable[[], None]) -> None:
        self.inbox = inbox
        self.committed = committed
        self._queue: queue.Queue[tuple[InboundText, Future[Received]] | None] = queue.Queue(PENDING_AT_MOST)
        self._thread = threading.Thread(target=self._run, name="writer")

    def start(self) -> None:
        self._thread.start()

    def stop(self) -> None:
        """Return once everything that was taken is committed."""
        self._queue.put(None)
        self._thread.join()

    def receive(self, text: InboundText) -> Future[Received]:
        """Queue a text; raises TooMany."""
        done: Future[Received] = Future()
        try:
            self._queue.put_nowait((text, done))
        except queue.Full:
            raise TooMany from None
        return done

    def _run(self) -> None:
        while True:
            batch = [self._queue.get()]
            while len(batch) < BATCH:
                try:
                    batch.append(self._queue.get_nowait())
                except queue.Empty:
                    break
            self._write([one for one in batch if one is not None])
            if None in batch:
                return

    def _write(self, batch: list[tuple[InboundText, Future[Received]]]) -> None:
        if not batch:
            return
        try:
            received = self.inbox.receive_together([text for text, _ in batch])
        except Exception as error:  # one text's fault, or the database's: each by itself
            if len(batch) > 1:
                log.warning("a batch of %d texts failed (%s): each by itself", len(batch), type(error).__name__)
            for text, done in batch:
                try:
                    done.set_result(self.inbox.receive(text))
                except Exception as fault:  # not even kept: its sender is told so
                    log.error("a text was not kept: %s", type(fault).__name__)
                    done.set_exception(fault)
        else:
            for (_, done), one in zip(batch, received, strict=True):
                done.set_result(one)
        self.committed()
