"""The table of tasks: what it adds up is what its lines say one by one."""

import random

import pytest

from dialogs.lexicon import CONCEPTS
from dialogs.understanding.tasks import task_table


@pytest.mark.parametrize("against", [1.0, 0.35])
def test_a_score_is_the_sum_of_the_lines_that_hold(against: float) -> None:
    """For concepts drawn at random, and in the order of the table, which decides between equals."""
    table, chance = task_table(), random.Random(1)
    concepts = CONCEPTS.names((1 << 2000) - 1)
    for count in (0, 1, 2, 5, 10, 20, 40) * 30:
        present = sum(CONCEPTS.bit(name) for name in chance.sample(concepts, count))

        sums = {
            task: sum(
                line.weight if line.weight > 0 else line.weight * against for line in table.evidence(task, present)
            )
            for task in table.lines
        }

        scores = {task: score for task, score in table.scores(present, against).items() if score > 1e-9}
        assert list(scores.items()) == [(task, pytest.approx(sum_)) for task, sum_ in sums.items() if sum_ > 1e-9]
