"""The work of a day, late jobs first; what is listed can then be named by its number.

grower   work today?
cutday   Mon 18 Jan: first: copper, block 2, late; second: cut, block 1. Done? FIRST JOB DONE.
grower   second job done
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

from dialogs.answers import coming_day, own_blocks
from dialogs.dialog import Dialog, Filled, Outcome, Refused, Reply, told
from dialogs.farm import Farm
from dialogs.jobs import day_told, next_open, open_work
from service.orchard.plan import Job

IN_ONE_TEXT = 3


def _list(filled: Filled, farm: Farm) -> Outcome:
    if not farm.blocks:
        raise Refused("block.none_yet")
    blocks = list(filled.get("block") or farm.blocks)
    day = date.fromisoformat(filled["date"]) if filled.get("date") else farm.today
    work = [
        (number, job)
        for number, job in open_work(farm, blocks, day)
        if job.date == day or (job.late(day) and day == farm.today)
    ]
    if not work:
        return Outcome((_nothing_on(day, blocks, farm),))
    items = tuple(_item(i, number, job, day) for i, (number, job) in enumerate(work, 1))
    values = {"date": day.isoformat()}
    texts = tuple(Reply("todays_jobs.list", values, items[at:]) for at in range(0, len(items), IN_ONE_TEXT))
    return Outcome(texts[:1], more=texts[1:], listed=tuple((number, job.kind) for number, job in work))


def _item(position: int, number: str, job: Job, day: date) -> Mapping[str, Any]:
    values: dict[str, Any] = {
        "key": "todays_jobs.list.item_late" if job.late(day) else "todays_jobs.list.item",
        "nth": str(position),
        "block": number,
        "job": job.kind,
        "date": job.date.isoformat(),
    }
    if job.part is not None:
        values |= {"part": job.part, "plants": job.plants}
    return values


def _nothing_on(day: date, blocks: list[str], farm: Farm) -> Reply:
    """That there is no work, and what comes next."""
    coming = [
        (number, job)
        for number in blocks
        if (plan := farm.plan(number)) is not None and not plan.ended and (job := next_open(plan)) is not None
    ]
    if not coming:
        return Reply("todays_jobs.no_plan", {"date": day.isoformat()})
    number, job = min(coming, key=lambda pair: pair[1].date)
    return Reply(
        "todays_jobs.none",
        {
            "date": day.isoformat(),
            "next": {"key": "next.job_of", "job": job.kind, "block": number, "date": day_told(job).isoformat()},
        },
    )


TODAYS_JOBS = Dialog("todays_jobs", asks=(told("block", own_blocks), told("date", coming_day)), finish=_list)
