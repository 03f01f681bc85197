"""New shoots seen, or none yet. On a block in rest a person is told: waiting may lose the flowers.

grower   many green points coming
cutday   Kept: many new shoots, block 1, Sat 26 Dec. Passed to the cooperative. No water, no spray till ...
"""

from __future__ import annotations

from typing import Any

from dialogs.answers import about, between, meant, past_day, told_day, which_block
from dialogs.block_facts import first_of
from dialogs.dialog import Ask, Dialog, Filled, Matter, Outcome, Reply, told
from dialogs.farm import Farm, NewEntry
from service.orchard.plan import Plan


def _amount_is_open(filled: Filled, farm: Farm) -> bool:
    return filled.get("percent") is None


def _in_rest(plan: Plan | None) -> bool:
    """Whether a cut is still to come in this cycle."""
    cut = plan.job("cut") if plan is not None and not plan.ended else None
    return cut is not None and cut.is_open


def _keep(filled: Filled, farm: Farm) -> Outcome:
    numbers = meant(filled, farm)
    day = told_day(filled, farm)
    values: dict[str, Any] = {slot: filled[slot] for slot in ("shoots", "percent") if filled.get(slot) is not None}
    entries = tuple(NewEntry("shoots", number, day, values) for number in numbers)
    told = {**about(numbers, farm), "date": day.isoformat(), **values, "seen": _seen(values)}
    seen_some = values.get("shoots") != "none" and values.get("percent") != 0
    resting = [number for number in numbers if _in_rest(farm.plan(number))]
    if resting and seen_some:
        matter = Matter("shoots", resting[0] if len(resting) == 1 else None)
        return Outcome((Reply("log_shoots.kept_in_rest", told),), entries, matter=matter)
    return Outcome((Reply("log_shoots.kept", told),), entries)


def _seen(values: dict[str, Any]) -> dict[str, Any]:
    if "shoots" in values:
        return {"key": "seen.shoots", "shoots": values["shoots"]}
    if "percent" in values:
        return {"key": "seen.percent", "percent": values["percent"]}
    return {"key": "seen.some"}


LOG_SHOOTS = Dialog(
    "log_shoots",
    asks=(
        which_block(),
        told("date", past_day),
        told("percent", between(0, 100, "log_shoots.percent_possible")),
        Ask("shoots", "log_shoots.how_many", first_of, when=_amount_is_open, optional=True),
    ),
    finish=_keep,
)
