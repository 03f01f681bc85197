"""Record how much leaf has fallen: before the spray only noted, after it the answer to whether the cut can come.

grower   leaf 40
cutday   Kept: 40 percent, block 1, Sun 10 Jan (UNDO): too little to cut, 85 wanted. Do not spray again yourself ...
grower   nearly all gone 90
cutday   Kept: 90 percent fallen, block 1, Wed 20 Jan (UNDO). Ready. Copper Thu 21 Jan, cut Sun 24 Jan.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

from dialogs.answers import about, between, in_step, meant, past_day, which_block
from dialogs.dialog import Ask, Dialog, Filled, Matter, Outcome, Reply, told
from dialogs.farm import Farm, NewEntry
from dialogs.jobs import cut_begun
from service.orchard.plan import Plan

possible_percent = between(0, 100, "log_leaf_drop.possible")


def _on_which(filled: Filled, farm: Farm) -> Mapping[str, Any]:
    return {"blocks": meant(filled, farm)}


def _keep(filled: Filled, farm: Farm) -> Outcome:
    rows = in_step(filled, farm, "percent")
    entries = tuple(NewEntry("leaf_drop", number, day, seen) for number, day, seen in rows)
    after = farm.after(entries)
    looks = [
        (day, seen["percent"], *_look(seen["percent"], farm.plan(number), after.plan(number), farm))
        for number, day, seen in rows
    ]
    blocks = list(dict.fromkeys(number for number, _, _ in rows))
    matter = next((Matter(why, row[0]) for row, (*_, why) in zip(rows, looks, strict=True) if why is not None), None)
    wanted = {"wanted": farm.settings.leaf_fall_percent}
    day, percent, key, worded, _ = looks[0]
    if all(look == looks[0] for look in looks):
        items = tuple({"block": number, "percent": percent} for number in blocks) if len(blocks) > 1 else ()
        values = {**worded, **wanted, "date": day.isoformat(), "percent": percent, **about(blocks, farm)}
        return Outcome((Reply(key, values, items),), entries, matter=matter)
    items = tuple(
        {**worded, "key": _item_key(key), "block": number, "date": day.isoformat(), "percent": percent}
        for (number, _, _), (day, percent, key, worded, _) in zip(rows, looks, strict=True)
    )
    return Outcome((Reply("log_leaf_drop.several", {**wanted, **about(blocks, farm)}, items),), entries, matter=matter)


def _item_key(key: str) -> str:
    return key.replace("log_leaf_drop.", "log_leaf_drop.several.item_")


def _look(percent: int, before: Plan | None, after: Plan | None, farm: Farm) -> tuple[str, dict[str, Any], str | None]:
    """The text for what was seen, its figures, and why the adviser has to know."""
    if before is None or after is None or after.ended or cut_begun(after):
        return "log_leaf_drop.kept", {}, None
    values = after.values()
    spray = after.job("defoliate")
    wanted = farm.settings.leaf_fall_percent
    if spray is not None and spray.is_open:
        if percent >= wanted:
            return "log_leaf_drop.fell_by_itself", values, "leaves_fell_by_themselves"
        return "log_leaf_drop.before_spray", values, None
    if percent < wanted:
        return "log_leaf_drop.too_little", values, "leaves_not_falling"
    values["then"] = _then(after, farm.today)
    second = after.job("second_spray")
    bare = second is not None and second.dropped == "bare"
    return ("log_leaf_drop.bare" if bare else "log_leaf_drop.ready"), values, None


def _then(plan: Plan, today: date) -> Mapping[str, Any]:
    """The part of the sentence that says what comes now: copper where it is open, then the cut.

    A copper spray whose day has passed is to be done at once.
    """
    copper, cut = plan.job("copper"), plan.cut.isoformat()
    if copper is not None and copper.is_open:
        key = "then.copper_and_cut" if plan.fixed_by is None else "then.copper_and_fixed_cut"
        return {"key": key, "copper": max(copper.date, today).isoformat(), "cut": cut}
    return {"key": "then.fixed_cut" if plan.fixed_by is not None else "then.cut", "cut": cut}


LOG_LEAF_DROP = Dialog(
    "log_leaf_drop",
    asks=(
        which_block(),
        told("date", past_day),
        Ask("percent", "log_leaf_drop.how_much", possible_percent, values=_on_which),
    ),
    finish=_keep,
)
