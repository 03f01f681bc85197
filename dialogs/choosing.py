"""Questions about what a text meant: which of several readings, whether one is right, whether to go on.

grower   30
cutday   I did not understand. Is it: 1 rain, 2 leaf fall, 3 none of these?
grower   1
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from dialogs.dialog import Ask, AskAgain, Dialog, Filled, Matter, Outcome, Reply, told
from dialogs.farm import Farm


def _one_of_them(value: Any, filled: Filled, farm: Farm) -> int:
    if not isinstance(value, int) or not 1 <= value <= len(filled["readings"]) + 1:
        raise AskAgain("choose.which", **_choices(filled, farm))
    return value


def _choices(filled: Filled, farm: Farm) -> Mapping[str, Any]:
    choices = [{"key": "choose.one", "number": i + 1, "task": one["task"]} for i, one in enumerate(filled["readings"])]
    return {"choices": choices, "none": len(choices) + 1}


def _go_with_it(filled: Filled, farm: Farm) -> Outcome:
    if filled["choice"] > len(filled["readings"]):
        return Outcome((Reply("lost.to_person"),), matter=Matter("not_understood"))
    reading = filled["readings"][filled["choice"] - 1]
    return Outcome(then=(reading["task"], reading["slots"]))


def _if_right(filled: Filled, farm: Farm) -> Outcome:
    if filled["confirm"]:
        return Outcome(then=(filled["task"], filled["slots"]))
    return Outcome((Reply("lost.say_again"),))


def _go_on(filled: Filled, farm: Farm) -> Outcome:
    if filled["confirm"]:
        return Outcome(then=(filled["dialog"], filled["known"]))
    return Outcome((Reply("cancel.left"),))


# What a question back shows of the values that were read, in this order.
SHOWN = ("block", "date", "amount_mm", "rain_word", "percent", "job", "product", "plants", "minutes", "delay_days")


def _what(filled: Filled, farm: Farm) -> Mapping[str, Any]:
    return {"task": filled["task"]}


def _read(filled: Filled, farm: Farm) -> Mapping[str, Any]:
    said = [{"key": f"said.{slot}", slot: filled["slots"][slot]} for slot in SHOWN if slot in filled["slots"]]
    if not said:
        return {"what": {"key": "sure.task", "task": filled["task"]}}
    return {"what": {"key": "sure.task_with", "task": filled["task"], "said": said}}


CHOOSE = Dialog(
    "choose",
    asks=(told("readings"), Ask("choice", "choose.which", _one_of_them, values=_choices, reads="job", waits=False)),
    finish=_go_with_it,
)
SURE = Dialog("sure", asks=(Ask("confirm", "sure.is_it", values=_read, waits=False),), finish=_if_right)
GO_ON = Dialog("go_on", asks=(Ask("confirm", "go_on.shall_we", values=_what, waits=False),), finish=_go_on)
