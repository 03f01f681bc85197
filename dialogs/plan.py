"""The dates of the present cycle.

grower   plan
cutday   Block 1: stop water Fri 20 Nov, leaf spray Thu 17 Dec, leaf check Sun 27 Dec, copper Fri 1 Jan, cut Mon 4 Jan.
grower   more
cutday   Block 1, after the cut: second spray Wed 6 Jan, cleaning by Fri 8 Jan ...
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from dialogs import cut_rules
from dialogs.answers import listed, meant, own_blocks
from dialogs.dialog import Dialog, Filled, Outcome, Refused, Reply, told
from dialogs.farm import Farm
from dialogs.jobs import kind_meant, next_open
from service.orchard.plan import Job, Plan

BEFORE_THE_CUT = {"rest_start", "defoliate", "leaf_check", "copper", "cut"}
AFTER_THE_CUT = {"second_spray", "clean", "second_clean", "water"}
IN_ONE_TEXT = 3


def _tell(filled: Filled, farm: Farm) -> Outcome:
    if not farm.blocks:
        raise Refused("block.none_yet")
    numbers = meant(filled, farm)
    kinds = [kind for kind in listed(filled.get("job")) if isinstance(kind, str)]
    if kinds:
        return _of_jobs(numbers, kinds, farm)
    if len(numbers) == 1:
        return _of_block(numbers[0], farm)
    items = tuple(_item(number, farm) for number in numbers)
    return _in_texts("plan.several", {}, items)


def _in_texts(key: str, values: Mapping[str, Any], items: tuple[Mapping[str, Any], ...]) -> Outcome:
    """As many items as one text holds; it counts the rest, which follow by `more`."""
    texts = tuple(Reply(key, values, items[at:]) for at in range(0, len(items), IN_ONE_TEXT))
    return Outcome(texts[:1], more=texts[1:])


def _current(number: str, farm: Farm) -> Plan | None:
    plan = farm.plan(number)
    return None if plan is None or plan.ended else plan


def _of_block(number: str, farm: Farm) -> Outcome:
    plan = _current(number, farm)
    if plan is None:
        return Outcome((Reply("plan.none", {"block": number}),))
    if plan.waits_for_adviser:  # its days are not yet days to go by
        return Outcome((Reply("plan.held_by_adviser", {**plan.values(), "block": number, "held": plan.held}),))
    first, *rest = _texts(plan)
    held = (Reply("plan.held", {"block": number, "held": plan.held}),) if plan.held else ()
    why = Reply("why.rest", {"block": number, **plan.values()}) if not _cut_is_done(plan) else None
    return Outcome((first, *held), more=tuple(rest), why=why)


def _texts(plan: Plan) -> list[Reply]:
    values: dict[str, Any] = {"block": plan.block, **plan.values()}
    before: list[Reply] = []
    after: list[Reply] = []
    if not _cut_is_done(plan):
        if values.keys() >= BEFORE_THE_CUT:
            untold = plan.days_without_report
            key = "plan.in_rest" if plan.rest_reported and untold else "plan.before_cut"
            before = [Reply(key, {**values, "untold": untold} if untold else values)]
        else:
            before = _job_by_job(plan, [job for job in plan.jobs if _comes_before_the_cut(job)], values)
        if "earliest_cut" in values:
            after.append(Reply("plan.cut_range", values))
    if values.keys() >= AFTER_THE_CUT and not any(job.part for job in plan.jobs):
        after.insert(0, Reply("plan.after_cut", values))
    else:
        after = _job_by_job(plan, [job for job in plan.jobs if not _comes_before_the_cut(job)], values) + after
    return before + after


def _cut_is_done(plan: Plan) -> bool:
    cut = plan.job("cut")
    return cut is not None and cut.done is not None


def _comes_before_the_cut(job: Job) -> bool:
    return job.kind in ("rest", "defoliate", "leaf_check", "copper", "cut")


def _job_by_job(plan: Plan, jobs: Sequence[Job], values: Mapping[str, Any]) -> list[Reply]:
    """What is still to be done, where the usual list does not hold: jobs dropped, or a cut made in parts."""
    items = tuple(_job_item(plan, job) for job in jobs if job.is_open)
    return [Reply("plan.jobs", values, items[at:]) for at in range(0, len(items), IN_ONE_TEXT)]


def _day(job: Job) -> str:
    return (job.last if job.kind in ("clean", "second_clean") else job.date).isoformat()


def _job_item(plan: Plan, job: Job) -> Mapping[str, Any]:
    values = {"block": plan.block, "job": job.kind, "date": _day(job)}
    if job.part is not None and job.plants is not None:
        return {"key": "plan.jobs.item_part", **values, "plants": job.plants}
    return {"key": "plan.jobs.item", **values}


def _item(number: str, farm: Farm) -> Mapping[str, Any]:
    plan = _current(number, farm)
    coming = next_open(plan) if plan is not None else None
    if plan is None or coming is None:
        return {"key": "plan.several.item_none", "block": number}
    values = {**plan.values(), "block": number, "job": coming.kind, "date": _day(coming)}
    if plan.waits_for_adviser:
        return {"key": "plan.several.item_wait", **values}
    if _cut_is_done(plan) or "cut" not in values or coming.kind == "cut":
        return {"key": "plan.several.item_next", **values}
    return {"key": "plan.several.item", **values}


def _of_jobs(numbers: Sequence[str], kinds: Sequence[str], farm: Farm) -> Outcome:
    """When one job, or several, fall."""
    items: list[Mapping[str, Any]] = []
    for number in numbers:
        plan = _current(number, farm)
        for word in kinds:
            job = plan.job(kind_meant(word, plan)) if plan is not None else None  # type: ignore[arg-type]
            items.append(_when(number, job))
    if len(items) == 1:
        (item,) = items
        if item["key"] == "plan.several.item_none":
            return Outcome((Reply("plan.none", {"block": item["block"]}),))
        values = {name: value for name, value in item.items() if name != "key"}
        keys = {"plan.when.item": "plan.job", "plan.when.item_done": "plan.job_done"}
        reply = Reply(keys.get(item["key"], "plan.job_dropped"), values)
        if item["job"] == "cut" and item["key"] == "plan.when.item":  # a cut to come: how it is made
            return Outcome((reply, cut_rules.in_short()), more=cut_rules.the_rest())
        return Outcome((reply,))
    return _in_texts("plan.when", {}, tuple(items))


def _when(number: str, job: Job | None) -> Mapping[str, Any]:
    if job is None:
        return {"key": "plan.several.item_none", "block": number}
    values = {"block": number, "job": job.kind, "date": _day(job)}
    if job.done is not None:
        return {"key": "plan.when.item_done", **values, "date": job.done.isoformat()}
    if job.dropped is not None:
        return {"key": "plan.when.item_dropped", "block": number, "job": job.kind}
    return {"key": "plan.when.item", **values}


PLAN = Dialog("plan", asks=(told("block", own_blocks), told("job")), finish=_tell)
