"""The plan: the days of each job, from what was told. Dates were counted on a calendar.

The cut is set for Mon 4 Jan 2027; 45 days back is Fri 20 Nov 2026.
"""

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest

from service.orchard.block import Normal
from service.orchard.plan import DayWeather, moved
from service.orchard.settings import Settings
from tests.orchard.diaries import BLACK, DEFAULTS, SANDY, UPPER_NEEM, Diary, ambe, ambe_rested, d


def test_a_cut_set_in_time_gives_every_day():
    values = ambe().plan("2026-10-23").values()

    assert values == {
        "rest_start": "2026-11-20",
        "defoliate": "2026-12-17",  # 18 days before
        "leaf_check": "2026-12-27",  # 10 after the spray
        "copper": "2027-01-01",  # 3 days before
        "cut": "2027-01-04",
        "second_spray": "2027-01-06",  # 2 after
        "clean": "2027-01-06",  # the last of 2 days
        "second_clean": "2027-01-17",  # 7 after the second spray, and the last of 4 days in which it can be done
        "water": "2027-01-11",  # 7 after
        "days_lost": 0,
    }


def test_windows_are_counted_from_the_day_of_the_job():
    jobs = {job.kind: (job.last - job.date).days for job in ambe().plan("2026-10-23").jobs}

    assert jobs == {
        "rest": 3,
        "defoliate": 5,
        "leaf_check": 6,
        "copper": 2,  # to the day before the cut
        "cut": 7,
        "second_spray": 5,
        "clean": 2,
        "second_clean": 4,
        "water": 10,
    }


def test_a_rest_told_alone_gives_the_first_possible_cut():
    plan = Diary().tell("rest_begun", "2026-11-20").plan("2026-11-20")
    assert (plan.asked, plan.cut, plan.season, plan.rest_reported) == (d("2027-01-04"), d("2027-01-04"), "ambe", True)


def test_an_unreported_rest_never_starts_before_the_day_on_which_the_cut_was_set():
    """Set on 1 Dec for 4 Jan: 45 days from 1 Dec is 15 Jan."""
    plan = Diary().tell("cut_set", "2026-12-01", date="2027-01-04").plan("2026-12-01")
    assert (plan.rest_start, plan.cut) == (d("2026-12-01"), d("2027-01-15"))


def test_a_cut_said_again_moves_nothing():
    again = ambe().tell("cut_set", "2026-11-25", date="2027-01-04").plan("2026-11-25")
    assert again == ambe().plan("2026-11-25")


def test_a_rest_begun_late_moves_the_cut():
    plan = ambe().tell("rest_begun", "2026-11-23").plan("2026-11-23")
    assert (plan.rest_start, plan.cut) == (d("2026-11-23"), d("2027-01-07"))


def test_a_rest_begun_early_does_not():
    assert ambe().tell("rest_begun", "2026-11-10").plan("2026-11-23").cut == d("2027-01-04")


def test_an_early_rest_is_counted_from_its_day():
    assert ambe_rested().plan("2026-11-19").counted == 0
    assert ambe_rested().plan("2026-11-20").counted == 0
    assert ambe_rested().plan("2026-12-10").counted == 20
    assert ambe_rested().plan("2027-02-01").counted == 45


def test_moving_the_cut_stays_in_the_cycle_and_in_its_season():
    """Moved past 31 Jan, the season's last cut: it is missed, but chosen so, and the reminders go on."""
    plan = ambe_rested().tell("cut_set", "2026-12-01", date="2027-02-08").plan("2026-12-01")

    assert (plan.cycle, plan.season, plan.cut) == (1, "ambe", d("2027-02-08"))
    assert plan.season_missed
    assert plan.held is None


def test_another_season_that_the_grower_names_counts_from_then_on():
    plan = ambe().tell("cut_set", "2026-12-01", date="2027-02-20", season="mrig").plan("2026-12-01")
    assert (plan.season, plan.last_good_day) == ("mrig", d("2027-03-22"))


def test_undoing_the_entry_that_opened_it_ends_the_cycle():
    diary = ambe_rested()
    assert diary.plan("2026-12-01").cycle == 1

    del diary.entries[0]

    assert diary.plan("2026-12-01").cycle == 2  # the rest told opens it now


def test_a_retired_block_has_no_plan():
    from service.orchard.plan import plan

    diary = ambe()
    block = replace(BLACK, retired=d("2026-11-01"))
    assert plan(block, diary.entries, UPPER_NEEM, {}, DEFAULTS, d("2026-11-02")) is None
    assert plan(BLACK, [], UPPER_NEEM, {}, DEFAULTS, d("2026-11-02")) is None


# Rain and water.


def rain(mm: float | None = None, word: str | None = None, day: str = "2026-12-11") -> Diary:
    values = {"amount_mm": mm} if mm is not None else {"rain_word": word}
    return ambe_rested().tell("rain", day, **values)


def test_rain_costs_more_on_black_soil_than_on_sand():
    diary = rain(60)
    black, sandy = diary.plan("2026-12-12"), diary.plan("2026-12-12", SANDY)

    assert black.days_lost > sandy.days_lost > 5
    for plan in (black, sandy):
        assert plan.cut == d("2027-01-04") + timedelta(plan.days_lost)
        assert plan.job("defoliate").date == plan.cut - timedelta(18)


def test_the_latest_report_of_a_day_replaces_the_earlier_one():
    """Rain was 12, not 30."""
    corrected = rain(30).tell("rain", "2026-12-11", amount_mm=12)
    assert corrected.plan("2026-12-12").cut == rain(12).plan("2026-12-12").cut < rain(30).plan("2026-12-12").cut


def test_the_growers_report_beats_the_gauge_and_the_gauge_beats_nothing():
    gauge = {d("2026-12-11"): DayWeather(rain_mm=30)}
    assert ambe_rested().plan("2026-12-12", weather=gauge).cut == rain(30).plan("2026-12-12").cut
    assert rain(0).plan("2026-12-12", weather=gauge).cut == d("2027-01-04")


def test_days_without_a_report_count_as_dry_and_are_told():
    """21 Nov to 11 Dec are 21 past days; one of them was told of. The 22nd day is today."""
    plan = rain(0).plan("2026-12-12")
    assert (plan.days_without_report, plan.counted) == (20, 22)


def test_rain_in_words_is_a_range():
    """Heavy: 25, 40 or 80 mm; the dates are those of 40."""
    plan = rain(word="heavy").plan("2026-12-12", SANDY)

    assert plan.cut == rain(40).plan("2026-12-12", SANDY).cut
    assert plan.earliest_cut <= plan.cut <= plan.latest_cut
    assert rain(word="none").plan("2026-12-12").cut == d("2027-01-04")


def test_the_range_is_told_where_it_is_wider_than_three_days():
    told = rain(60).plan("2026-12-12", SANDY)
    assert told.latest_cut - told.earliest_cut > timedelta(3)
    assert told.values()["latest_cut"] == told.latest_cut.isoformat()
    assert "latest_cut" not in ambe_rested().plan("2026-12-12").values()


def test_rain_to_come_is_not_counted():
    gauge = {d("2026-12-20"): DayWeather(rain_mm=60)}
    assert ambe_rested().plan("2026-12-19", weather=gauge).cut == d("2027-01-04")


def test_the_days_own_temperatures_are_used_where_they_are_on_file():
    """After a rain, hot days dry the soil sooner; without rain they change nothing."""
    hot = {d("2026-12-12") + timedelta(days): DayWeather(tmin_c=22, tmax_c=42) for days in range(20)}
    assert rain(60).plan("2027-01-04", weather=hot).cut < rain(60).plan("2027-01-04").cut
    assert ambe_rested().plan("2027-01-04", weather=hot).cut == d("2027-01-04")


def test_water_in_the_rest_without_an_amount_refills_the_soil():
    refilled = ambe_rested().tell("watering", "2026-12-11", minutes=60).plan("2026-12-12")
    assert refilled.cut == rain(500).plan("2026-12-12").cut
    assert refilled.days_lost == 0  # by rain alone


def test_water_by_the_litre_is_spread_over_the_ground_of_a_plant():
    """12 x 8 ft are 8.92 m2: 178.4 L a plant are 20 mm."""
    litres = ambe_rested().tell("watering", "2026-12-11", litres_per_plant=178.37).plan("2026-12-12")
    assert litres.cut == rain(20).plan("2026-12-12").cut


def test_water_on_the_day_of_the_rest_or_before_changes_nothing():
    watered = ambe_rested().tell("watering", "2026-11-20").tell("watering", "2026-11-18")
    assert watered.plan("2026-12-01").cut == d("2027-01-04")


def test_a_rain_that_puts_the_cut_past_the_season_pauses_the_reminders():
    """31 Jan is the last good day for ambe, though the slip would reach 3 Feb."""
    plan = rain(60, day="2027-01-02").plan("2027-01-03")

    assert plan.last_good_day == d("2027-01-31")
    assert plan.cut > d("2027-01-31")
    assert (plan.season_missed, plan.held) == (True, "season_missed")
    assert "season_missed" in plan.for_adviser
    assert plan.values()["season_missed"] is True


def test_the_cut_slips_no_further_than_30_days():
    """Between the seasons the slip alone holds: asked for 1 Mar, good to 31 Mar."""
    plan = Diary().tell("cut_set", "2026-12-01", date="2027-03-01").plan("2026-12-01")
    assert (plan.season, plan.last_good_day) == (None, d("2027-03-31"))


# The leaf spray.


def sprayed(day: str = "2026-12-17") -> Diary:
    return ambe_rested().tell("spray", day, product="ethephon")


def test_a_late_spray_slides_what_follows():
    """Sprayed on 22 Dec: never cut before 6 Jan; leaf check 10 days on, 1 Jan."""
    plan = sprayed("2026-12-22").plan("2026-12-22")

    assert plan.cut == d("2027-01-06")
    assert plan.job("leaf_check").date == d("2027-01-01")
    assert plan.job("copper").date == d("2027-01-03")


def test_a_spray_told_by_its_job_is_the_same():
    told = ambe_rested().tell("done", "2026-12-22", job="defoliate").plan("2026-12-22")
    assert told.values() == sprayed("2026-12-22").plan("2026-12-22").values()


def test_an_early_spray_never_makes_the_cut_earlier_and_goes_to_the_adviser():
    """Up to 20 days it stands: 15 Dec + 20 is 4 Jan."""
    assert sprayed("2026-12-15").plan("2026-12-15").for_adviser == ()
    early = sprayed("2026-12-14").plan("2026-12-14")
    assert (early.cut, early.for_adviser) == (d("2027-01-04"), ("early_spray",))


def test_rain_on_bare_trees_moves_nothing():
    after = sprayed().tell("rain", "2026-12-17", amount_mm=60).tell("rain", "2026-12-25", amount_mm=60)
    assert after.plan("2026-12-26").cut == d("2027-01-04")


def test_rain_before_the_spray_still_counts():
    before = (
        rain(12, day="2026-12-05")
        .tell("spray", "2026-12-24", product="ethephon")
        .tell("rain", "2026-12-28", amount_mm=60)
    )
    assert before.plan("2026-12-29").cut == rain(12, day="2026-12-05").plan("2026-12-29").cut > d("2027-01-08")


def test_the_leaf_check_waits_longer_in_a_cold_or_a_hot_month():
    """Mean of December below 16 or above 32: 14 days, 31 Dec."""
    for normal in (Normal(8, 22, 5, 0.5), Normal(26, 40, 5, 0.5)):
        place = replace(UPPER_NEEM, normals=(*UPPER_NEEM.normals[:11], normal))
        assert ambe_rested().plan("2026-12-01", place=place).job("leaf_check").date == d("2026-12-31")


def test_leaf_fall_told_before_the_spray_closes_nothing():
    """Said in the morning of the spray's day: that much fell by itself."""
    diary = ambe_rested().tell("leaf_drop", "2026-12-17", percent=90).tell("spray", "2026-12-17", product="ethephon")
    check = diary.plan("2026-12-17").job("leaf_check")
    assert (check.done, check.date) == (None, d("2026-12-27"))


def test_leaves_that_hang_are_looked_at_again_every_four_days_and_hold_the_cut():
    plan = sprayed().tell("leaf_drop", "2027-01-02", percent=40).plan("2027-01-02")

    assert plan.job("leaf_check").date == d("2027-01-06")
    assert plan.cut == d("2027-01-06")
    cut = plan.job("cut")
    assert (cut.hangs_on, cut.open_since) == ("leaf_check", None)
    assert plan.for_adviser == ("leaves_not_falling",)


def test_leaves_down_at_last_let_the_cut_go():
    """Seen to be down on the 6th, past the day set: copper the next day, the cut 3 days after it."""
    diary = sprayed().tell("leaf_drop", "2027-01-02", percent=40).tell("leaf_drop", "2027-01-06", percent=85)
    plan = diary.plan("2027-01-06")

    assert plan.job("leaf_check").done == d("2027-01-06")
    assert (plan.cut, plan.job("cut").open_since) == (d("2027-01-10"), d("2027-01-06"))
    assert (plan.job("copper").date, plan.job("copper").dropped) == (d("2027-01-07"), None)
    assert plan.for_adviser == ()


def test_leaves_down_with_a_day_left_for_copper_leave_the_cut_where_it_is():
    diary = sprayed().tell("leaf_drop", "2026-12-29", percent=40).tell("leaf_drop", "2027-01-02", percent=90)
    plan = diary.plan("2027-01-02")

    assert (plan.job("copper").date, plan.cut) == (d("2027-01-03"), d("2027-01-04"))


def test_leaves_down_late_after_copper_hold_the_cut_no_longer():
    diary = sprayed().tell("spray", "2026-12-28", product="copper")
    plan = (
        diary.tell("leaf_drop", "2027-01-02", percent=40).tell("leaf_drop", "2027-01-06", percent=85).plan("2027-01-06")
    )

    assert plan.cut == d("2027-01-06")


def test_the_leaf_spray_is_planned_inside_the_rest():
    """A rest of 12 days: 18 before the cut would be before it; the spray goes on its first day, the cut 15 later."""
    plan = ambe().plan("2026-10-23", settings=Settings.of({"rest_days": 12}))
    assert (plan.rest_start, plan.job("defoliate").date) == (d("2026-12-23"), d("2026-12-24"))
    assert plan.cut == d("2027-01-08")


def test_a_leaf_spray_is_never_planned_before_the_plan_was_made():
    """Water stopped on 20 Nov, all told on 30 Dec: sprayed that day at the earliest, cut 15 days later."""
    diary = Diary().tell("rest_begun", "2026-11-20", said="2026-12-30").tell("cut_set", "2026-12-30", date="2027-01-05")
    plan = diary.plan("2026-12-30")
    assert (plan.job("defoliate").date, plan.cut) == (d("2026-12-30"), d("2027-01-14"))


# Copper.


def test_copper_keeps_its_gap_from_a_late_ethephon():
    """The adviser fixed the cut for 4 Jan; a second treatment on 31 Dec leaves 3 Jan, the day before."""
    fixed = sprayed().tell("ruling", "2026-12-30", ruling="cut_fixed", date="2027-01-04", adviser="Meera")
    near = fixed.tell("spray", "2026-12-31", product="ethephon").plan("2026-12-31")
    assert near.job("copper").date == d("2027-01-03")

    nearer = fixed.tell("spray", "2027-01-01", product="ethephon").plan("2027-01-01")
    assert nearer.job("copper").dropped == "no_day_left"


def test_a_copper_spray_closes_its_job_only_after_the_leaf_spray():
    early = ambe_rested().tell("spray", "2026-12-01", product="bordeaux").plan("2026-12-02")
    assert early.job("copper").done is None

    plan = sprayed().tell("spray", "2027-01-02", product="copper").plan("2027-01-02")
    assert plan.job("copper").done == d("2027-01-02")
    assert plan.job("second_spray").date == d("2027-01-06")


def test_copper_late_in_the_leafed_rest_puts_off_the_leaf_spray():
    """Copper on 16 Dec: ethephon on 19 Dec at the earliest, which still leaves 16 days."""
    plan = ambe_rested().tell("spray", "2026-12-16", product="bordeaux").plan("2026-12-16")
    assert (plan.job("defoliate").date, plan.cut) == (d("2026-12-19"), d("2027-01-04"))


def test_the_second_spray_keeps_its_gap_from_copper():
    diary = sprayed().tell("done", "2027-01-04", job="cut").tell("spray", "2027-01-05", product="bordeaux")
    assert diary.plan("2027-01-05").job("second_spray").date == d("2027-01-08")


# The cut and after.


def cut(day: str = "2027-01-04") -> Diary:
    return sprayed().tell("leaf_drop", "2026-12-27", percent=90).tell("done", day, job="cut")


def test_what_follows_hangs_on_the_day_the_cut_was_really_done():
    plan = cut("2027-01-07").plan("2027-01-07")

    assert plan.cut == d("2027-01-07")
    values = plan.values()
    assert (values["second_spray"], values["clean"], values["water"]) == ("2027-01-09", "2027-01-09", "2027-01-14")
    assert values["second_clean"] == "2027-01-20"
    assert plan.job("copper").dropped == "cut"


def test_ethephon_after_the_cut_is_the_second_spray():
    """Told on the same day, the order in which they were told decides."""
    plan = cut().tell("spray", "2027-01-07", product="ethephon").plan("2027-01-07")
    assert plan.job("second_spray").done == d("2027-01-07")
    assert plan.job("second_clean").date == d("2027-01-14")

    same_day = cut().tell("spray", "2027-01-04", product="ethephon").plan("2027-01-07")
    assert same_day.job("second_spray").done == d("2027-01-04")
    assert same_day.job("defoliate").done == d("2026-12-17")


def test_a_cut_told_late_sorts_the_sprays_by_their_days():
    diary = (
        sprayed()
        .tell("spray", "2027-01-06", product="ethephon")
        .tell("done", "2027-01-04", said="2027-01-07", job="cut")
    )
    plan = diary.plan("2027-01-07")
    assert (plan.job("defoliate").done, plan.job("second_spray").done) == (d("2026-12-17"), d("2027-01-06"))


def test_bare_trees_need_no_second_spray():
    bare = (
        sprayed().tell("leaf_drop", "2026-12-27", percent=95).tell("done", "2027-01-04", job="cut").plan("2027-01-04")
    )

    assert bare.job("second_spray").dropped == "bare"
    assert "second_spray" not in bare.values()
    assert bare.job("second_clean").date == d("2027-01-13")  # 2 + 7 days after the cut


def test_open_buds_get_no_second_spray_and_go_to_the_adviser():
    plan = sprayed().tell("shoots", "2026-12-28", shoots="few").plan("2026-12-28")
    assert plan.job("second_spray").dropped == "buds_open"
    assert plan.for_adviser == ("shoots",)

    none = sprayed().tell("shoots", "2026-12-28", shoots="none").plan("2026-12-28")
    assert none.job("second_spray").dropped is None
    assert none.for_adviser == ()


def test_a_cut_in_parts():
    """120 of 240 plants on Mon 4 Jan, the rest on Thu 7 Jan: each part has its spray and cleaning, water waits."""
    diary = sprayed().tell("done", "2027-01-04", job="cut", plants=120)
    half = diary.plan("2027-01-05")
    assert half.job("cut").done is None
    assert [(job.part, job.plants, job.open_since) for job in half.jobs if job.kind == "second_spray"] == [
        (1, 120, d("2027-01-04")),
        (2, 120, None),
    ]
    assert half.job("water").open_since is None

    whole = diary.tell("done", "2027-01-07", job="cut").plan("2027-01-07")
    assert whole.job("cut").done == d("2027-01-07")
    assert [(job.part, job.date) for job in whole.jobs if job.kind == "second_spray"] == [
        (1, d("2027-01-06")),
        (2, d("2027-01-09")),
    ]
    assert [(job.part, job.last) for job in whole.jobs if job.kind == "clean"] == [
        (1, d("2027-01-06")),
        (2, d("2027-01-09")),
    ]
    assert whole.job("water").date == d("2027-01-14")


def test_a_spray_closes_the_parts_cut_before_it():
    diary = sprayed().tell("done", "2027-01-04", job="cut", percent=50).tell("spray", "2027-01-06", product="ethephon")
    diary.tell("done", "2027-01-07", job="cut", percent=50)
    plan = diary.plan("2027-01-07")

    assert plan.job("cut").done == d("2027-01-07")  # 50 and 50 percent are the whole
    assert plan.job("second_spray", 1).done == d("2027-01-06")
    assert plan.job("second_spray", 2).done is None
    assert plan.job("second_clean").open_since is None


def test_a_spray_closes_what_is_due_and_not_the_part_whose_day_is_to_come():
    """Parts cut on 4 and 6 Jan, sprays due on 6 and 8 Jan: one told on 7 Jan is the first's, on 8 Jan both's."""
    diary = sprayed().tell("done", "2027-01-04", job="cut", plants=120).tell("done", "2027-01-06", job="cut")
    diary.tell("spray", "2027-01-07", product="ethephon")
    first = diary.plan("2027-01-07")
    assert [job.done for job in first.jobs if job.kind == "second_spray"] == [d("2027-01-07"), None]

    diary.tell("spray", "2027-01-08", product="ethephon")
    both = diary.plan("2027-01-08")
    assert [job.done for job in both.jobs if job.kind == "second_spray"] == [d("2027-01-07"), d("2027-01-08")]

    late = sprayed().tell("done", "2027-01-04", job="cut", plants=120).tell("done", "2027-01-06", job="cut")
    late.tell("spray", "2027-01-08", product="ethephon")
    assert [job.done for job in late.plan("2027-01-08").jobs if job.kind == "second_spray"] == [d("2027-01-08")] * 2


def test_a_cut_told_twice_is_one_cut():
    assert cut().tell("done", "2027-01-06", job="cut").plan("2027-01-06").cut == d("2027-01-04")


def test_two_cleanings():
    diary = cut().tell("done", "2027-01-05", job="clean")
    first = diary.plan("2027-01-05")
    assert (first.job("clean").done, first.job("second_clean").done) == (d("2027-01-05"), None)

    diary.tell("done", "2027-01-05", job="clean")  # told again
    assert diary.plan("2027-01-06").job("second_clean").done is None

    diary.tell("spray", "2027-01-06", product="ethephon").tell("done", "2027-01-12", job="clean")
    second = diary.plan("2027-01-12")
    assert (second.job("clean").done, second.job("second_clean").done) == (d("2027-01-05"), d("2027-01-12"))


def test_the_cycle_ends_when_all_is_done_and_the_next_one_opens():
    diary = cut().tell("done", "2027-01-05", job="clean").tell("spray", "2027-01-06", product="ethephon")
    diary.tell("watering", "2027-01-11", minutes=60)
    assert not diary.plan("2027-01-11").ended  # the second cleaning is still to come
    diary.tell("done", "2027-01-13", job="second_clean")
    assert diary.plan("2027-01-13").ended

    assert diary.tell("cut_set", "2027-03-01", date="2027-05-20").plan("2027-03-01").cycle == len(diary.entries)


def test_water_before_the_cut_is_finished_is_not_the_first_water():
    diary = sprayed().tell("done", "2027-01-04", job="cut", plants=120).tell("watering", "2027-01-05")
    diary.tell("done", "2027-01-07", job="cut")
    assert diary.plan("2027-01-07").job("water").done is None


def test_a_rest_told_long_after_opens_another_cycle():
    """No cut was ever told: next year's rest is not last year's."""
    diary = ambe_rested().tell("rest_begun", "2027-11-20")
    plan = diary.plan("2027-11-20")
    assert (plan.cycle, plan.cut) == (3, d("2028-01-04"))


# Putting off.


def test_a_job_put_off_takes_what_hangs_on_it_along():
    diary = ambe_rested().tell("postponed", "2026-12-17", job="defoliate", until="2026-12-22")
    plan = diary.plan("2026-12-17")
    assert (plan.job("defoliate").date, plan.cut, plan.job("copper").date) == (
        d("2026-12-22"),
        d("2027-01-06"),
        d("2027-01-03"),
    )


def test_a_cut_put_off_is_not_before_its_new_day():
    assert ambe_rested().tell("postponed", "2027-01-03", job="cut", until="2027-01-08").plan("2027-01-03").cut == d(
        "2027-01-08"
    )


def test_a_rest_put_off_begins_then():
    plan = ambe().tell("postponed", "2026-11-20", job="rest", until="2026-11-22").plan("2026-11-20")
    assert (plan.rest_start, plan.cut) == (d("2026-11-22"), d("2027-01-06"))


def test_a_new_day_for_the_cut_forgets_what_was_put_off():
    diary = ambe().tell("postponed", "2026-11-01", job="rest", until="2026-11-25")
    diary.tell("cut_set", "2026-11-02", date="2027-01-10")
    assert diary.plan("2026-11-02").rest_start == d("2026-11-26")


# The adviser's word.


def ruled(diary: Diary, ruling: str, day: str = "2026-12-20", **values: str) -> Diary:
    return diary.tell("ruling", day, ruling=ruling, adviser="Meera", **values)


def test_rest_enough_lets_the_cut_fall_from_that_day_whatever_the_count():
    wet = rain(60)
    assert wet.plan("2026-12-20").cut > d("2027-01-10")
    assert ruled(wet, "rest_enough", date="2027-01-06").plan("2026-12-20").cut == d("2027-01-06")


def test_rest_enough_is_never_before_the_day_asked_for():
    assert ruled(rain(60), "rest_enough", date="2026-12-28").plan("2026-12-20").cut == d("2027-01-04")


def test_cut_fixed_stands_against_count_and_rain_until_withdrawn():
    diary = ruled(ambe_rested(), "cut_fixed", date="2027-01-01").tell("rain", "2026-12-22", amount_mm=80)
    plan = diary.plan("2026-12-23")
    assert (plan.cut, plan.fixed_by, plan.ruling) == (d("2027-01-01"), "Meera", "cut_fixed")
    assert plan.days_lost > 0  # the sum goes on beside it
    assert (plan.earliest_cut, plan.latest_cut) == (plan.cut, plan.cut)

    withdrawn = ruled(diary, "withdrawn", "2026-12-24").plan("2026-12-24")
    assert (withdrawn.fixed_by, withdrawn.ruling) == (None, None)
    assert withdrawn.cut == ambe_rested().tell("rain", "2026-12-22", amount_mm=80).plan("2026-12-24").cut


def test_cut_fixed_releases_a_missed_season():
    missed = rain(60, day="2027-01-02")
    assert missed.plan("2027-01-03").held == "season_missed"
    assert ruled(missed, "cut_fixed", "2027-01-03", date="2027-01-20").plan("2027-01-03").held is None


def test_rain_not_counted_strikes_that_days_rain():
    diary = ruled(rain(60), "rain_not_counted", date="2026-12-11")
    assert diary.plan("2026-12-20").cut == d("2027-01-04")
    gauge = {d("2026-12-11"): DayWeather(rain_mm=60)}
    assert ruled(ambe_rested(), "rain_not_counted", date="2026-12-11").plan("2026-12-20", weather=gauge).days_lost == 0


def test_rest_not_enough_keeps_the_cut_from_falling():
    assert ruled(ambe_rested(), "rest_not_enough", date="2027-01-09").plan("2026-12-20").cut == d("2027-01-09")
    held = ruled(ambe_rested(), "rest_not_enough")
    assert held.plan("2026-12-20").held == "rest_not_enough"
    assert ruled(held, "withdrawn").plan("2026-12-20").held is None


def test_a_spray_called_off_is_the_next_one_and_the_leaf_check_stays():
    plan = ruled(ambe_rested(), "spray_called_off", "2026-12-16").plan("2026-12-16")
    assert plan.job("defoliate").dropped == "called_off"
    assert plan.job("second_spray").dropped is None
    assert (plan.job("leaf_check").date, plan.job("leaf_check").open_since) == (d("2026-12-27"), d("2026-12-16"))
    assert plan.cut == d("2027-01-04")

    after = ruled(sprayed(), "spray_called_off", "2026-12-28").plan("2026-12-28")
    assert after.job("defoliate").done == d("2026-12-17")
    assert after.job("second_spray").dropped == "called_off"


# What goes to the adviser, and what moved.


def test_leaves_that_fell_by_themselves_hold_the_spray_till_a_ruling():
    """Spray of 17 Dec. Any ruling told later releases it, till it is withdrawn; a lower figure does too."""
    diary = ambe_rested().tell("leaf_drop", "2026-12-10", percent=85)
    held = diary.plan("2026-12-17")
    assert (held.held, held.job("defoliate").open_since) == ("fell_by_itself", None)
    assert held.for_adviser == ("leaves_fell_by_themselves",)
    diary.tell("ruling", "2026-12-12", ruling="rest_enough")
    assert diary.plan("2026-12-17").held is None
    assert diary.plan("2026-12-17").job("defoliate").open_since == d("2026-11-20")
    diary.tell("ruling", "2026-12-13", ruling="withdrawn")
    assert diary.plan("2026-12-17").held == "fell_by_itself"
    diary.tell("leaf_drop", "2026-12-14", percent=84)
    assert diary.plan("2026-12-17").held is None


def test_leaves_fallen_before_the_rest_is_told_hold_no_reminder_of_it():
    diary = ambe().tell("leaf_drop", "2026-11-19", percent=90)
    assert diary.plan("2026-11-20").held is None
    assert diary.tell("rest_begun", "2026-11-20").plan("2026-11-20").held == "fell_by_itself"


def test_past_the_longest_rest_the_twigs_are_to_be_looked_at():
    """60 days on sand; rain has kept the count from being complete."""
    diary = ambe_rested()
    for day in ("2026-12-20", "2027-01-01", "2027-01-12"):
        diary.tell("rain", day, amount_mm=60)
    assert "rest_too_long" not in diary.plan("2027-01-19", SANDY).for_adviser
    assert "rest_too_long" in diary.plan("2027-01-20", SANDY).for_adviser


def test_a_job_whose_window_ended_unreported_goes_to_a_person():
    assert ambe().plan("2026-11-23").for_adviser == ()
    assert ambe().plan("2026-11-24").for_adviser == ("rest_unreported",)


def test_what_moved_is_told():
    before, after = ambe_rested().plan("2026-12-12"), rain(60).plan("2026-12-12")

    change = moved(before, after)

    assert change is not None
    assert change.cut_days == change.days_lost == after.days_lost
    assert ("cut", None, d("2027-01-04"), after.cut) in change.jobs
    assert moved(before, before) is None
    assert moved(None, after) is None


# Seasons.


@pytest.mark.parametrize(
    ("said", "cut_day", "season", "water_off"),
    [
        ("2027-02-01", "2027-05-20", "mrig", "2027-04-05"),
        ("2027-06-01", "2027-09-10", "hasta", "2027-08-16"),  # 25 days
        ("2027-08-01", "2027-12-15", "ambe", "2027-10-31"),
        ("2027-12-01", "2028-03-01", None, "2028-01-16"),  # a leap year: 45 days back over 29 Feb
    ],
)
@pytest.mark.parametrize("block", [BLACK, SANDY], ids=["black", "sand"])
def test_a_season_with_60_mm_in_the_third_week(said, cut_day, season, water_off, block):
    """In each season the plan is made, begun, rained on in the third week, and moved by different days on two soils."""
    diary = Diary().tell("cut_set", said, date=cut_day)
    plan = diary.plan(said, block)
    assert (plan.season, plan.rest_start, plan.cut) == (season, d(water_off), d(cut_day))

    diary.tell("rest_begun", water_off)
    wet = d(water_off) + timedelta(18)
    diary.tell("rain", wet.isoformat(), amount_mm=60)
    rained = diary.plan(wet, block)

    assert rained.cut == d(cut_day) + timedelta(rained.days_lost)
    assert rained.job("defoliate").date == max(rained.cut - timedelta(18), rained.rest_start + timedelta(1))
    other = diary.plan(wet, SANDY if block is BLACK else BLACK)
    assert rained.days_lost != other.days_lost
    assert rained.days_lost > 0
    assert diary.entries.pop().kind == "rain"
    assert diary.plan(wet, block).cut == d(cut_day)


def test_settings_change_the_days():
    settings = Settings.of(
        {"rest_days": {"ambe": {"black": 50}}, "defoliate_before_cut_days": 15, "clean_within_days": 1}
    )
    plan = ambe().plan("2026-10-23", settings=settings)
    assert plan.rest_start == d("2026-11-15")
    assert plan.job("defoliate").date == d("2026-12-20")
    assert plan.values()["clean"] == "2027-01-05"
    assert settings.ppm == Decimal(1000)


def test_the_day_told_is_the_farms_day():
    """20:00 UTC of 19 Nov is 1 in the morning of the 20th at 75 degrees east."""
    from datetime import UTC, datetime

    from service.orchard.cycle import said_on
    from service.orchard.diary import Entry

    entry = Entry(1, "rest_begun", "1", date(2026, 11, 20), {}, datetime(2026, 11, 19, 20, tzinfo=UTC))
    assert said_on(entry, UPPER_NEEM) == date(2026, 11, 20)


def test_a_ruling_of_the_last_cycle_is_not_heard_in_the_next():
    diary = ruled(sprayed(), "cut_fixed", date="2027-01-05").tell("done", "2027-01-05", job="cut")
    diary.tell("watering", "2027-01-12").tell("cut_set", "2027-03-01", date="2027-05-20")
    plan = diary.plan("2027-03-01")
    assert (plan.cut, plan.ruling) == (d("2027-05-20"), None)


def test_shoots_on_leafed_trees_before_the_spray_are_not_open_buds():
    assert ambe_rested().tell("shoots", "2026-12-05", shoots="many").plan("2026-12-05").for_adviser == ()
