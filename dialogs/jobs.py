"""Which work of a plan a grower means: by its number in the last list, by its name, or the one that is due."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from dialogs.answers import listed, meant
from dialogs.dialog import AskAgain, Filled, Refused
from dialogs.farm import Farm
from service.orchard.plan import Job, Plan

Work = tuple[str, str]  # (block, kind of job)


def cut_begun(plan: Plan | None) -> bool:
    """Whether the block, or a part of it, is cut in this cycle."""
    return plan is not None and any(
        job.part is not None or (job.kind == "cut" and job.done is not None) for job in plan.jobs
    )


def waits(job: Job) -> bool:
    """Whether the job that it hangs on is not reported yet."""
    return job.hangs_on is not None and job.open_since is None


def kind_meant(word: str, plan: Plan | None) -> str:
    """The plan's kind for a grower's word, by where the block stands: after the cut a leaf spray is the second one."""
    if plan is None:
        return word
    if word == "defoliate" and cut_begun(plan):
        return "second_spray"
    if word == "clean":
        clean = plan.job("clean")
        return "clean" if clean is None or clean.is_open else "second_clean"
    return word


def open_work(farm: Farm, blocks: Sequence[str], by: date) -> list[tuple[str, Job]]:
    """The jobs of these blocks that can be done and whose day has come by `by`, the longest due first."""
    found = [
        (number, job)
        for number in blocks
        if (plan := farm.plan(number)) is not None and not plan.ended
        for job in plan.jobs
        if job.is_open and not waits(job) and job.date <= by
    ]
    return sorted(found, key=lambda pair: pair[1].date)


def day_told(job: Job) -> date:
    """The day by which a text names a job: a cleaning's is the last of its window."""
    return job.last if job.kind in ("clean", "second_clean") else job.date


def next_open(plan: Plan) -> Job | None:
    """The job that comes next."""
    return min((job for job in plan.jobs if job.is_open), key=lambda job: job.date, default=None)


def coming(plan: Plan | None, today: date) -> Mapping[str, Any]:
    """The part of a sentence that says what comes next."""
    job = next_open(plan) if plan is not None and not plan.ended else None
    if job is None:
        return {"key": "next.none"}
    if plan is not None and plan.waits_for_adviser:
        return {"key": "next.wait"}
    if job.late(today):
        return {"key": "next.late", "job": job.kind, "date": job.date.isoformat()}
    return {"key": "next.job", "job": job.kind, "date": day_told(job).isoformat()}


def only_due(filled: Filled, farm: Farm, by: date) -> list[Work]:
    """The work meant where no job is told: what is due, if that is one kind of job; else nothing."""
    due = [(number, job.kind) for number, job in open_work(farm, meant(filled, farm), by)]
    return list(dict.fromkeys(due)) if len({kind for _, kind in due}) == 1 else []


def choices(filled: Filled, farm: Farm, by: date) -> list[Mapping[str, Any]]:
    """What a question for the job names: what is due, else what comes next on each block."""
    blocks = meant(filled, farm)
    pairs = open_work(farm, blocks, by)
    if not pairs:
        plans = [(number, farm.plan(number)) for number in blocks]
        pairs = [
            (number, job)
            for number, plan in plans
            if plan is not None and not plan.ended and (job := next_open(plan)) is not None
        ]
    if not pairs:
        raise Refused("jobs.none_open")
    return [
        {"key": "jobs.one", "nth": str(i), "block": number, "job": job.kind, "date": job.date.isoformat()}
        for i, (number, job) in enumerate(pairs, 1)
    ]


def job_told(value: Any, filled: Filled, farm: Farm) -> Any:
    """A kind of job, or several; a number is one that is in no list."""
    if any(not isinstance(said, str) for said in listed(value)):
        raise AskAgain("jobs.no_such")
    return value


def told_work(filled: Filled, farm: Farm) -> list[Work]:
    """What was told, block by block: lists of the same length run in step, else each job is meant on each block."""
    words, blocks = listed(filled["job"]), meant(filled, farm)
    if len(words) == len(blocks):
        pairs = list(zip(blocks, words, strict=True))
    else:
        pairs = [(block, word) for word in words for block in blocks]
    return [(block, kind_meant(word, farm.plan(block))) for block, word in pairs]


def by_number(slots: Mapping[str, Any], last: Sequence[Work]) -> Mapping[str, Any]:
    """Job numbers put as the jobs and blocks for which they stand in the last list."""
    if "job" not in slots:
        return slots
    numbers = listed(slots["job"])
    if any(not isinstance(number, int) or not 1 <= number <= len(last) for number in numbers):
        return slots
    works = [last[number - 1] for number in numbers]
    named = {"block": [block for block, _ in works]} if "block" not in slots else {}
    kinds = [kind for _, kind in works]
    same = len(set(kinds)) == 1 and len(set(named.get("block", ()))) == len(named.get("block", ()))
    return {**slots, **named, "job": kinds[0] if same else kinds}
