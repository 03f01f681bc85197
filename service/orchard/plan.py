"""The plan of a block's cycle: rest, leaf spray, cut, second spray, cleaning, first water; and what it makes due.

A plan is never stored as truth: it is computed from block, diary and weather, so that a correction, a late report of
rain or an undo gives the plan that would have been made had it been known.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, Literal


@dataclass(frozen=True, slots=True)
class DayWeather:
    """What a weather post read on one day: rain [mm], air temperature [deg C]; None is not on file."""

    rain_mm: float | None = None
    tmin_c: float | None = None
    tmax_c: float | None = None


Weather = Mapping[date, DayWeather]

JobKind = Literal["rest", "defoliate", "leaf_check", "copper", "cut", "second_spray", "clean", "second_clean", "water"]


@dataclass(frozen=True, slots=True)
class Job:
    """One piece of work.

    date: the planned day, or the day on which it was done
    last: the last day on which it can still be done
    hangs_on: the job that must be reported before this one is reminded
    open_since: the day on which that was reported; None while it is not, and then nothing is reminded
    dropped: why it is not to be done at all
    part, plants: the part of the block, where the cut was done in parts
    """

    kind: JobKind
    date: date
    last: date
    hangs_on: JobKind | None = None
    open_since: date | None = None
    done: date | None = None
    dropped: str | None = None
    part: int | None = None
    plants: int | None = None

    @property
    def is_open(self) -> bool:
        """Neither done nor dropped."""
        return self.done is None and self.dropped is None

    def late(self, today: date) -> bool:
        """Its day has passed and nothing was reported."""
        return self.is_open and self.date < today


@dataclass(frozen=True, slots=True)
class Plan:
    """The current cycle of a block.

    cycle: id of the entry that opened it
    asked: the day set for the cut, or the first possible one where only the rest was told
    counted: days of rest that count so far
    cut, earliest_cut, latest_cut: the middle, low and high case, projected without rain
    days_lost: days by which rain alone has put off the count
    ruling: the adviser's word in force on the cut (`rest_enough`, `rest_not_enough`, `cut_fixed`)
    fixed_by: who fixed the cut, "" where no name was given, None where nobody did
    held: why the reminders of this cycle pause
    for_adviser: why the block belongs on the adviser's list
    """

    block: str
    cycle: int
    season: str | None
    rest_days: int
    asked: date
    rest_start: date
    rest_reported: bool
    counted: int
    cut: date
    earliest_cut: date
    latest_cut: date
    days_lost: int
    last_good_day: date
    season_missed: bool
    ruling: str | None
    fixed_by: str | None
    jobs: tuple[Job, ...]
    held: str | None
    for_adviser: tuple[str, ...]
    ended: bool

    def job(self, kind: JobKind, part: int | None = None) -> Job | None:
        """The job of this kind: of the part named, else the first that is still open, else the last."""
        of_kind = [job for job in self.jobs if job.kind == kind and (part is None or job.part == part)]
        return next((job for job in of_kind if job.is_open), of_kind[-1] if of_kind else None)

    def values(self) -> dict[str, Any]:
        """The dates under the names by which others read them, as ISO strings; jobs that were dropped have none."""
        raise NotImplementedError


@dataclass(frozen=True, slots=True)
class Due:
    """A reminder to send: (block, cycle, job, part, for_date, occasion) goes once; `at` is local and naive.

    occasion: `eve` the evening before, `morning`, `again` once more, `ask` once when the window ended unreported
    """

    block: str
    cycle: int
    job: JobKind
    part: int | None
    for_date: date
    occasion: Literal["eve", "morning", "again", "ask"]
    at: datetime
