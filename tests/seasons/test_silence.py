"""A grower who falls silent at any job: said on its day, once more the next morning, asked once as its window ends.

Windows are the days after the job's day in which it can still be done: rest 3, leaf spray 5, leaf check 6, copper to
the day before the cut, cut 7, second spray 5, cleaning 2, last cleaning 4, first water 10.
"""

from typing import Any

import pytest

from tests.seasons.test_moved import RESTED, advance
from tests.seasons.test_seasons import cut, morning, play, reminders, says, spray

REPORTS = [
    ("rest", "2026-11-20T09:00", "stopped water on block 1"),
    ("defoliate", "2026-12-17T09:00", "sprayed"),
    ("leaf_check", "2026-12-27T09:00", "leaf 90"),
    ("copper", "2027-01-01T09:00", "copper sprayed"),
    ("cut", "2027-01-04T18:00", "cut done"),
    ("clean", "2027-01-05T09:00", "cleaned"),
    ("second_spray", "2027-01-06T09:00", "sprayed"),
    ("water", "2027-01-11T09:00", "watered 70 minutes"),
    ("second_clean", "2027-01-13T09:00", "cleaned"),
]
SILENCE = {
    "rest": [
        *morning("2026-11-20", "rest"),
        *morning("2026-11-21", "rest", "2026-11-20"),
        *morning("2026-11-24", "rest", "2026-11-20"),
    ],
    "defoliate": [
        *spray("2026-12-16", "2026-12-17"),
        *morning("2026-12-18", "defoliate", "2026-12-17"),
        *morning("2026-12-23", "defoliate", "2026-12-17"),
    ],
    "leaf_check": [
        *morning("2026-12-27", "leaf_check"),
        *morning("2026-12-28", "leaf_check", "2026-12-27"),
        *morning("2027-01-03", "leaf_check", "2026-12-27"),
    ],
    "copper": [
        *morning("2027-01-01", "copper"),
        *morning("2027-01-02", "copper", "2027-01-01"),
        *morning("2027-01-04", "copper", "2027-01-01"),
    ],
    "cut": [
        *cut("2027-01-03", "2027-01-04"),
        *morning("2027-01-05", "cut", "2027-01-04"),
        *morning("2027-01-12", "cut", "2027-01-04"),
    ],
    "clean": [
        *morning("2027-01-05", "clean", "2027-01-04"),
        *morning("2027-01-06", "clean", "2027-01-04"),
        *morning("2027-01-07", "clean", "2027-01-04"),
    ],
    "second_spray": [
        *morning("2027-01-06", "second_spray"),
        *morning("2027-01-07", "second_spray", "2027-01-06"),
        *morning("2027-01-12", "second_spray", "2027-01-06"),
    ],
    "water": [
        *morning("2027-01-11", "water"),
        *morning("2027-01-12", "water", "2027-01-11"),
        *morning("2027-01-22", "water", "2027-01-11"),
    ],
    "second_clean": [
        *morning("2027-01-13", "second_clean"),
        *morning("2027-01-14", "second_clean", "2027-01-13"),
        *morning("2027-01-18", "second_clean", "2027-01-13"),
    ],
}


def silent_at(job: str) -> list[dict[str, Any]]:
    """What is sent unasked about a job that is never reported, where all that can be done without it is."""
    before = [says(at, text) for kind, at, text in REPORTS if kind != job]
    if job in ("rest", "defoliate", "cut"):  # what follows cannot be done without it
        kinds = [kind for kind, _, _ in REPORTS]
        before = before[: kinds.index(job)]
    return play([*RESTED[:-1], *before, advance("2027-03-01T12:00")])


@pytest.mark.parametrize("job", SILENCE)
def test_a_job_is_said_twice_and_asked_after_once(job: str) -> None:
    said = [one for one in reminders(silent_at(job)) if one[1] == job]

    assert said == SILENCE[job]


@pytest.mark.parametrize(
    ("job", "waits"),
    [
        ("rest", {"defoliate", "leaf_check", "copper", "cut"}),
        ("defoliate", {"leaf_check", "copper", "cut"}),
        ("cut", {"second_spray", "clean", "second_clean", "water"}),
        ("second_spray", {"second_clean"}),
    ],
)
def test_what_hangs_on_it_is_not_said_before_it_is_reported(job: str, waits: set[str]) -> None:
    assert not {kind for _, kind, _ in reminders(silent_at(job))} & waits


def test_the_question_is_put_when_the_window_ends() -> None:
    texts = {text["template"] for text in silent_at("water") if text["at"] >= "2027-01-22"}

    assert texts == {"reminder.ask"}
