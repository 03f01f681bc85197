"""Someone is hurt: first steps at once, then a person is called. No dose, no diary entry, no question.

grower   spray went in his eyes
cutday   Wash the eyes now, clean running water, 15 minutes ... doctor or call 112 with the label. We ring you.
"""

from __future__ import annotations

from dialogs.dialog import Dialog, Filled, Matter, Outcome, Reply
from dialogs.farm import Farm


def _first_steps(filled: Filled, farm: Farm) -> Outcome:
    values = {"emergency_number": farm.emergency_number}
    return Outcome((Reply("hurt.first_steps", values),), matter=Matter("hurt"), more=(Reply("hurt.more", values),))


HURT = Dialog("hurt", asks=(), finish=_first_steps)
