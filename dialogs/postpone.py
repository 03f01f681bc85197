"""Put a job off: nothing is done, and the plan waits for it.

grower   cannot do copper now, after 3 days
cutday   Kept as not done: copper spray, block 1 (UNDO). We text again Thu 21 Jan. Last good day Sun 24 Jan.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from typing import Any

from dialogs.answers import about, coming_day, listed, own_blocks, several_blocks, the_blocks
from dialogs.dialog import Ask, AskAgain, Dialog, Filled, Matter, Outcome, Refused, Reply, told
from dialogs.farm import Farm, NewEntry
from dialogs.jobs import Work, choices, job_told, only_due, told_work
from service.orchard.plan import Job, Plan

# A job is put off by days, not by seasons: for more the cut is set anew.
LONGEST_DAYS = 60


def _soon(farm: Farm) -> date:
    """A job of the next day can be put off the evening before."""
    return farm.today + timedelta(1)


def _works(filled: Filled, farm: Farm) -> list[Work]:
    if filled.get("job") is not None:
        return told_work(filled, farm)
    return only_due(filled, farm, farm.today) or only_due(filled, farm, _soon(farm))


def _job_open(filled: Filled, farm: Farm) -> bool:
    return filled.get("job") is None and not _works(filled, farm)


def _block_open(filled: Filled, farm: Farm) -> bool:
    if not several_blocks(filled, farm):
        return False
    return filled.get("job") is not None or len(_works(filled, farm)) != 1


def _which_job(filled: Filled, farm: Farm) -> Mapping[str, Any]:
    return {"jobs": choices(filled, farm, _soon(farm))}


def _some_days(value: Any, filled: Filled, farm: Farm) -> int:
    days: int = listed(value)[0]
    if not 1 <= days <= LONGEST_DAYS:
        raise AskAgain("postpone.how_long", most=LONGEST_DAYS)
    return days


def _day(filled: Filled) -> date | None:
    """The day told; one told because the first was none counts."""
    said = filled.get("later_day") or filled.get("date")
    return date.fromisoformat(listed(said)[0]) if said else None


def _not_later(filled: Filled, farm: Farm) -> tuple[str, Job] | None:
    """The block and job that a day told does not put off: it does not come after the job's own."""
    day = _day(filled)
    if day is None:
        return None
    jobs = [(number, _open_job(number, kind, farm)) for number, kind in _works(filled, farm)]
    return next(((number, job) for number, job in jobs if day <= job.date), None)


def _is_not_later(filled: Filled, farm: Farm) -> bool:
    return _not_later(filled, farm) is not None


def _its_day(filled: Filled, farm: Farm) -> Mapping[str, Any]:
    found = _not_later(filled, farm)
    if found is None:
        return {}
    number, job = found
    return {"block": number, "job": job.kind, "date": job.date.isoformat()}


def _later_day(value: Any, filled: Filled, farm: Farm) -> str:
    day = str(coming_day(value, filled, farm))
    if _is_not_later({**filled, "later_day": day}, farm):
        raise AskAgain("postpone.not_later", **_its_day({**filled, "later_day": day}, farm))
    return day


def _until(job: Job, filled: Filled, farm: Farm) -> date:
    """The day to which a job is put off: as told, else so many days from now, or from its own day if that is later.

    Without days one: it is said again the next morning, or on the morning after its day.
    """
    if (day := _day(filled)) is not None:
        return day
    days = timedelta(filled.get("delay_days") or 1)
    return farm.today + days if farm.today + days > job.date else job.date + days


def _put_off(filled: Filled, farm: Farm) -> Outcome:
    jobs = [(number, _open_job(number, kind, farm)) for number, kind in _works(filled, farm)]
    days = {_until(job, filled, farm) for _, job in jobs}
    if len(days) != 1:
        raise Refused("jobs.one_by_one")
    until = days.pop()
    entries = tuple(
        NewEntry("postponed", number, farm.sent_on, {"job": job.kind, "until": until.isoformat()})
        for number, job in jobs
    )
    return _told(jobs, until, entries, farm)


def _open_job(number: str, kind: str, farm: Farm) -> Job:
    plan = farm.plan(number)
    job = next((job for job in plan.jobs if job.kind == kind and job.is_open), None) if plan is not None else None
    if job is None:
        raise Refused("postpone.not_open", block=number, job=kind)
    return job


def _told(jobs: Sequence[tuple[str, Job]], until: date, entries: tuple[NewEntry, ...], farm: Farm) -> Outcome:
    number, job = jobs[0]
    after = farm.after(entries)
    plan = after.plan(number)
    blocks = list(dict.fromkeys(number for number, _ in jobs))
    values: dict[str, Any] = {
        "job": job.kind,
        "last": (_last_cut_day(plan) if job.kind == "cut" and plan is not None else job.last).isoformat(),
        "again": until.isoformat(),
        **(plan.values() if plan is not None else {}),
        **about(blocks, farm),
        "date": until.isoformat(),
    }
    items = tuple({"block": number, "job": job.kind} for number, job in jobs) if len(jobs) > 1 else ()
    if job.kind == "cut" and plan is not None and plan.cut < until:  # the adviser has fixed it
        return Outcome((Reply("postpone.fixed", values, items),), entries, matter=Matter("fixed_cut_postponed", number))
    if job.kind == "cut":
        return Outcome((Reply("postpone.cut", values, items),), entries)
    if until > job.last:
        matter = Matter("postponed_too_long", number)
        return Outcome((Reply("postpone.too_long", values, items),), entries, matter=matter)
    return Outcome((Reply("postpone.kept", values, items),), entries)


def _last_cut_day(plan: Plan) -> date:
    """The last day of the cut's window: it goes with the day to which the cut is put off."""
    return max(job.last for job in plan.jobs if job.kind == "cut")


POSTPONE = Dialog(
    "postpone",
    asks=(
        told("block", own_blocks),
        told("date", coming_day),
        Ask("job", "jobs.which_later", job_told, when=_job_open, values=_which_job),
        Ask("block", "block.which", own_blocks, when=_block_open, values=the_blocks),
        told("delay_days", _some_days),
        Ask("later_day", "postpone.not_later", _later_day, when=_is_not_later, values=_its_day, reads="date"),
    ),
    finish=_put_off,
)
