"""When a text that nobody asked for may go out, in the cooperative's local time (naive)."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta

from service.orchard.settings import Settings


def next_allowed(at: datetime, settings: Settings) -> datetime:
    """The first local time from `at` on that is not in the quiet hours."""
    if not settings.is_quiet(at.time()):
        return at
    end = datetime.combine(at.date(), settings.quiet[1])
    return end if end > at else end + timedelta(days=1)


def next_allowed_hour(at: datetime, settings: Settings) -> datetime:
    """The next full local hour outside the quiet hours, or their end: what is put right before it is not told."""
    full = at.replace(minute=0, second=0, microsecond=0, fold=0) + timedelta(hours=1)
    return next_allowed(full, settings)


def next_morning(at: datetime, settings: Settings) -> datetime:
    """The next morning hour after a local time."""
    morning = datetime.combine(at.date(), settings.morning)
    return morning if morning > at else morning + timedelta(days=1)


def useful_until(day: date, settings: Settings) -> datetime:
    """When a reminder of a local day is worth nothing any more: as that day's quiet hours begin."""
    start, end = settings.quiet
    if start <= end:  # quiet in the middle of the day, or never
        return datetime.combine(day + timedelta(days=1), time())
    return datetime.combine(day, start)
