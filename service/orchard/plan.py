"""The plan of a block's cycle: rest, leaf spray, cut, second spray, cleaning, first water; and what it makes due.

A plan is never stored as truth: it is computed from block, diary and weather, so that a correction, a late report of
rain or an undo gives the plan that would have been made had it been known.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any, Literal

from service.orchard.block import Block, Place
from service.orchard.cycle import current
from service.orchard.diary import Entry
from service.orchard.figures import table
from service.orchard.job import Job, JobKind, steps
from service.orchard.schedule import Schedule
from service.orchard.settings import Settings
from service.orchard.weather import DayWeather, Weather

__all__ = ["DayWeather", "Due", "Job", "JobKind", "Moved", "Plan", "Weather", "due", "moved", "plan"]

Occasion = Literal["eve", "morning", "again", "ask", "twigs"]

RANGE_TOLD_FROM = 3  # days: a narrower range of the cut is not worth a text


@dataclass(frozen=True, slots=True)
class Plan:
    """The current cycle of a block.

    cycle: id of the entry that opened it
    asked: the day set for the cut, or the first possible one where only the rest was told
    counted: days of rest that count so far; lost_days: those that do not, after rain or water
    cut, earliest_cut, latest_cut: the middle, low and high case, projected without rain
    days_lost: days by which rain alone has put off the count
    days_without_report: past days of the rest that count as dry because nothing was told of them
    ruling: the adviser's word in force on the cut (`rest_enough`, `rest_not_enough`, `cut_fixed`)
    fixed_by: who fixed the cut, "" where no name was given, None where nobody did
    too_long: the first day on which the block, still uncut, has rested longer than is good; the twigs are looked at
    held: why the reminders of this cycle pause (`season_missed`, `rest_not_enough`, `fell_by_itself`)
    for_adviser: why the block belongs on the adviser's list
    ended: nothing of the cycle is left to do or to ask
    """

    block: str
    cycle: int
    season: str | None
    rest_days: int
    asked: date
    rest_start: date
    rest_reported: bool
    counted: int
    lost_days: tuple[date, ...]
    cut: date
    earliest_cut: date
    latest_cut: date
    days_lost: int
    days_without_report: int
    last_good_day: date
    season_missed: bool
    ruling: str | None
    fixed_by: str | None
    jobs: tuple[Job, ...]
    too_long: date | None
    held: str | None
    for_adviser: tuple[str, ...]
    ended: bool

    def job(self, kind: JobKind, part: int | None = None) -> Job | None:
        """The job of this kind: of the part named, else the first that is still open, else the last."""
        of_kind = [job for job in self.jobs if job.kind == kind and (part is None or job.part == part)]
        return next((job for job in of_kind if job.is_open), of_kind[-1] if of_kind else None)

    @property
    def waits_for_adviser(self) -> bool:
        """Whether nothing is to be done on the block before the adviser's word."""
        return self.held in ("rest_not_enough", "fell_by_itself")

    def values(self) -> dict[str, Any]:
        """What a text can tell of the plan, dates as ISO strings; a job that was dropped is left out.

        A cleaning's date is the last day of its window; `earliest_cut` and `latest_cut` stand where they lie more than
        3 days apart, `season_missed` where it is true.
        """
        values: dict[str, Any] = {"rest_start": self.rest_start.isoformat(), "days_lost": self.days_lost}
        for kind in steps():
            job = self.job(kind)
            if kind != "rest" and job is not None and job.dropped is None:
                values[kind] = (job.last if kind in ("clean", "second_clean") else job.date).isoformat()
        if self.season_missed:
            values["season_missed"] = True
        if self.latest_cut - self.earliest_cut > timedelta(RANGE_TOLD_FROM):
            values |= {"earliest_cut": self.earliest_cut.isoformat(), "latest_cut": self.latest_cut.isoformat()}
        return values


def plan(
    block: Block, entries: Sequence[Entry], place: Place, weather: Weather, settings: Settings, today: date
) -> Plan | None:
    """The plan of a block as of `today`; None where no cycle is open and none ended of late.

    entries: the live entries about the block (`diary.of_block`), in received order
    weather: the gauge of the block's village, by day; days after `today` are projected from normals, without rain
    """
    if block.retired is not None:
        return None
    cycle = current(block, entries, place, settings)
    if cycle is None:
        return None
    days = Schedule(block, cycle, entries, place, weather, settings, today)
    water = days.jobs[-1].done
    ended = water is not None and not any(job.is_open and today <= job.last + timedelta(1) for job in days.jobs)
    if ended and water is not None and today > water + timedelta(table("limits")["ended_shown"].value):
        return None
    missed = not cycle.cut_finished and days.season_missed
    held = None
    if not cycle.parts:
        if (
            cycle.word is not None
            and cycle.word.values["ruling"] == "rest_not_enough"
            and not cycle.word.values.get("date")
        ):
            held = "rest_not_enough"
        elif missed and not days.out_of_season_chosen:
            held = "season_missed"
        elif days.fell_by_itself and cycle.rest is not None:
            held = "fell_by_itself"
    earliest, latest = days.cut_range
    return Plan(
        block=block.number,
        cycle=cycle.opened,
        season=days.season,
        rest_days=days.rest_days,
        asked=days.asked,
        rest_start=days.rest_start,
        rest_reported=cycle.rest is not None,
        counted=days.counted,
        lost_days=days.lost_days,
        cut=days.cut,
        earliest_cut=earliest,
        latest_cut=latest,
        days_lost=days.days_lost,
        days_without_report=days.days_without_report,
        last_good_day=days.last_good_day,
        season_missed=missed,
        ruling=cycle.word.values["ruling"] if cycle.word else None,
        fixed_by=cycle.word.values.get("adviser", "") if days.fixed and cycle.word else None,
        jobs=days.jobs,
        too_long=days.too_long,
        held=held,
        for_adviser=tuple(_for_adviser(days, missed, ended)),
        ended=ended,
    )


def _for_adviser(days: Schedule, missed: bool, ended: bool) -> Iterator[str]:
    if ended:
        return
    if not days.cycle.parts:
        if days.buds_open:
            yield "shoots"
        if missed:
            yield "season_missed"
        if days.leaves_hang:
            yield "leaves_not_falling"
        if days.fell_by_itself:
            yield "leaves_fell_by_themselves"
        if days.early_spray:
            yield "early_spray"
        if days.too_long is not None and days.today >= days.too_long:
            yield "rest_too_long"
    for job in days.jobs:
        if job.is_open and job.open_since is not None and days.today > job.last:
            yield f"{job.kind}_unreported"


@dataclass(frozen=True, slots=True)
class Moved:
    """What changed between two plans of a cycle.

    cut_days: days by which the cut moved, later positive; days_lost: days that rain cost since
    jobs: (job, part, day before, day after) of each open job whose day moved
    """

    cut_days: int
    days_lost: int
    jobs: tuple[tuple[JobKind, int | None, date, date], ...]


def moved(before: Plan | None, after: Plan | None) -> Moved | None:
    """What changed between two plans; None where they are not of one cycle or no day of it moved."""
    if before is None or after is None or before.cycle != after.cycle:
        return None
    old = {(job.kind, job.part): job for job in before.jobs if job.is_open}
    jobs = tuple(
        (job.kind, job.part, old[job.kind, job.part].date, job.date)
        for job in after.jobs
        if job.is_open and (job.kind, job.part) in old and old[job.kind, job.part].date != job.date
    )
    if not jobs:
        return None
    return Moved((after.cut - before.cut).days, after.days_lost - before.days_lost, jobs)


@dataclass(frozen=True, slots=True)
class Due:
    """A reminder to send: (block, cycle, job, part, for_date, occasion) goes once; `at` is local and naive.

    occasion: `eve` the evening before, `morning`, `again` once more, `ask` once when the window ended unreported,
        `twigs` once on the first day past the longest rest (of the job `cut`, which is still to come)
    """

    block: str
    cycle: int
    job: JobKind
    part: int | None
    for_date: date
    occasion: Occasion
    at: datetime


def due(
    plan: Plan, since: datetime, until: datetime, settings: Settings, evenings_only: bool = False
) -> tuple[Due, ...]:
    """The reminders of a plan with since < at <= until, local and naive, in the order of their hours.

    A job is reminded from the first morning on which what it hangs on has been told: a day that passed unsaid is still
    told while its window lasts. So `again` and `ask` stand on every morning from their own on, and within one call the
    first is taken: asked over two spans, the same reminder may come twice, and its identity lets it go once.
    evenings_only: what is for a morning goes on the evening before, and the eve and the morning are one, `eve`.
    """
    if plan.held or plan.ended:
        return ()
    found = [reminder for job in plan.jobs for reminder in _of_job(plan, job, since, until, settings, evenings_only)]
    found += _twigs(plan, since, until, settings, evenings_only)
    return tuple(sorted(found, key=lambda reminder: reminder.at))


def _twigs(plan: Plan, since: datetime, until: datetime, settings: Settings, evenings_only: bool) -> Iterator[Due]:
    """Past the longest rest the twigs are looked at: said once, on the first morning after it was known."""
    if plan.too_long is None:
        return
    for days in range(table("limits")["asked_for"].value + 1):
        at = _hour(plan.too_long + timedelta(days), settings, evenings_only)
        if since < at <= until:
            yield Due(plan.block, plan.cycle, "cut", None, plan.too_long, "twigs", at)
            return


def _hour(morning: date, settings: Settings, evenings_only: bool) -> datetime:
    """The hour at which what is for this morning is sent."""
    if evenings_only:
        return datetime.combine(morning - timedelta(1), settings.evening)
    return datetime.combine(morning, settings.morning)


def _of_job(
    plan: Plan, job: Job, since: datetime, until: datetime, settings: Settings, evenings_only: bool
) -> Iterator[Due]:
    if not job.is_open or job.open_since is None:
        return
    one = timedelta(1)
    first = job.date if job.open_since < job.date else job.open_since + one
    evening_before = steps()[job.kind].evening_before

    def first_of(occasion: Occasion, hours: Iterator[datetime]) -> Iterator[Due]:
        at = next((at for at in hours if since < at <= until), None)
        if at is not None:
            yield Due(plan.block, plan.cycle, job.kind, job.part, job.date, occasion, at)

    def mornings(start: date, end: date) -> Iterator[datetime]:
        """From `start` to `end`, without those before the span asked about."""
        for days in range(max(0, (since.date() - start).days), (min(end, until.date() + one) - start).days + 1):
            yield _hour(start + timedelta(days), settings, evenings_only)

    if first <= job.last:
        if evening_before and first == job.date and not evenings_only:
            yield from first_of("eve", iter([datetime.combine(first - one, settings.evening)]))
        yield from first_of("eve" if evenings_only else "morning", iter([_hour(first, settings, evenings_only)]))
        if settings.repeat_days:
            yield from first_of("again", mornings(first + timedelta(settings.repeat_days), job.last))
    end = max(job.last + one, first)
    yield from first_of("ask", mornings(end, end + timedelta(table("limits")["asked_for"].value)))
