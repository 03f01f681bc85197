"""No more texts. The exact word is obeyed at once; a wish understood any other way is asked back.

grower   stop
cutday   Stopped. No more texts. To start again text START. If someone is hurt we still answer.

grower   dont send so many msgs
cutday   Shall we stop all texts to this number? YES or NO.
"""

from __future__ import annotations

from dialogs.dialog import Ask, Dialog, Filled, Outcome, Reply, always
from dialogs.farm import Farm


def _is_unsure(filled: Filled, farm: Farm) -> bool:
    return bool(filled.get("unsure")) and not farm.grower.stopped


def _stop(filled: Filled, farm: Farm) -> Outcome:
    if filled.get("confirm") is False:
        return Outcome((Reply("stop.goes_on"),))
    replies = () if farm.grower.stopped else (Reply("stop.done"),)  # confirmed once: two robots end here
    return Outcome(replies, grower={"stopped": True})


STOP = Dialog(
    "stop",
    asks=(Ask("confirm", "stop.is_it", when=_is_unsure, waits=False),),
    finish=_stop,
    asks_itself=always,
)
