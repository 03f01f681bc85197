"""One block's season as a strip: a drawing in percent of its width, so that it serves a wall and a phone alike.

Three lanes: sprays on top, the tree in the middle (the rest day by day, the cut), the ground below (clean up, water).
Time runs with the script: from right to left positions are mirrored here, and nothing is flipped afterwards.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import groupby

from service.orchard.plan import Plan

BEFORE, AFTER = timedelta(60), timedelta(45)
SIGNS = {"defoliate": "leafspray", "copper": "copper", "second_spray": "leafspray", "clean": "clean",
         "second_clean": "clean", "cut": "cut", "water": "water"}  # fmt: skip


@dataclass(frozen=True)
class Span:
    """The days that the board shows, and whether they run from right to left."""

    first: date
    last: date
    mirrored: bool

    @classmethod
    def around(cls, today: date, mirrored: bool) -> Span:
        """Whole months around today: the rest and what follows on the cut."""
        first = (today - BEFORE).replace(day=1)
        last = ((today + AFTER).replace(day=1) + timedelta(32)).replace(day=1) - timedelta(1)
        return cls(first, last, mirrored)

    @property
    def days(self) -> int:
        return (self.last - self.first).days + 1

    def at(self, day: date) -> float:
        """Where a day begins, in percent; outside the span at its edge."""
        share = min(max((day - self.first).days / self.days, 0.0), 1.0) * 100
        return round(100 - share if self.mirrored else share, 2)

    def middle(self, day: date) -> float:
        half = 50 / self.days
        return round(self.at(day) + (-half if self.mirrored else half), 2)

    def holds(self, day: date) -> bool:
        return self.first <= day <= self.last

    def months(self) -> Iterator[tuple[date, float]]:
        day = self.first
        while day <= self.last:
            yield day, self.at(day)
            day = (day + timedelta(32)).replace(day=1)


@dataclass(frozen=True)
class Bar:
    """Days of the rest that are alike: kept (counted), lost, or to-come."""

    kind: str
    x: float
    width: float


@dataclass(frozen=True)
class Sign:
    """A job at its day: which drawing, and whether it is plan, done or late."""

    sign: str
    state: str
    x: float


@dataclass(frozen=True)
class Strip:
    bars: tuple[Bar, ...]
    signs: tuple[Sign, ...]


def strip(plan: Plan, span: Span, today: date) -> Strip:
    """The drawing of a plan."""
    return Strip(tuple(_rest(plan, span, today)), tuple(_jobs(plan, span, today)))


def _rest(plan: Plan, span: Span, today: date) -> Iterator[Bar]:
    """Day 0 is the day on which water was stopped; the days after it count or are lost."""
    cut = plan.job("cut")
    end = cut.done if cut is not None and cut.done is not None else plan.cut
    lost = set(plan.lost_days)
    first, last = max(plan.rest_start + timedelta(1), span.first), min(end - timedelta(1), span.last)
    days = [first + timedelta(ahead) for ahead in range((last - first).days + 1)]

    def kind(day: date) -> str:
        if day >= today or not plan.rest_reported:
            return "to-come"
        return "lost" if day in lost else "kept"

    for name, alike in groupby(days, kind):
        run = list(alike)
        start, after = span.at(run[0]), span.at(run[-1] + timedelta(1))
        yield Bar(name, min(start, after), round(abs(after - start), 2))


def _jobs(plan: Plan, span: Span, today: date) -> Iterator[Sign]:
    for job in plan.jobs:
        day = job.done or job.date
        if job.kind not in SIGNS or job.dropped or not span.holds(day):
            continue
        state = "done" if job.done else "late" if job.late(today) else "plan"
        yield Sign(SIGNS[job.kind], state, span.middle(day))
