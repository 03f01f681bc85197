"""What a person of the cooperative answers: the text is passed on, and the grower is told so plainly.

grower   want to talk to field officer
cutday   Passed on. Someone of the cooperative will contact you.
"""

from __future__ import annotations

from functools import partial
from typing import Any

from dialogs.dialog import Dialog, Filled, Matter, Outcome, Reply
from dialogs.farm import Farm
from dialogs.jobs import cut_begun


def _pass_on(task: str, matter: str, filled: Filled, farm: Farm) -> Outcome:
    return Outcome((Reply("passed_on.told", {"task": task}),), matter=Matter(matter, _block(filled, farm)))


def _block(filled: Filled, farm: Farm) -> str | None:
    """The block meant, where there is no doubt about it."""
    said = filled.get("block")
    if isinstance(said, str) and said in farm.blocks:
        return said
    return next(iter(farm.blocks)) if said is None and len(farm.blocks) == 1 else None


def _person(filled: Filled, farm: Farm) -> Outcome:
    return Outcome((Reply("passed_on.person"),), matter=Matter("person", _block(filled, farm)))


def passed_on(task: str, matter: str) -> Dialog:
    """A task that a person answers: nothing of it is written in the diary."""
    return Dialog(task, asks=(), finish=partial(_pass_on, task, matter))


def _flowering(filled: Filled, farm: Farm) -> Outcome:
    """Buds that open after the cut decide whether the second spray is still given: it is asked how many."""
    meant = [number for number in farm.blocks if filled.get("block") in (None, "all", number)]
    waiting = [number for number in meant if _second_spray_is_open(number, farm)]
    if waiting:
        return Outcome(then=("log_shoots", {"block": waiting, **_its_day(filled)}))
    return _pass_on("log_flowering", "flowering", filled, farm)


def _its_day(filled: Filled) -> dict[str, Any]:
    return {"date": filled["date"]} if filled.get("date") else {}


def _second_spray_is_open(number: str, farm: Farm) -> bool:
    plan = farm.plan(number)
    if plan is None or plan.ended or not cut_begun(plan):
        return False
    return any(job.kind == "second_spray" and job.is_open for job in plan.jobs)


PERSON = Dialog("person", asks=(), finish=_person)
ASK = passed_on("ask", "question")
CHOOSE_SEASON = passed_on("choose_season", "choose_season")
WATER_NEED = passed_on("water_need", "water_need")
LOG_FLOWERING = Dialog("log_flowering", asks=(), finish=_flowering)
LOG_HARVEST = passed_on("log_harvest", "harvest")
CREW = passed_on("crew", "crew")
