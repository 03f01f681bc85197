"""Texts again after a stop.

grower   start
cutday   Welcome back. We text you work days again. ...
"""

from __future__ import annotations

from dialogs.dialog import Dialog, Filled, Outcome, Reply
from dialogs.farm import Farm


def _resume(filled: Filled, farm: Farm) -> Outcome:
    if not farm.grower.stopped:
        return Outcome((Reply("resume.never_stopped"),))
    return Outcome((Reply("resume.done"),), grower={"stopped": False})


RESUME = Dialog("resume", asks=(), finish=_resume)
