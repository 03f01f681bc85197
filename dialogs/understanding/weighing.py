"""Rules and model together: how likely each task is, which is taken, and whether it is sure enough to write on.

A conditional logit over the tasks: each is the likelier the larger its share by the model, the more points the rules
gave it, and if it is the one the rules chose. The weights were fitted on 1,660 texts in seven languages, of authors
that neither rules nor model had seen.
"""

import math
from collections.abc import Collection, Mapping, Sequence

from dialogs.understanding.tasks import WRITES

SHARE, CHOSEN, POINT = 0.78, 0.72, 0.082
MOST_POINTS = 20.0  # more say no more
# The model's texts are not as common as those of growers: it learns from many calls for help, and from little chatter.
USUAL = {"hurt": -1.85, "unclear": 0.84}
LEAST_SHARE = 1e-6
# A call for help is heard from here on: a call that is missed is worse than one heard where none was.
LEAST_HURT = 0.02
SURE = 0.9  # below it, on unseen texts, half of the writes were something else
LEAST_HEARD = 0.1  # what the model leaves to the tasks that a text can be: below it, it says nothing of them
ENDINGS = ("stop", "delete_me")  # even the question is unwelcome to who did not ask


def together(
    chosen: str, points: Sequence[tuple[str, float]], shares: Mapping[str, float], never: Collection[str]
) -> dict[str, float]:
    """How likely each task is, together 1: the rules' choice and points, and the model's shares.

    never: tasks that it cannot be
    """
    sums = {task: SHARE * math.log(max(share, LEAST_SHARE)) for task, share in shares.items()}
    sums.setdefault(chosen, SHARE * math.log(LEAST_SHARE))
    sums[chosen] += CHOSEN
    for task, usual in USUAL.items():
        if task in sums:
            sums[task] += usual
    for task, score in points:
        if task in sums:
            sums[task] += POINT * min(score, MOST_POINTS)
    for task in never:
        if task != chosen:
            sums.pop(task, None)
    highest = max(sums.values())
    odds = {task: math.exp(total - highest) for task, total in sums.items()}
    whole = sum(odds.values())
    return {task: odd / whole for task, odd in odds.items()}


def weighed(chosen: str, likely: Mapping[str, float]) -> tuple[str, bool]:
    """The task to take, given the rules' own and how likely each is, and whether to ask back before a write.

    A write where the rules chose another task is asked back, however likely. A task that is named and its value as an
    answer say the same.
    """
    if likely.get("hurt", 0.0) >= LEAST_HURT:
        return "hurt", False
    task = max(likely, key=likely.__getitem__)
    if task in ENDINGS and task != chosen and likely[task] < SURE:
        task = chosen
    sure = likely[task] >= SURE * (1.0 - likely.get("answer", 0.0))
    return task, task in WRITES and not (sure and chosen in (task, "answer"))
