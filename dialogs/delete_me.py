"""Erase who the grower is and what was typed. Always asked back: it cannot be undone.

grower   delete my number and everything u have on me
cutday   Erase your name, number and texts for good? No more texts, no UNDO. YES or NO.
grower   yes
cutday   Erased. ...
"""

from __future__ import annotations

from dialogs.dialog import Ask, Dialog, Filled, Outcome, Reply, always
from dialogs.farm import Farm


def _erase(filled: Filled, farm: Farm) -> Outcome:
    if not filled["confirm"]:
        return Outcome((Reply("delete_me.kept"),))
    return Outcome((Reply("delete_me.done"),), erase=True)


DELETE_ME = Dialog(
    "delete_me", asks=(Ask("confirm", "delete_me.is_it", waits=False),), finish=_erase, asks_itself=always
)
