"""Record a watering. In the rest it costs days; after the cut it is the first water.

grower   watered block 2
cutday   How long was block 2 watered? Send e.g. 90 MIN or 20 LITRES A PLANT; NO if not known.
grower   3 and half hours
cutday   Kept: watered 210 min, block 2, Fri 9 Jan (UNDO). ...
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from dialogs.answers import about, between, in_step, meant, past_day, which_block
from dialogs.dialog import Ask, Dialog, Filled, Matter, Outcome, Reply, told
from dialogs.farm import Farm, NewEntry
from service.orchard.plan import Plan

SHORTEST_MINUTES, LONGEST_MINUTES = 5, 1440
LEAST_LITRES, MOST_LITRES = 0.1, 1000
MISSED = "log_watering.season_missed"

possible_minutes = between(SHORTEST_MINUTES, LONGEST_MINUTES, "log_watering.minutes_possible")
possible_litres = between(LEAST_LITRES, MOST_LITRES, "log_watering.litres_possible")


def _no_amount(filled: Filled, farm: Farm) -> bool:
    return filled.get("litres_per_plant") is None


def _on_which(filled: Filled, farm: Farm) -> Mapping[str, Any]:
    return {"blocks": meant(filled, farm)}


def _keep(filled: Filled, farm: Farm) -> Outcome:
    rows = in_step(filled, farm, "minutes", "litres_per_plant", "water_source")
    entries = tuple(NewEntry("watering", number, day, amounts) for number, day, amounts in rows)
    after = farm.after(entries)
    told = [(day, amounts, *_effect(number, farm.plan(number), after.plan(number))) for number, day, amounts in rows]
    blocks = list(dict.fromkeys(number for number, _, _ in rows))
    missed = next((row[0] for row, each in zip(rows, told, strict=True) if each[2] == MISSED), None)
    matter = Matter("season_missed", missed) if missed is not None else None
    day, amounts, key, moved = told[0]
    if all(each == told[0] for each in told):
        items = tuple({"block": number} for number in blocks) if len(blocks) > 1 else ()
        values = {**moved, "date": day.isoformat(), "how_watered": _in_words(amounts), **amounts}
        return Outcome(
            (Reply(key, {**values, **about(blocks, farm)}, items),), entries, why=_why(key, moved), matter=matter
        )
    items = tuple(
        {**moved, **amounts, "key": _item_key(key), "block": number, "date": day.isoformat()}
        for (number, _, _), (day, amounts, key, moved) in zip(rows, told, strict=True)
    )
    return Outcome((Reply("log_watering.several", about(blocks, farm), items),), entries, matter=matter)


def _item_key(key: str) -> str:
    return key.replace("log_watering.", "log_watering.several.item_")


def _why(key: str, moved: Mapping[str, Any]) -> Reply | None:
    return Reply("log_watering.why", moved) if key == "log_watering.rest_lost" else None


def _in_words(amounts: Mapping[str, Any]) -> Mapping[str, Any]:
    """The part of the sentence that says how much."""
    if "minutes" in amounts and "litres_per_plant" in amounts:
        return {"key": "water.minutes_and_litres", **amounts}
    if "minutes" in amounts:
        return {"key": "water.minutes", **amounts}
    if "litres_per_plant" in amounts:
        return {"key": "water.litres", **amounts}
    return {"key": "water.unknown"}


def _effect(number: str, before: Plan | None, after: Plan | None) -> tuple[str, dict[str, Any]]:
    """What the watering did to the block's plan: the text and the figures that it names."""
    if before is None or after is None:
        return "log_watering.kept", {}
    first, now = before.job("water"), after.job("water")
    if first is not None and first.is_open and (now is None or not now.is_open):
        return "log_watering.first", after.values()
    cut = after.job("cut")
    if cut is None or not cut.is_open or not after.rest_reported:
        return "log_watering.kept", after.values()
    values = {"old_cut": before.cut.isoformat(), **after.values()}
    if after.season_missed and not before.season_missed:
        return MISSED, values
    if after.cut > before.cut:
        return "log_watering.rest_lost", {**values, "water_days": (after.cut - before.cut).days}
    return "log_watering.rest_stands", values


LOG_WATERING = Dialog(
    "log_watering",
    asks=(
        which_block(),
        told("date", past_day),
        told("litres_per_plant", possible_litres),
        Ask("minutes", "log_watering.how_long", possible_minutes, when=_no_amount, values=_on_which, optional=True),
        told("water_source"),
    ),
    finish=_keep,
)
