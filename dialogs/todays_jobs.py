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
from dialogs.jobs import day_told, open_work, waits
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
        if (job.date == day or job.late(farm.today)) and not _waits_for_adviser(number, farm)
    ]
    if not work:
        return Outcome((_nothing_on(day, blocks, farm),))
    items = tuple(_item(i, number, job, farm.today) for i, (number, job) in enumerate(work, 1))
    values = {"date": day.isoformat()}
    texts = tuple(Reply("todays_jobs.list", values, items[at:]) for at in range(0, len(items), IN_ONE_TEXT))
    return Outcome(texts[:1], more=texts[1:], listed=tuple((number, job.kind) for number, job in work))


def _waits_for_adviser(number: str, farm: Farm) -> bool:
    plan = farm.plan(number)
    return plan is not None and plan.waits_for_adviser


def _item(position: int, number: str, job: Job, today: date) -> Mapping[str, Any]:
    values: dict[str, Any] = {
        "key": "todays_jobs.list.item_late" if job.late(today) else "todays_jobs.list.item",
        "nth": str(position),
        "block": number,
        "job": job.kind,
        "date": job.date.isoformat(),
    }
    if job.part is not None:
        values |= {"part": job.part, "plants": job.plants}
    return values


def _nothing_on(day: date, blocks: list[str], farm: Farm) -> Reply:
    """That there is no work, and what comes next: a job that waits for none before it, whose day is not past."""
    plans = [plan for number in blocks if (plan := farm.plan(number)) is not None and not plan.ended]
    if not plans:
        return Reply("todays_jobs.no_plan", {"date": day.isoformat()})
    coming = [
        (plan.block, job)
        for plan in plans
        for job in plan.jobs
        if job.is_open and not waits(job) and not plan.waits_for_adviser and day_told(job) >= farm.today
    ]
    if not coming:
        waiting = any(plan.waits_for_adviser for plan in plans)
        return Reply(
            "todays_jobs.none", {"date": day.isoformat(), "next": {"key": "next.wait" if waiting else "next.none"}}
        )
    number, job = min(coming, key=lambda pair: day_told(pair[1]))
    return Reply(
        "todays_jobs.none",
        {
            "date": day.isoformat(),
            "next": {"key": "next.job_of", "job": job.kind, "block": number, "date": day_told(job).isoformat()},
        },
    )


TODAYS_JOBS = Dialog("todays_jobs", asks=(told("block", own_blocks), told("date", coming_day)), finish=_list)
