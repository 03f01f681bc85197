"""Damage seen on the grower's own trees: kept in the diary, and a person is told at once.

grower   black oily spots on fruit block 1
cutday   Kept: oily spot, block 1, Wed 13 Jan. Passed to the cooperative, someone will answer. UNDO if wrong.
"""

from __future__ import annotations

from typing import Any

from dialogs.answers import about, own_blocks, past_day, the_blocks, told_day
from dialogs.block_facts import first_of, possible_plants
from dialogs.dialog import Ask, Dialog, Filled, Matter, Outcome, Reply, told
from dialogs.farm import Farm, NewEntry


def _blocks(value: Any, filled: Filled, farm: Farm) -> list[str] | None:
    """The blocks meant; a grower without blocks is heard all the same."""
    return own_blocks(value, filled, farm) if farm.blocks else None


def _several(filled: Filled, farm: Farm) -> bool:
    return len(farm.blocks) > 1


def _keep(filled: Filled, farm: Farm) -> Outcome:
    trouble = filled.get("trouble") or "other"
    numbers = filled.get("block") or list(farm.blocks)
    day = told_day(filled, farm)
    matter = Matter("trouble", numbers[0] if len(numbers) == 1 else None)
    values: dict[str, Any] = {"trouble": trouble}
    if not numbers:
        return Outcome((Reply("passed_on.told", {"task": "report_trouble"}),), matter=matter)
    if filled.get("plants") and len(numbers) == 1:
        values["plants"] = filled["plants"]
    entries = tuple(NewEntry("trouble", number, day, values) for number in numbers)
    told = {**about(numbers, farm), "date": day.isoformat(), **values}
    return Outcome((Reply("report_trouble.kept", told),), entries, matter=matter)


REPORT_TROUBLE = Dialog(
    "report_trouble",
    asks=(
        Ask("block", "block.which", _blocks, when=_several, values=the_blocks),
        told("date", past_day),
        told("plants", possible_plants),
        Ask("trouble", "report_trouble.what", first_of, optional=True),
    ),
    finish=_keep,
)
