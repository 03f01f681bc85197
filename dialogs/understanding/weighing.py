"""Rules and model together: whose word on the task is taken, and whether it is sure enough to write on.

The bounds were chosen on texts of authors that neither rules nor model had seen.
"""

import math
from collections.abc import Mapping

from dialogs.understanding.tasks import WRITES

# How much likelier, as a logarithm, the model must hold its own task than that of the rules to be followed.
LEAD = 1.5
LEAD_OVER_UNCLEAR = 0.5
LEAD_OVER_HURT = 2.0
# A call for help is heard from this share on: a call that is missed is worse than one heard where none was.
LEAST_HURT = 0.25
SURE = 0.8
LEAST_HEARD = 0.1  # of all, "answer" too: below it, what is left over for the tasks says nothing
ENDINGS = ("stop", "delete_me")  # even the question is unwelcome to who did not ask


def weighed(task: str, shares: Mapping[str, float], asked: bool) -> tuple[str, bool]:
    """The task to take, given the rules' own and the model's shares, and whether to ask back before a write.

    asked: a slot is being asked for; without it nothing is an answer
    """
    if task != "hurt" and shares.get("hurt", 0.0) >= LEAST_HURT:
        return "hurt", False
    # A text that names a task's own thing is that task, whatever is asked for.
    named = not asked or task not in ("answer", "unclear")
    other = max((name for name in shares if name != "answer" or not named), key=shares.__getitem__, default=task)
    lead = math.log(max(shares.get(other, 0.0), 1e-9) / max(shares.get(task, 0.0), 1e-9))
    needed = {"hurt": LEAD_OVER_HURT, "unclear": LEAD_OVER_UNCLEAR}.get(task, LEAD)
    heard = shares.get(other, 0.0) >= LEAST_HEARD
    if other != task and heard and lead > needed and not (other in ENDINGS and shares[other] < SURE):
        return other, other in WRITES
    among = 1.0 - shares.get("answer", 0.0) if named else 1.0  # of the tasks, where it is no answer
    return task, task in WRITES and (other != task or shares.get(task, 0.0) < SURE * among)
