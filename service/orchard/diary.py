"""The kinds of diary entry, and the blocks that they add up to.

| kind | values |
| --- | --- |
| `block` | `plants` `spacing_m` `spacing_ft` `area_ha` `planted` `soil` `water_source` `name` `village`, any of them: the first entry registers, later ones correct |
| `retired` | none |
| `cut_set` | `date`, `season` where named; the entry's day is the day on which it was said |
| `fruit` | `picked` (bool), `month` |
| `last_cut` | `month` ("YYYY-MM") |
| `rest_begun` | none; the entry's day is the day on which water was stopped |
| `rain` | `amount_mm` or `rain_word`, `village`; without a block it is about all the grower's blocks (in that village) |
| `watering` | `minutes` `litres_per_plant` `water_source`, any of them |
| `leaf_drop` | `percent` fallen |
| `spray` | `product`, `volume_l`, `job` |
| `done` | `job`, and `plants` or `percent` where only a part is done |
| `postponed` | `job`, `until` |
| `shoots` | `shoots` (`none` `few` `many`), `percent` |
| `trouble` | `trouble`, `plants` |
| `ruling` | `ruling`, `date`, `reason`, `adviser` |
"""  # noqa: E501 - a table row is one line

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from service.orchard.block import Block, area_from, exact_spacing, plants_from


@dataclass(frozen=True, slots=True)
class Entry:
    """One thing told about a farm.

    id: received order; a later entry replaces an earlier one about the same thing
    day: the farm day that it is about
    values: plain names and values as in the table above, dates as ISO strings
    at: when it was received (UTC)
    """

    id: int
    kind: str
    block: str | None
    day: date
    values: Mapping[str, Any]
    at: datetime
    said_by: str = "grower"


def blocks(entries: Iterable[Entry]) -> dict[str, Block]:
    """A grower's blocks by number, retired ones included; plants and area follow from each other where one is told.

    entries: the live entries of the grower in received order
    """
    told: dict[str, dict[str, Any]] = {}
    for entry in entries:
        if entry.block is None:
            continue
        if entry.kind == "block":
            known = told.setdefault(entry.block, {})
            if "retired" in known:  # the number is given again, to another block
                known.clear()
            if "spacing_m" in entry.values or "spacing_ft" in entry.values:
                known.pop("spacing_m", None)
                known.pop("spacing_ft", None)
            known.update(entry.values)
        elif entry.kind == "retired" and entry.block in told:
            told[entry.block]["retired"] = entry.day
    return {number: _block(number, values) for number, values in told.items()}


def _block(number: str, told: Mapping[str, Any]) -> Block:
    spacing_m, spacing_ft = _pair(told.get("spacing_m")), _pair(told.get("spacing_ft"))
    plants, area_ha = told.get("plants"), told.get("area_ha")
    spacing = exact_spacing(spacing_m, spacing_ft)
    if spacing and plants is None and area_ha is not None:
        plants = plants_from(area_ha, spacing)
    elif spacing and area_ha is None and plants is not None:
        area_ha = area_from(plants, spacing)
    return Block(
        number=number,
        name=told.get("name"),
        plants=plants,
        spacing_m=spacing_m,
        spacing_ft=spacing_ft,
        area_ha=area_ha,
        planted=told.get("planted"),
        soil=told.get("soil"),
        water_source=told.get("water_source"),
        village=told.get("village"),
        retired=told.get("retired"),
    )


def _pair(value: Any) -> tuple[float, float] | None:
    return None if value is None else (value[0], value[1])


def of_block(entries: Iterable[Entry], block: Block) -> tuple[Entry, ...]:
    """The entries about a block: its own, and those without a block unless they name another village than its."""
    return tuple(entry for entry in entries if _is_about(entry, block))


def _is_about(entry: Entry, block: Block) -> bool:
    if entry.block is not None:
        return entry.block == block.number
    village = entry.values.get("village")
    return village is None or block.village is None or village == block.village
