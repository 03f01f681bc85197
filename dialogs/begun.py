"""After a block is registered: how far its rest has come already. Each answer is kept before the next is asked.

cutday   Block 1: is its water already stopped for the rest? Send the day it stopped, e.g. 20 NOV. Or NO.
grower   20 nov
cutday   Kept: water off Fri 20 Nov, block 1. Leaf spray Thu 17 Dec, cut Mon 4 Jan. UNDO if wrong.
cutday   Are its leaves already sprayed to fall? Send the day. Or NO.
grower   no
cutday   Any rain on block 1 since Fri 20 Nov? Text each with its day, e.g. RAIN 12 5 DEC. NO when that is all.
grower   no
cutday   All told. Text RAIN 12 after any rain.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

from dialogs.answers import between, listed, one_block, past_day
from dialogs.dialog import Ask, AskAgain, Dialog, Filled, Outcome, Reply, told
from dialogs.farm import Farm, NewEntry
from dialogs.log_rain import MUCH_MM, kept

# A rest begun longer ago belongs to an earlier crop: the longest rest and all that follows it are over by then.
LONGEST_CYCLE_DAYS = 180


def _on_file(kind: str, filled: Filled, farm: Farm) -> date | None:
    """The day of a step that is on file, from this dialogue or from a text that came between."""
    days = [
        entry.day
        for entry in farm.entries
        if entry.block in filled["block"]
        and entry.kind == kind
        and (kind != "spray" or entry.values.get("product") == "ethephon")
        and (kind != "done" or entry.values.get("job") == "cut")
    ]
    return days[-1] if days else None


def _a_day_of_it(value: Any, filled: Filled, farm: Farm) -> str:
    """A day of the present cycle: not to come, not of an earlier crop, not before the step that comes first."""
    day = date.fromisoformat(listed(value)[0])
    if day > farm.today:
        raise AskAgain("day.still_to_come", date=day.isoformat())
    if (farm.today - day).days > LONGEST_CYCLE_DAYS:
        raise AskAgain("begun.too_long_ago", date=day.isoformat())
    first = _on_file("spray", filled, farm) or _on_file("rest_begun", filled, farm)
    if first is not None and day < first:
        raise AskAgain("begun.before_that", date=day.isoformat(), first=first.isoformat())
    return day.isoformat()


def _rest_is_open(filled: Filled, farm: Farm) -> bool:
    return _on_file("rest_begun", filled, farm) is None


def _spray_is_open(filled: Filled, farm: Farm) -> bool:
    return _on_file("spray", filled, farm) is None


def _cut_is_open(filled: Filled, farm: Farm) -> bool:
    return _on_file("done", filled, farm) is None


def _the_block(filled: Filled, farm: Farm) -> Mapping[str, Any]:
    return {"block": filled["block"][0]}


def _since(filled: Filled, farm: Farm) -> Mapping[str, Any]:
    day = _on_file("rest_begun", filled, farm) or farm.today
    return {"block": filled["block"][0], "date": day.isoformat()}


def _is_denied(slot: str, filled: Filled) -> bool:
    """Whether the question was answered by no; one that was not put is on file."""
    return slot in filled and filled[slot] is None


def _kept(key: str, needs: set[str], entry: NewEntry, farm: Farm) -> Reply:
    """The echo of a step with the plan that follows from it."""
    block = entry.block or ""
    values: dict[str, Any] = {"block": block, "date": entry.day.isoformat()}
    plan = farm.after([entry]).plan(block)
    if plan is not None and plan.season_missed and "cut" in plan.values():
        last = {"last_good_day": plan.last_good_day.isoformat()}
        return Reply("begun.kept_missed", {**plan.values(), **values, **last, "kind": entry.kind})
    if plan is not None and needs <= plan.values().keys():
        return Reply(key, {**plan.values(), **values})
    return Reply("begun.kept", {**values, "kind": entry.kind})


def _rest(filled: Filled, farm: Farm) -> Outcome:
    block = filled["block"][0]
    if _is_denied("rest_day", filled):
        return Outcome((Reply("begun.not_yet", {"block": block}),))
    following = ("begun_spray", {"block": [block]})
    if "rest_day" not in filled:
        return Outcome(then=following)
    entry = NewEntry("rest_begun", block, date.fromisoformat(filled["rest_day"]), {})
    return Outcome((_kept("begun.kept_rest", {"defoliate", "cut"}, entry, farm),), (entry,), then=following)


def _spray(filled: Filled, farm: Farm) -> Outcome:
    block = filled["block"][0]
    if _is_denied("spray_day", filled):
        return Outcome(then=("begun_rains", {"block": [block]}))
    following = ("begun_cut", {"block": [block]})
    if "spray_day" not in filled:
        return Outcome(then=following)
    values = {"product": "ethephon", "job": "defoliate"}
    entry = NewEntry("spray", block, date.fromisoformat(filled["spray_day"]), values)
    return Outcome((_kept("begun.kept_spray", {"leaf_check", "cut"}, entry, farm),), (entry,), then=following)


def _cut(filled: Filled, farm: Farm) -> Outcome:
    block = filled["block"][0]
    if not filled.get("cut_day"):
        return Outcome(then=("begun_rains", {"block": [block]})) if "cut_day" in filled else Outcome()
    entry = NewEntry("done", block, date.fromisoformat(filled["cut_day"]), {"job": "cut"})
    return Outcome((_kept("begun.kept_cut", {"clean", "water"}, entry, farm),), (entry,))


def _rains(filled: Filled, farm: Farm) -> Outcome:
    """Keep a rain and ask for the next, until there is none."""
    block = filled["block"][0]
    amounts = [amount for amount in listed(filled.get("rains")) if amount is not None]
    if not amounts:
        return Outcome((Reply("begun.all_told"),))
    days = listed(filled["date"]) if filled.get("date") else [farm.sent_on.isoformat()]
    entries = tuple(
        NewEntry("rain", block, date.fromisoformat(days[min(at, len(days) - 1)]), {"amount_mm": amount})
        for at, amount in enumerate(amounts)
    )
    reply, why = kept(entries, farm)
    return Outcome((reply,), entries, why=why, then=("begun_rains", {"block": [block]}))


def _step(name: str, ask: Ask, finish: Any) -> Dialog:
    return Dialog(name, asks=(told("block", one_block), told("date", past_day), ask), finish=finish)


BEGUN = _step(
    "begun",
    Ask("rest_day", "begun.rest", _a_day_of_it, when=_rest_is_open, values=_the_block, reads="date", optional=True),
    _rest,
)
BEGUN_SPRAY = _step(
    "begun_spray",
    Ask("spray_day", "begun.spray", _a_day_of_it, when=_spray_is_open, values=_the_block, reads="date", optional=True),
    _spray,
)
BEGUN_CUT = _step(
    "begun_cut",
    Ask("cut_day", "begun.cut", _a_day_of_it, when=_cut_is_open, values=_the_block, reads="date", optional=True),
    _cut,
)
BEGUN_RAINS = _step(
    "begun_rains",
    Ask(
        "rains",
        "begun.rains",
        between(0, MUCH_MM, "begun.rain_possible"),
        values=_since,
        reads="amount_mm",
        optional=True,
    ),
    _rains,
)
