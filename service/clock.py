"""The only source of now. Instants are aware and in UTC; farm days and hours are local to the cooperative, naive."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Protocol
from zoneinfo import ZoneInfo


class Clock(Protocol):
    def now(self) -> datetime:
        """This instant, aware, in UTC."""
        ...


class SystemClock:
    """The machine's clock."""

    def now(self) -> datetime:
        return datetime.now(UTC)


class SimulatedClock:
    """A clock that stands until it is moved, and only moves forward."""

    def __init__(self, start: datetime) -> None:
        self._now = start.astimezone(UTC)

    def now(self) -> datetime:
        return self._now

    def move(self, to: datetime) -> None:
        """Move to a later instant, or stay. ValueError where it would go back."""
        to = to.astimezone(UTC)
        if to < self._now:
            raise ValueError(f"the clock cannot go back from {self._now} to {to}")
        self._now = to


def local(instant: datetime, zone: ZoneInfo) -> datetime:
    """The local date and time of an instant, naive; in an hour that comes twice `fold` tells which one."""
    return instant.astimezone(zone).replace(tzinfo=None)


def instant(local_time: datetime, zone: ZoneInfo) -> datetime:
    """The instant of a naive local date and time.

    In an hour that a clock change repeats `fold` decides, the first where it is not set; a time that a clock change
    skips moves forward by what was skipped (02:30 becomes 03:30).
    """
    return local_time.replace(tzinfo=zone).astimezone(UTC)


def is_repeated(local_time: datetime, zone: ZoneInfo) -> bool:
    """Whether a clock change makes this local time come twice."""
    first, second = local_time.replace(tzinfo=zone, fold=0), local_time.replace(tzinfo=zone, fold=1)
    if first.utcoffset() == second.utcoffset():
        return False
    return first.astimezone(UTC).astimezone(zone).replace(tzinfo=None) == local_time.replace(fold=0)
