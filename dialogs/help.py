"""What can be texted, for where the grower stands. In the middle of a dialogue the question is said again instead.

grower   help
cutday   Text RAIN 12 after rain, WORK for the jobs now, PLAN for dates, ... MORE for more.
"""

from __future__ import annotations

from dialogs.dialog import Dialog, Filled, Outcome, Reply
from dialogs.farm import Farm


def _help(filled: Filled, farm: Farm) -> Outcome:
    if farm.grower.stopped:
        return Outcome((Reply("help.stopped"),))
    if not farm.grower.joined:
        return Outcome((Reply("help.stranger"),))
    if not farm.blocks:
        return Outcome((Reply("help.no_block"),), more=(Reply("help.rest_more"),))
    return Outcome((Reply("help.rest"),), more=(Reply("help.rest_more"),))


def _nothing_to_leave(filled: Filled, farm: Farm) -> Outcome:
    return Outcome((Reply("cancel.nothing"),))


HELP = Dialog("help", asks=(), finish=_help)
CANCEL = Dialog("cancel", asks=(), finish=_nothing_to_leave)
