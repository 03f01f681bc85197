"""Register a block: whatever the first text leaves out is asked, one question a text.

grower   new block 240 plants 12x8 feet black soil
cutday   In which month and year was it planted? ...
grower   july 2021
cutday   How is it watered: drip, flood ...?
grower   drip
cutday   Kept: block 1, 240 plants, 12 x 8 ft, black soil, drip, planted Jul 2021. UNDO if wrong.
cutday   Block 1: is the water already stopped for the rest? Send the day ...

Area and plants follow from each other over the spacing. A number that is already taken is a correction: see my_blocks.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from dialogs.answers import listed
from dialogs.block_facts import (
    first_of,
    possible_area,
    possible_planting,
    possible_plants,
    possible_spacing,
    short_name,
    shown,
    told_facts,
)
from dialogs.dialog import Ask, AskAgain, Dialog, Filled, Outcome, Reply, told
from dialogs.farm import Farm, NewEntry
from service.orchard.block import area_from, exact_spacing, forcing_age

MOST_BLOCKS = 99
# Plants at their spacing may leave room at the edges and for paths; past this one of the three is a slip.
UNLIKE = 2.5


def _number(value: Any, filled: Filled, farm: Farm) -> str:
    said = str(listed(value)[0])
    named = [number for number, block in farm.blocks.items() if block.name and block.name.lower() == said.lower()]
    if len(named) == 1:
        return named[0]
    if not said.isdecimal() or not 1 <= int(said) <= MOST_BLOCKS or _is_retired(str(int(said)), farm):
        raise AskAgain("register_block.number_possible", block=_free_number(farm), most=MOST_BLOCKS)
    return str(int(said))


def _is_retired(number: str, farm: Farm) -> bool:
    return number in farm.every_block and number not in farm.blocks


def _free_number(farm: Farm) -> str:
    """The next number after all that were ever used: an old diary is never mixed with a new block's."""
    return str(max((int(number) for number in farm.every_block if number.isdecimal()), default=0) + 1)


def _is_new(filled: Filled, farm: Farm) -> bool:
    return filled.get("block") not in farm.blocks


def _may_be_a_correction(filled: Filled, farm: Farm) -> bool:
    """Something is told of a block, but nothing that says which or that it is a new one."""
    about_some_block = any(filled.get(fact) is not None for fact in ("spacing_m", "planted", "soil", "water_source"))
    says_new = any(filled.get(fact) is not None for fact in ("block", "name", "plants", "area_ha"))
    return bool(farm.blocks) and about_some_block and not says_new


def _next_number(filled: Filled, farm: Farm) -> Mapping[str, Any]:
    return {"block": _free_number(farm)}


def _is_registered_now(filled: Filled, farm: Farm) -> bool:
    return _is_new(filled, farm) and filled.get("is_new") is not False


def _neither_plants_nor_area(filled: Filled, farm: Farm) -> bool:
    return _is_registered_now(filled, farm) and filled.get("area_ha") is None


def _area_alone(filled: Filled, farm: Farm) -> bool:
    return _is_registered_now(filled, farm) and filled.get("spacing_m") is None


def _spacing(filled: Filled) -> tuple[float, float] | None:
    """The spacing told, in unrounded metres."""
    if filled.get("spacing_m") is None:
        return None
    facts = told_facts(filled)
    return exact_spacing(facts["spacing_m"], facts.get("spacing_ft"))


def _area_needed(filled: Filled) -> float | None:
    spacing = _spacing(filled)
    if spacing is None or filled.get("plants") is None or filled.get("area_ha") is None:
        return None
    return area_from(filled["plants"], spacing)


def _do_not_agree(filled: Filled, farm: Farm) -> bool:
    """Plants, spacing and area were all told and cannot all be right."""
    needed = _area_needed(filled)
    if needed is None or not _is_registered_now(filled, farm):
        return False
    return not 1 / UNLIKE <= needed / filled["area_ha"] <= UNLIKE


def _both_areas(filled: Filled, farm: Farm) -> Mapping[str, Any]:
    needed = _area_needed(filled) or 0.0
    return {"plants": filled["plants"], "needed": round(needed, 2), "area": filled["area_ha"]}


def _register(filled: Filled, farm: Farm) -> Outcome:
    known = {**filled, "plants": filled["plants_sure"]} if filled.get("plants_sure") else dict(filled)
    facts = told_facts(known)
    if not _is_registered_now(filled, farm):
        meant = {"block": [filled["block"]]} if filled.get("block") in farm.blocks else {}
        return Outcome(then=("change_block", {**facts, **meant}))
    if filled.get("village"):
        facts["village"] = filled["village"]
    number = filled.get("block") or _free_number(farm)
    entry = NewEntry("block", number, farm.sent_on, facts)
    block = farm.after([entry]).blocks[number]
    replies = (Reply("register_block.kept", {**shown(block), "date": farm.sent_on.isoformat()}),)
    if forcing_age(block, farm.today) == "refused":
        return Outcome((*replies, Reply("register_block.young", {"block": number})), (entry,))
    grower = {"name": str(filled["grower_name"])[:40]} if filled.get("grower_name") else {}
    told = {"rest_day": filled["rest_day"]} if filled.get("rest_day") else {}
    return Outcome(replies, (entry,), grower=grower, then=("begun", {"block": [number], **told}))


def _plants(when: Callable[[Filled, Farm], bool], optional: bool = False) -> Ask:
    return Ask("plants", "register_block.plants", possible_plants, when=when, optional=optional)


REGISTER_BLOCK = Dialog(
    "register_block",
    asks=(
        told("block", _number),
        told("name", short_name),
        told("village"),
        told("area_ha", possible_area),
        Ask("is_new", "register_block.is_it_new", when=_may_be_a_correction, values=_next_number, reads="confirm"),
        _plants(_neither_plants_nor_area),
        Ask("spacing_m", "register_block.spacing", possible_spacing, when=_is_registered_now, optional=True),
        _plants(_area_alone, optional=True),
        Ask(
            "plants_sure",
            "register_block.plants_or_area",
            possible_plants,
            when=_do_not_agree,
            values=_both_areas,
            reads="plants",
        ),
        Ask("planted", "register_block.planted", possible_planting, when=_is_registered_now, optional=True),
        Ask("soil", "register_block.soil", first_of, when=_is_registered_now, optional=True),
        Ask("water_source", "register_block.water_source", first_of, when=_is_registered_now, optional=True),
    ),
    finish=_register,
)
