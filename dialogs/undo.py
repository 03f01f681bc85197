"""Take back what the last text wrote.

grower   undo
cutday   Taken back: 12 mm, Sat 5 Dec. Cut is Mon 4 Jan again.
"""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from dialogs.answers import about
from dialogs.dialog import Dialog, Filled, Outcome, Refused, Reply
from dialogs.farm import Farm

# Older writing is put right by a person or a fresh entry, not by one word.
LONGEST = timedelta(days=1)


def _take_back(filled: Filled, farm: Farm) -> Outcome:
    if not farm.writings:
        raise Refused("undo.nothing")
    last = farm.writings[0]
    if farm.now - last.at > LONGEST:
        raise Refused("undo.too_old")
    entries = [entry for entry in farm.entries if entry.id in last.entries]
    first = entries[0]
    before = farm.after(without=last.entries)
    blocks = list(dict.fromkeys(entry.block for entry in entries if entry.block is not None)) or list(farm.blocks)
    values: dict[str, Any] = {"date": first.day.isoformat(), "kind": first.kind, **about(blocks, farm)}
    values["taken"] = {"key": "kind." + first.kind}
    if first.kind == "block" and not any(number in before.every_block for number in blocks):
        values["taken"] = {"key": "kind.new_block"}
    if first.kind == "cut_set":
        values["date"] = first.values["date"]
    if "amount_mm" in first.values:
        values["mm"] = first.values["amount_mm"]
        values["taken"] = {"key": "rain.mm", "mm": values["mm"]}
    plans = {number: before.plan(number) for number in blocks if number in before.every_block}
    open_plans = [(number, plan) for number, plan in plans.items() if plan is not None and not plan.ended]
    if not open_plans:
        return Outcome((Reply("undo.taken_back", values),), voids=last.entries)
    if len(open_plans) == 1:
        plan = open_plans[0][1]
        return Outcome((Reply("undo.cut_again", {**values, **plan.values()}),), voids=last.entries)
    items = tuple({"block": number, **plan.values()} for number, plan in open_plans)
    return Outcome((Reply("undo.cuts_again", values, items),), voids=last.entries)


UNDO = Dialog("undo", asks=(), finish=_take_back)
