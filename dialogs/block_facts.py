"""What a grower may tell of a block: which values are possible, and how they are shown.

Shared by registering a block and correcting one.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

from dialogs.answers import between, listed
from dialogs.dialog import AskAgain, Filled
from dialogs.farm import Farm
from service.orchard.block import M_PER_FT, Block

# What can be: wide enough for any orchard that one household works, narrow enough to catch a slip of the thumb.
MOST_PLANTS = 50_000
SPACING_M = (1, 10)
SPACING_FT = (3, 33)
AREA_HA = (0.01, 100)
OLDEST_YEARS = 60
LONGEST_NAME = 20

FACTS = ("plants", "spacing_m", "spacing_ft", "area_ha", "planted", "soil", "water_source", "name")

possible_area = between(*AREA_HA, "block_fact.area_possible")


def possible_plants(value: Any, filled: Filled, farm: Farm) -> int:
    """One count of plants; two different ones are asked back."""
    if len(listed(value)) != 1 or not 1 <= listed(value)[0] <= MOST_PLANTS:
        raise AskAgain("block_fact.plants_possible", least=1, most=MOST_PLANTS)
    return int(listed(value)[0])


def possible_spacing(value: Any, filled: Filled, farm: Farm) -> list[float]:
    """Row and plant distance [m]; one number is both."""
    pair = [float(each) for each in listed(value)]
    pair = pair * 2 if len(pair) == 1 else pair
    if len(pair) != 2 or not all(SPACING_M[0] <= each <= SPACING_M[1] for each in pair):
        least_ft, most_ft = SPACING_FT
        raise AskAgain(
            "block_fact.spacing_possible", least=SPACING_M[0], most=SPACING_M[1], least_ft=least_ft, most_ft=most_ft
        )
    return pair


def possible_planting(value: Any, filled: Filled, farm: Farm) -> str:
    """A month ("YYYY-MM") or year ("YYYY") that is not to come and not before any tree now standing."""
    planted = str(listed(value)[0])
    oldest = farm.today.year - OLDEST_YEARS
    this_month = f"{farm.today:%Y-%m}"
    if planted > this_month or int(planted[:4]) < oldest:
        raise AskAgain("block_fact.planting_possible", year=str(oldest), month=this_month)
    return planted


def first_of(value: Any, filled: Filled, farm: Farm) -> Any:
    """One block has one soil, one way of watering: the first that was named."""
    return listed(value)[0]


def short_name(value: Any, filled: Filled, farm: Farm) -> str:
    return str(listed(value)[0]).strip()[:LONGEST_NAME]


def told_facts(filled: Filled) -> dict[str, Any]:
    """What was told of a block, as its diary entry keeps it: feet stay feet, an acre is not rounded."""
    facts = {fact: filled[fact] for fact in FACTS if filled.get(fact) is not None and fact != "spacing_ft"}
    feet = filled.get("spacing_ft")
    if feet and "spacing_m" in facts and _are_the_same(feet, facts["spacing_m"]):
        facts["spacing_ft"] = [float(each) for each in feet]
    exact = filled.get("area_typed_ha")
    if exact and "area_ha" in facts and abs(exact - facts["area_ha"]) <= 0.006:  # area_ha is rounded to 0.01
        facts["area_ha"] = float(exact)
    return facts


def _are_the_same(feet: Sequence[float], metres: Sequence[float]) -> bool:
    """Whether both tell one spacing: feet that were typed before a correction in metres no longer count."""
    pairs = zip(feet, metres, strict=False)
    return len(feet) == len(metres) and all(abs(ft * M_PER_FT - m) <= 0.06 for ft, m in pairs)  # m is rounded to 0.1


def shown(block: Block) -> dict[str, Any]:
    """The values of a text that tells all that is known of a block; what is not known is said to be so."""
    values: dict[str, Any] = {
        "block": block.number,
        "plot": {"key": "plot.number", "block": block.number},
        "count": {"key": "count.unknown"},
        "distance": {"key": "distance.unknown"},
        "ground": {"key": "ground.unknown"},
        "watering": {"key": "watering.unknown"},
        "planting": {"key": "planting.unknown"},
    }
    if block.name:
        values["plot"] = {"key": "plot.named", "block": block.number, "name": block.name}
    if block.plants is not None:
        values |= {"plants": block.plants, "count": {"key": "count.plants", "plants": block.plants}}
    if block.area_ha is not None:
        area = round(block.area_ha, 2)
        values |= {"area_ha": area}
        if block.plants is None:
            values["count"] = {"key": "count.area", "area": area}
    if block.spacing_ft is not None:
        values["distance"] = {"key": "distance.feet", "row": block.spacing_ft[0], "plant": block.spacing_ft[1]}
    elif block.spacing_m is not None:
        values["distance"] = {"key": "distance.metres", "row": block.spacing_m[0], "plant": block.spacing_m[1]}
    if block.soil is not None:
        values |= {"soil": block.soil, "ground": {"key": "ground.soil", "soil": block.soil}}
    if block.water_source is not None:
        values["water_source"] = block.water_source
        values["watering"] = {"key": "watering.source", "water_source": block.water_source}
    if block.planted is not None:
        values |= {"planted": block.planted, "planting": {"key": "planting.month", "planted": block.planted}}
    return values


def old_enough_from(block: Block, months: int) -> date:
    """The first day of the month in which a block reaches an age; its planting must be known."""
    year, _, month = (block.planted or "").partition("-")
    reached = int(year) * 12 + (int(month) if month else 7) - 1 + months  # a year alone counts from its middle, July
    return date(reached // 12, reached % 12 + 1, 1)
