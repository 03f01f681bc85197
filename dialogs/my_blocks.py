"""List the blocks that are registered; from here one is corrected or taken off the list.

grower   my blocks
cutday   Block 1: 240 plants, black soil; block 2: 160 plants, red soil. To change one or take it off send its number.
grower   2
cutday   block 2: 160 plants, ... Wrong? Send e.g. RED SOIL. Off the list? YES.
grower   soil loam
cutday   Block 2 will be: 160 plants, 12 x 10 ft, loam soil ... Right? YES or NO.
grower   yes
cutday   Kept: block 2 ... UNDO if wrong.

Nothing is written before a yes.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from dialogs.answers import one_block, the_blocks
from dialogs.block_facts import (
    FACTS,
    first_of,
    possible_area,
    possible_planting,
    possible_plants,
    possible_spacing,
    short_name,
    shown,
    told_facts,
)
from dialogs.dialog import Ask, Dialog, Filled, Outcome, Refused, Reply, told
from dialogs.farm import Farm, NewEntry

IN_ONE_TEXT = 3
# "take it off" reads as taking back what was told, where nothing else is asked.
TAKE_OFF = frozenset({"undo"})


def _list(filled: Filled, farm: Farm) -> Outcome:
    if not farm.blocks:
        raise Refused("block.none_yet")
    if len(farm.blocks) == 1:
        (number,) = farm.blocks
        reply = Reply("my_blocks.one", shown(farm.blocks[number]))
        return Outcome((reply,), puts=("change_block", {"block": [number]}, "gone"))
    items = tuple(shown(block) for block in farm.blocks.values())
    texts = tuple(Reply("my_blocks.list", {}, items[at:]) for at in range(0, len(items), IN_ONE_TEXT))
    return Outcome(texts[:1], more=texts[1:], puts=("change_block", {}, "block"))


def _which_is_open(filled: Filled, farm: Farm) -> bool:
    return len(farm.blocks) != 1


def _number(filled: Filled, farm: Farm) -> str:
    return str(filled["block"][0]) if filled.get("block") else next(iter(farm.blocks))


def _nothing_told(filled: Filled, farm: Farm) -> bool:
    return not any(filled.get(fact) is not None for fact in FACTS)


def _something_told(filled: Filled, farm: Farm) -> bool:
    return not _nothing_told(filled, farm)


def _is_to_go(filled: Filled, farm: Farm) -> bool:
    """A yes that may only have been meant as thanks for the list: it is asked once more."""
    return bool(filled.get("gone")) and _nothing_told(filled, farm)


def _as_it_stands(filled: Filled, farm: Farm) -> Mapping[str, Any]:
    return shown(farm.blocks[_number(filled, farm)])


def _as_it_would_be(filled: Filled, farm: Farm) -> Mapping[str, Any]:
    return shown(farm.after([_correction(filled, farm)]).blocks[_number(filled, farm)])


def _correction(filled: Filled, farm: Farm) -> NewEntry:
    return NewEntry("block", _number(filled, farm), farm.sent_on, told_facts(filled))


def _change(filled: Filled, farm: Farm) -> Outcome:
    number = _number(filled, farm)
    day = farm.sent_on.isoformat()
    if filled.get("off") and _is_to_go(filled, farm):
        entry = NewEntry("retired", number, farm.sent_on, {})
        return Outcome((Reply("change_block.retired", {"block": number, "date": day}),), (entry,))
    if _nothing_told(filled, farm) or not filled.get("confirm"):
        return Outcome((Reply("change_block.left", {"block": number}),))
    entry = _correction(filled, farm)
    after = farm.after([entry])
    values = {**shown(after.blocks[number]), "date": day}
    before, plan = farm.plan(number), after.plan(number)
    if before is None or plan is None or plan.ended or plan.cut == before.cut:
        return Outcome((Reply("change_block.kept", values),), (entry,))
    moved = {"block": number, "old_cut": before.cut.isoformat(), **plan.values()}
    return Outcome((Reply("change_block.kept", values), Reply("change_block.moved", moved)), (entry,))


MY_BLOCKS = Dialog("my_blocks", asks=(), finish=_list)

CHANGE_BLOCK = Dialog(
    "change_block",
    asks=(
        Ask("block", "change_block.which", one_block, when=_which_is_open, values=the_blocks, waits=False),
        told("name", short_name),
        told("plants", possible_plants),
        told("spacing_m", possible_spacing),
        told("area_ha", possible_area),
        told("planted", possible_planting),
        told("soil", first_of),
        told("water_source", first_of),
        Ask(
            "gone",
            "change_block.what",
            when=_nothing_told,
            values=_as_it_stands,
            reads="soil",
            or_yes=True,
            yes_by=TAKE_OFF,
            waits=False,
        ),
        Ask(
            "off",
            "change_block.is_off",
            when=_is_to_go,
            values=_as_it_stands,
            reads="confirm",
            yes_by=TAKE_OFF,
            waits=False,
        ),
        Ask("confirm", "change_block.is_right", when=_something_told, values=_as_it_would_be),
    ),
    finish=_change,
    takes=frozenset({"register_block"}),
)
