"""Joining: nothing is kept of a farm, and nothing sent, before the grower agrees.

grower   hello sunanda upper neem
cutday   Welcome Sunanda. We text you work days, free for you; your replies cost your own rate. Agree? YES or NO.
grower   yes
cutday   You have joined ...

What the first text said of a farm waits for the yes and is then taken as if it had come after it.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from dialogs.dialog import Ask, Dialog, Filled, Outcome, Reply, told
from dialogs.farm import Farm


def _is_new(filled: Filled, farm: Farm) -> bool:
    return not farm.grower.joined


def _agreed(filled: Filled, farm: Farm) -> Outcome:
    if farm.grower.joined:  # who has joined and says hello is not asked again
        return Outcome(then=("help", {}))
    if not filled["confirm"]:
        return Outcome((Reply("join.declined"),))
    grower: dict[str, Any] = {"joined": True, "stopped": False}
    grower |= {slot: filled[slot] for slot in ("name", "village") if filled.get(slot)}
    first = filled.get("first")
    if first:
        return Outcome(grower=grower, then=(first["task"], first["slots"]))
    return Outcome(grower=grower, then=("who", {}))


def _name_in_the_welcome(filled: Filled, farm: Farm) -> Mapping[str, Any]:
    return {"name": filled["name"]} if filled.get("name") else {}


def _no_name(filled: Filled, farm: Farm) -> bool:
    return not farm.grower.name


def _no_village(filled: Filled, farm: Farm) -> bool:
    return not farm.grower.village


def _known_now(filled: Filled, farm: Farm) -> Outcome:
    said = {slot: str(filled[slot])[:40] for slot in ("name", "village") if filled.get(slot)}
    return Outcome((Reply("join.what_next"),), grower=said)


JOIN = Dialog(
    "join",
    asks=(
        told("first"),
        told("name"),
        told("village"),
        Ask("confirm", "join.agree", when=_is_new, values=_name_in_the_welcome),
    ),
    finish=_agreed,
)
WHO = Dialog(
    "who",
    asks=(
        Ask("name", "join.name", when=_no_name, optional=True),
        Ask("village", "join.village", when=_no_village, reads="name", optional=True),
    ),
    finish=_known_now,
)
