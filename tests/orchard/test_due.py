"""What a plan makes due, and when: each reminder on its morning, once."""

from datetime import datetime, timedelta

import pytest

from service.orchard.plan import Due, Plan, due
from service.orchard.settings import Settings
from tests.orchard.diaries import DEFAULTS, SANDY, Diary, ambe, ambe_rested, d


def at(text: str) -> datetime:
    """Local and naive."""
    return datetime.fromisoformat(text)


SEASON = at("2026-10-01"), at("2027-04-01")


def told(
    plan: Plan, settings: Settings = DEFAULTS, evenings_only: bool = False, span=SEASON
) -> list[tuple[str, str, str]]:
    return [
        (reminder.job, reminder.occasion, f"{reminder.at:%Y-%m-%d %H:%M}")
        for reminder in due(plan, *span, settings, evenings_only)
    ]


def test_only_the_rest_is_reminded_until_it_is_told():
    assert told(ambe().plan("2026-10-23")) == [
        ("rest", "morning", "2026-11-20 06:30"),
        ("rest", "again", "2026-11-21 06:30"),
        ("rest", "ask", "2026-11-24 06:30"),  # the window ended on the 23rd
    ]


def test_the_leaf_spray_is_told_the_evening_before_too():
    assert told(ambe_rested().plan("2026-11-20")) == [
        ("defoliate", "eve", "2026-12-16 18:30"),
        ("defoliate", "morning", "2026-12-17 06:30"),
        ("defoliate", "again", "2026-12-18 06:30"),
        ("defoliate", "ask", "2026-12-23 06:30"),
    ]


def test_after_the_leaf_spray_come_leaf_check_copper_and_cut():
    plan = ambe_rested().tell("spray", "2026-12-17", product="ethephon").plan("2026-12-17")
    assert [line for line in told(plan) if line[1] in ("eve", "morning")] == [
        ("leaf_check", "morning", "2026-12-27 06:30"),
        ("copper", "morning", "2027-01-01 06:30"),
        ("cut", "eve", "2027-01-03 18:30"),
        ("cut", "morning", "2027-01-04 06:30"),
    ]


def test_after_the_cut_come_cleaning_spray_and_water():
    """The cleaning's day is the cut's own, told on it: reminded the morning after."""
    plan = ambe_rested().tell("spray", "2026-12-17", product="ethephon").tell("done", "2027-01-04", job="cut")
    assert told(plan.plan("2027-01-04")) == [
        ("clean", "morning", "2027-01-05 06:30"),
        ("second_spray", "morning", "2027-01-06 06:30"),
        ("clean", "again", "2027-01-06 06:30"),
        ("second_spray", "again", "2027-01-07 06:30"),
        ("clean", "ask", "2027-01-07 06:30"),
        ("water", "morning", "2027-01-11 06:30"),
        ("second_spray", "ask", "2027-01-12 06:30"),
        ("water", "again", "2027-01-12 06:30"),
        ("water", "ask", "2027-01-22 06:30"),
    ]


def test_the_cut_is_not_reminded_while_leaves_hang():
    diary = ambe_rested().tell("spray", "2026-12-17", product="ethephon").tell("leaf_drop", "2027-01-03", percent=40)
    plan = diary.plan("2027-01-03")
    assert {job for job, _, _ in told(plan)} == {"leaf_check"}

    down = diary.tell("leaf_drop", "2027-01-07", percent=90).plan("2027-01-07")
    assert ("copper", "morning", "2027-01-08 06:30") in told(down)
    assert ("cut", "morning", "2027-01-11 06:30") in told(down)


def test_a_job_that_opens_after_its_day_is_told_on_the_next_morning():
    """Water stopped on 20 Nov is told on 20 Dec only: the leaf spray of 17 Dec is late, open to the 22nd."""
    plan = ambe().tell("rest_begun", "2026-11-20", said="2026-12-20").plan("2026-12-20")
    assert told(plan) == [
        ("defoliate", "morning", "2026-12-21 06:30"),
        ("defoliate", "again", "2026-12-22 06:30"),
        ("defoliate", "ask", "2026-12-23 06:30"),
    ]


def test_a_job_that_opens_after_its_window_is_asked_after():
    plan = ambe().tell("rest_begun", "2026-11-20", said="2026-12-28").plan("2026-12-28")
    assert told(plan) == [("defoliate", "ask", "2026-12-29 06:30")]


def test_a_day_that_an_undo_brings_back_is_still_told_once_more():
    """The mornings of 17 and 18 Dec went by while a rain, taken back on the 20th, had moved the spray."""
    plan = ambe_rested().plan("2026-12-20")
    span = at("2026-12-20T12:00"), at("2026-12-22")
    assert told(plan, span=span) == [("defoliate", "again", "2026-12-21 06:30")]


def test_evenings_only():
    assert told(ambe_rested().plan("2026-11-20"), evenings_only=True) == [
        ("defoliate", "eve", "2026-12-16 18:30"),
        ("defoliate", "again", "2026-12-17 18:30"),
        ("defoliate", "ask", "2026-12-22 18:30"),
    ]
    assert told(ambe().plan("2026-10-23"), evenings_only=True)[0] == ("rest", "eve", "2026-11-19 18:30")


def test_nothing_is_due_while_held_or_ended():
    late = ambe_rested().tell("rain", "2027-01-02", amount_mm=60).plan("2027-01-03")
    assert late.held
    assert told(late) == []


def test_hours_and_repeats_are_the_cooperatives():
    settings = Settings.of({"morning": "07:00", "evening": "19:15", "repeat_days": 0})
    assert told(ambe_rested().plan("2026-11-20", settings=settings), settings)[:3] == [
        ("defoliate", "eve", "2026-12-16 19:15"),
        ("defoliate", "morning", "2026-12-17 07:00"),
        ("defoliate", "ask", "2026-12-23 07:00"),
    ]


def test_the_span_is_open_at_its_start_and_closed_at_its_end():
    plan = ambe().plan("2026-10-23")
    morning = at("2026-11-20T06:30")
    second = timedelta(seconds=1)
    assert [r.occasion for r in due(plan, morning - second, morning, DEFAULTS)] == ["morning"]
    assert due(plan, morning, morning + second, DEFAULTS) == ()


@pytest.mark.parametrize("evenings_only", [False, True])
@pytest.mark.parametrize("hours", [1, 7, 24, 24 * 9])
def test_any_cutting_of_time_gives_the_same_reminders(hours, evenings_only):
    """By identity; the first to come of each is at the same hour."""
    diary = ambe_rested().tell("spray", "2026-12-17", product="ethephon").tell("done", "2027-01-04", job="cut")
    plan = diary.plan("2027-01-04")
    whole = {(r.job, r.for_date, r.occasion): r.at for r in due(plan, *SEASON, DEFAULTS, evenings_only)}

    pieces: dict[tuple[str, object, str], datetime] = {}
    since = SEASON[0]
    while since < SEASON[1]:
        until = min(since + timedelta(hours=hours), SEASON[1])
        for r in due(plan, since, until, DEFAULTS, evenings_only):
            pieces.setdefault((r.job, r.for_date, r.occasion), r.at)
        since = until

    assert pieces == whole


def test_a_moved_plan_is_due_on_its_new_day():
    diary = ambe_rested().tell("rain", "2026-12-11", amount_mm=60)
    plan = diary.plan("2026-12-12")
    new = plan.job("defoliate").date
    assert due(plan, *SEASON, DEFAULTS)[0] == Due(
        "1", 1, "defoliate", None, new, "eve", datetime.combine(new - timedelta(1), DEFAULTS.evening)
    )
    assert new > d("2026-12-17")


def test_a_part_has_its_own_reminders():
    diary = ambe_rested().tell("done", "2027-01-04", job="cut", plants=120).tell("done", "2027-01-07", job="cut")
    found = due(diary.plan("2027-01-07"), *SEASON, DEFAULTS)
    assert {(r.part, r.for_date) for r in found if r.job == "second_spray"} == {
        (1, d("2027-01-06")),
        (2, d("2027-01-09")),
    }


def test_the_second_cleaning_is_reminded_after_the_first_water():
    diary = Diary(ambe_rested().tell("done", "2027-01-04", job="cut").entries)
    diary.tell("spray", "2027-01-06", product="ethephon").tell("watering", "2027-01-11")
    assert ("second_clean", "morning", "2027-01-13 06:30") in told(diary.plan("2027-01-11"))


def test_the_twigs_are_looked_at_once_past_the_longest_rest():
    """Sand, water off on Fri 20 Nov: 60 days are over on Wed 20 Jan, and the cut is put off to 28 Jan."""
    diary = ambe_rested().tell("spray", "2026-12-17", product="ethephon")
    diary.tell("postponed", "2027-01-04", job="cut", until="2027-01-28")
    plan = diary.plan("2027-01-19", SANDY)
    assert [one for one in told(plan) if one[1] == "twigs"] == [("cut", "twigs", "2027-01-20 06:30")]
    assert [one for one in told(plan, evenings_only=True) if one[1] == "twigs"] == [
        ("cut", "twigs", "2027-01-19 18:30")
    ]
    assert "rest_too_long" in diary.plan("2027-01-20", SANDY).for_adviser
    cut = diary.tell("done", "2027-01-19", job="cut").plan("2027-01-19", SANDY)
    assert cut.too_long is None
