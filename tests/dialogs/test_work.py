"""Jobs listed, reported, put off; water, leaf fall and sprays logged; reminders worded.

Block 1: 240 plants on red soil, cut set for Mon 4 Jan 2027, so 45 dry days from Fri 20 Nov; leaf spray 18 days before
the cut, Thu 17 Dec; leaf check ten days after it, Sun 27 Dec; copper three days before the cut, Fri 1 Jan.
"""

from dataclasses import replace
from datetime import date, datetime, timedelta
from typing import Any

import pytest

from dialogs.conversation import asking, reminded
from dialogs.dialog import Reply
from dialogs.farm import NewEntry
from dialogs.reminding import moved, words
from service.orchard.plan import Due, due
from service.orchard.settings import Settings


def planned(talk: Any, number: str = "1", soil: str = "red", plants: int = 240, cut: str = "2027-01-04") -> Any:
    talk.at("2026-10-23T18:40").has_block(number, soil=soil, plants=plants)
    return talk.has("cut_set", number, date=cut)


def resting(talk: Any, number: str = "1", **facts: Any) -> Any:
    return planned(talk, number, **facts).has("rest_begun", number, "2026-11-20")


def sprayed(talk: Any, number: str = "1", **facts: Any) -> Any:
    return resting(talk, number, **facts).at("2026-12-17T12:00").has("spray", number, product="ethephon")


def leafless(talk: Any, number: str = "1", percent: int = 90, **facts: Any) -> Any:
    return sprayed(talk, number, **facts).at("2026-12-27T12:00").has("leaf_drop", number, percent=percent)


def cut(talk: Any, number: str = "1", **facts: Any) -> Any:
    return leafless(talk, number, **facts).at("2027-01-04T17:00").has("done", number, job="cut")


def reminder(talk: Any, iso: str) -> Reply:
    """The text of all that falls due at this hour; the conversation goes on as after sending it."""
    talk.at(iso)
    farm = talk.farm
    dues: list[Due] = []
    for number in farm.blocks:
        plan = farm.plan(number)
        if plan is not None:
            span = talk.now - timedelta(minutes=1), talk.now
            dues += due(plan, *span, farm.settings, farm.grower.evenings_only)
    assert dues, f"nothing falls due at {iso}"
    reply = words(dues, farm)
    talk.texts = [talk.worded(reply)]
    talk.conversation = reminded(talk.conversation, dues, farm)
    for more in talk.conversation.more:
        talk.worded(more)
    return reply


# Listing


def test_work_of_a_day_late_first_and_named_by_its_place(talk: Any) -> None:
    """Block 2 should have been cut on Mon 4 Jan, block 1's copper falls on Tue 5 Jan. A number is a place in it."""
    leafless(talk, "2").at("2026-12-27T12:00").has("done", "2", job="copper")
    leafless(talk, "1", cut="2027-01-08")
    talk.at("2027-01-05T07:00").means("todays_jobs", date="2027-01-05")

    assert talk.texts == ["Tue 5 Jan: first: cut block 2, late; second: copper spray block 1. Done? FIRST JOB DONE."]
    assert [(item["block"], item["job"], item["date"]) for item in talk.last.replies[0].items] == [
        ("2", "cut", "2027-01-04"),
        ("1", "copper", "2027-01-05"),
    ]

    talk.means("report_done", job=2)

    assert talk.written == [("done", "1", "2027-01-05", {"job": "copper"})]


def test_work_of_another_day_has_what_is_late_now(talk: Any) -> None:
    """Block 4's water should be off since Mon 7 Dec (45 days before 21 Jan); asked on 17 Dec for the 18th."""
    planned(talk, "4", cut="2027-01-21")
    talk.at("2026-12-17T07:00").means("todays_jobs", date="2026-12-18")

    assert talk.texts == ["Fri 18 Dec: first: stop water block 4, late. Done? FIRST JOB DONE."]


def test_what_comes_next_waits_for_nothing_and_is_not_past(talk: Any) -> None:
    """40 percent on 27 Dec: the leaves are looked at again on Thu 31 Dec; copper waits for them."""
    leafless(talk, percent=40).at("2026-12-28T07:00").means("todays_jobs")

    assert talk.texts == ["No work on Mon 28 Dec. Next: leaf check, block 1, Thu 31 Dec."]


def test_no_work_tells_what_comes_next(talk: Any) -> None:
    planned(talk)
    talk.at("2026-11-01T07:00").means("todays_jobs")

    assert talk.texts == ["No work on Sun 1 Nov. Next: stop water, block 1, Fri 20 Nov."]


def test_a_number_that_was_never_listed(talk: Any) -> None:
    planned(talk).at("2026-11-20T09:00").means("report_done", job=7)

    assert (talk.keys, talk.written) == (["jobs.no_such"], [])


# Reported


def test_both_blocks_stopped_yesterday(talk: Any) -> None:
    planned(talk, "1", soil="black")
    planned(talk, "2")
    talk.at("2026-11-21T17:50").means("report_done", job="rest", block="all", date="2026-11-20")

    assert talk.written == [("rest_begun", "1", "2026-11-20", {}), ("rest_begun", "2", "2026-11-20", {})]
    assert talk.texts == [
        "Kept: water off Fri 20 Nov, blocks 1 and 2 (UNDO). No water now till after the cut, about Mon 4 Jan. "
        "After any rain text e.g. RAIN 12."
    ]
    assert talk.values["block"] == "all"
    assert [item["block"] for item in talk.last.replies[0].items] == ["1", "2"]


def test_what_is_on_file_for_some_is_news_of_the_others(talk: Any) -> None:
    """Blocks 1 and 2 stopped on 20 Nov; block 3 (cut 21 Jan, leaf spray 18 days before) is told with them."""
    resting(talk, "1")
    resting(talk, "2")
    planned(talk, "3", cut="2027-01-21")
    talk.at("2026-11-21T08:00").means("report_done", job="rest", block="all")

    assert talk.written == [("rest_begun", "3", "2026-11-21", {})]
    assert talk.texts == [
        "Kept (UNDO): block 3 stop water Sat 21 Nov, next leaf spray Sun 3 Jan; "
        "blocks 1 and 2 stop water Fri 20 Nov was kept before."
    ]
    talk.means("report_done", job="rest", block="all")
    assert (talk.keys, talk.written) == (["report_done.already"], [])


def test_done_alone_is_the_one_job_due(talk: Any) -> None:
    leafless(talk).at("2027-01-01T18:00").means("report_done")

    assert talk.written == [("done", "1", "2027-01-01", {"job": "copper"})]
    assert talk.texts == ["Kept: copper spray done, block 1, Fri 1 Jan (UNDO). Next: cut Mon 4 Jan."]


def test_done_alone_with_two_jobs_due_asks_which(talk: Any) -> None:
    leafless(talk).at("2027-01-04T18:00").means("report_done")

    assert (talk.asked, talk.written) == ("report_done.job", [])
    assert talk.texts == ["Which job is done? first: copper spray block 1 or second: cut block 1. Text e.g. FIRST JOB."]

    talk.means("answer", job=2)

    assert talk.written == [("done", "1", "2027-01-04", {"job": "cut"})]


def test_one_job_on_two_blocks_asks_which_block(talk: Any) -> None:
    planned(talk, "1")
    planned(talk, "2")
    talk.at("2026-11-20T18:00").means("report_done", job="rest")

    assert (talk.asked, talk.written) == ("report_done.block", [])
    talk.means("answer", block="2")
    assert talk.written == [("rest_begun", "2", "2026-11-20", {})]


def test_half_cut_then_all(talk: Any) -> None:
    """200 of 400 on Fri 8 Jan: second spray two days later; the last part on Mon 11 Jan; water 7 days after."""
    leafless(talk, plants=400).at("2027-01-08T18:40").means("report_done", percent=50, plants=200, job="cut")

    assert talk.written == [("done", "1", "2027-01-08", {"job": "cut", "plants": 200})]
    assert talk.texts == [
        "Kept: cut 200 of 400 plants, block 1, Fri 8 Jan (UNDO). On these second spray Sun 10 Jan, "
        "clean up by Sun 10 Jan. "
        "The rest waits dry."
    ]
    assert (talk.values["second_spray"], talk.values["clean"]) == ("2027-01-10", "2027-01-10")

    talk.at("2027-01-11T17:10").means("report_done", job="cut", percent=100)

    assert talk.written == [("done", "1", "2027-01-11", {"job": "cut"})]
    assert talk.texts == [
        "Kept: cut done, block 1, Mon 11 Jan (UNDO). Second spray Wed 13 Jan, clear cut wood by Wed 13 Jan, "
        "first light water Mon 18 Jan."
    ]
    parts = [(item["job"], item["part"], item["date"]) for item in talk.last.replies[0].items]
    assert parts == [
        ("second_spray", 1, "2027-01-10"),
        ("second_spray", 2, "2027-01-13"),
        ("clean", 1, "2027-01-10"),
        ("clean", 2, "2027-01-13"),
    ]


def quarter_cut(talk: Any, **facts: Any) -> Any:
    leafless(talk, **facts).at("2027-01-04T18:00").means("report_done", job="cut", percent=25)
    return talk.at("2027-01-06T18:00")


def test_a_share_after_an_earlier_part_is_asked_back(talk: Any) -> None:
    """A quarter of 400 is 100; half of it 200: 100 more, or with them 300."""
    quarter_cut(talk, plants=400).means("report_done", job="cut", percent=50)
    assert (talk.asked, talk.written) == ("report_done.more", [])
    assert talk.texts == [
        "Block 1: 100 plants cut by my book. Now 200 plants more, so 300 plants in all? YES. Or 200 plants in all? NO."
    ]
    asked, entries = talk.conversation, list(talk.entries)
    talk.means("yes")
    assert talk.written == [("done", "1", "2027-01-06", {"job": "cut", "percent": 50})]
    assert talk.texts == [
        "Kept: cut 200 more, 300 of 400 in all, block 1, Wed 6 Jan (UNDO). On these second spray Fri 8 Jan, "
        "clean up by Fri 8 Jan. The rest waits dry."
    ]
    talk.conversation, talk.entries = asked, entries
    talk.means("no")
    assert talk.written == [("done", "1", "2027-01-06", {"job": "cut", "plants": 100})]
    assert talk.texts[0].startswith("Kept: cut 100 more, 200 of 400 in all, block 1, Wed 6 Jan")


def test_plants_after_an_earlier_part_say_what_is_cut_in_all(talk: Any) -> None:
    quarter_cut(talk, plants=400).means("report_done", job="cut", plants=60)

    assert talk.written == [("done", "1", "2027-01-06", {"job": "cut", "plants": 60})]
    assert talk.texts[0].startswith("Kept: cut 60 more, 160 of 400 in all, block 1")


def test_a_share_that_cannot_be_more_is_what_is_cut_in_all(talk: Any) -> None:
    """25 and 80 percent are more than the block: 80 of 100 in all, 320 - 100 = 220 plants now."""
    quarter_cut(talk, plants=400).means("report_done", job="cut", percent=80)

    assert talk.written == [("done", "1", "2027-01-06", {"job": "cut", "plants": 220})]


def test_a_smaller_share_that_cannot_be_more_is_asked_in_plants(talk: Any) -> None:
    leafless(talk, plants=400).at("2027-01-04T18:00").means("report_done", job="cut", percent=75)
    talk.at("2027-01-06T18:00").means("report_done", job="cut", percent=50)
    assert (talk.keys, talk.written) == (["report_done.so_many"], [])
    talk.means("answer", plants=40)

    assert talk.written == [("done", "1", "2027-01-06", {"job": "cut", "plants": 40})]


def test_a_share_where_plants_are_not_known(talk: Any) -> None:
    quarter_cut(talk, plants=None).means("report_done", job="cut", percent=50)
    assert talk.texts == [
        "Block 1: 25 percent cut by my book. Now 50 percent more, so 75 percent in all? YES. Or 50 percent in all? NO."
    ]
    talk.means("no")

    assert talk.written == [("done", "1", "2027-01-06", {"job": "cut", "percent": 25})]


def test_a_bare_tree_needs_no_second_spray(talk: Any) -> None:
    leafless(talk, percent=96).at("2027-01-04T18:00").means("report_done", job="cut")

    assert talk.keys == ["report_done.cut_bare"]
    assert "second_spray" not in talk.values


@pytest.mark.parametrize(
    ("word", "kind"), [("defoliate", "second_spray"), ("clean", "clean"), ("second_clean", "second_clean")]
)
def test_after_the_cut_words_mean_what_comes_after_it(talk: Any, word: str, kind: str) -> None:
    cut(talk).at("2027-01-07T18:00").means("report_done", job=word)

    assert talk.written == [("done", "1", "2027-01-07", {"job": kind})]


def test_the_second_cleaning(talk: Any) -> None:
    cut(talk).has("done", "1", "2027-01-05", job="clean").at("2027-01-13T18:00").means("report_done", job="clean")

    assert talk.written == [("done", "1", "2027-01-13", {"job": "second_clean"})]


def test_nothing_of_after_the_cut_before_it(talk: Any) -> None:
    leafless(talk).at("2027-01-03T18:00").means("report_done", job="clean")

    assert (talk.keys, talk.written) == (["report_done.cut_first"], [])


def test_a_cut_in_the_middle_of_the_rest_is_asked_back(talk: Any) -> None:
    resting(talk).at("2026-12-10T18:00").means("report_done", job="cut")
    assert (talk.asked, talk.written) == ("report_done.confirm", [])
    assert talk.texts == [
        "The leaf spray is not reported yet. Was block 1 really cut on Thu 10 Dec? YES or NO. Nothing is kept yet."
    ]

    talk.means("no")
    assert (talk.keys, talk.written) == (["report_done.not_kept"], [])

    talk.means("report_done", job="cut")
    talk.means("yes")
    assert talk.written == [("done", "1", "2026-12-10", {"job": "cut"})]
    assert talk.last.matter.kind == "early_cut"


def test_a_part_of_another_job_is_not_the_job(talk: Any) -> None:
    leafless(talk).at("2027-01-01T18:00").means("report_done", job="copper", percent=50)

    assert (talk.keys, talk.written) == (["report_done.not_all"], [])


def test_half_is_never_the_water_stopped(talk: Any) -> None:
    """Water is off on a block or it is not: "half done" while it is open keeps no rest."""
    talk.at("2026-11-20T09:00").has_block("1").has("cut_set", day="2026-10-20", date="2027-01-04")
    talk.means("report_done", percent=50)

    assert (talk.keys, talk.written) == (["report_done.not_all"], [])


def test_what_is_on_file_is_not_kept_twice(talk: Any) -> None:
    cut(talk).at("2027-01-05T18:00").means("report_done", job="cut")

    assert (talk.keys, talk.written) == (["report_done.already"], [])


def test_a_leaf_check_done_is_asked_for_its_figure(talk: Any) -> None:
    sprayed(talk).at("2026-12-27T18:00").means("report_done", job="leaf_check")
    assert (talk.asked, talk.written) == ("log_leaf_drop.percent", [])

    talk.means("answer", percent=90)
    assert talk.written == [("leaf_drop", "1", "2026-12-27", {"percent": 90})]


# Put off


def test_cannot_today_comes_again_the_next_morning(talk: Any) -> None:
    leafless(talk).at("2027-01-01T08:00").means("postpone")

    assert talk.written == [("postponed", "1", "2027-01-01", {"job": "copper", "until": "2027-01-02"})]
    assert talk.texts == [
        "Kept as not done: copper spray, block 1 (UNDO). We text again Sat 2 Jan. Last good day Sun 3 Jan."
    ]


def test_the_cut_put_off_moves_what_hangs_on_it(talk: Any) -> None:
    leafless(talk).has("done", "1", "2027-01-01", job="copper")
    talk.at("2027-01-03T19:00").means("postpone", job="cut", delay_days=4)

    assert talk.written == [("postponed", "1", "2027-01-03", {"job": "cut", "until": "2027-01-07"})]
    assert (talk.values["cut"], talk.values["water"]) == ("2027-01-07", "2027-01-14")


def test_not_later_than_planned_asks_for_a_later_day(talk: Any) -> None:
    """Copper is due on Fri 1 Jan."""
    leafless(talk).at("2026-12-28T19:00").means("postpone", job="copper", date="2026-12-30")

    assert (talk.keys, talk.written) == (["postpone.not_later"], [])
    assert talk.texts == [
        "Nothing is changed: copper spray, block 1, comes only on Fri 1 Jan. To which day after it? Send the day."
    ]
    talk.means("answer", date="2027-01-01")
    assert (talk.keys, talk.written) == (["postpone.not_later"], [])
    talk.means("answer", date="2027-01-02")

    assert talk.written == [("postponed", "1", "2026-12-28", {"job": "copper", "until": "2027-01-02"})]


def test_later_on_the_evening_before_is_the_day_after_its_day(talk: Any) -> None:
    """The cut falls on Mon 4 Jan, the leaf spray on Thu 17 Dec; a week from then is Mon 11 Jan."""
    leafless(talk).has("done", "1", "2027-01-01", job="copper")
    talk.at("2027-01-03T19:00").means("postpone")

    assert talk.written == [("postponed", "1", "2027-01-03", {"job": "cut", "until": "2027-01-05"})]
    assert talk.values["cut"] == "2027-01-05"


def test_days_count_from_now_unless_that_is_not_later(talk: Any) -> None:
    """The cut falls on Mon 4 Jan. Three days from Mon 28 Dec are Thu 31 Dec: so from the cut's own day, Thu 7 Jan."""
    leafless(talk).at("2026-12-28T19:00").means("postpone", job="cut", delay_days=3)

    assert talk.written == [("postponed", "1", "2026-12-28", {"job": "cut", "until": "2027-01-07"})]


def test_past_the_last_good_day_the_adviser_hears(talk: Any) -> None:
    cut(talk).at("2027-01-06T08:00").means("postpone", job="defoliate", delay_days=20)

    assert talk.keys == ["postpone.too_long"]
    assert talk.last.matter.kind == "postponed_too_long"


# Water


def test_watering_asks_how_long(talk: Any) -> None:
    talk.has_block().means("log_watering")
    assert (talk.asked, talk.written) == ("log_watering.minutes", [])
    talk.means("answer", minutes=2000)
    assert talk.keys == ["log_watering.minutes_possible"]
    talk.means("answer", minutes=210)

    assert talk.written == [("watering", "1", "2026-10-23", {"minutes": 210})]
    assert talk.texts == ["Kept: watered 210 minutes, block 1, Fri 23 Oct (UNDO)."]


def test_watering_of_unknown_length_is_kept_all_the_same(talk: Any) -> None:
    talk.has_block().means("log_watering")
    talk.means("no")

    assert talk.written == [("watering", "1", "2026-10-23", {})]


def test_water_in_the_rest_says_what_it_costs(talk: Any) -> None:
    """Without an amount in litres the soil is full again on day 20: the count begins anew, so the cut comes later."""
    resting(talk).at("2026-12-10T18:00").means("log_watering", minutes=90)

    assert talk.keys == ["log_watering.rest_lost"]
    assert talk.values["old_cut"] == "2027-01-04"
    lost = (date.fromisoformat(talk.values["cut"]) - date(2027, 1, 4)).days
    assert talk.values["water_days"] == lost > 0
    assert talk.values["days_lost"] == 0  # that is rain alone


def test_water_after_the_cut_closes_the_job(talk: Any) -> None:
    cut(talk).at("2027-01-11T18:00").means("log_watering", minutes=70)

    assert talk.keys == ["log_watering.first"]


# Leaves


def test_leaves_before_the_spray_close_nothing(talk: Any) -> None:
    resting(talk).at("2026-12-17T07:40").means("log_leaf_drop", percent=10)

    assert talk.texts == [
        "Kept: 10 percent fallen, block 1, Thu 17 Dec (UNDO). Leaf spray Thu 17 Dec: text SPRAYED when it is done."
    ]


def test_too_little_leaf_is_looked_at_again_and_never_sprayed_again(talk: Any) -> None:
    sprayed(talk).at("2026-12-27T19:35").means("log_leaf_drop", percent=40)

    assert talk.keys == ["log_leaf_drop.too_little"]
    assert talk.values["leaf_check"] == "2026-12-31"  # four days on
    assert "Do not spray again" in talk.texts[0]
    assert talk.last.matter.kind == "leaves_not_falling"


def test_enough_leaf_is_ready(talk: Any) -> None:
    sprayed(talk).at("2026-12-27T13:05").means("log_leaf_drop", percent=90)

    assert talk.texts == [
        "Kept: 90 percent fallen, block 1, Sun 27 Dec (UNDO). Ready. Copper Fri 1 Jan, cut Mon 4 Jan."
    ]


def test_bare_drops_the_second_spray(talk: Any) -> None:
    sprayed(talk).at("2026-12-27T13:05").means("log_leaf_drop", percent=95)

    assert talk.keys == ["log_leaf_drop.bare"]
    assert "second_spray" not in talk.values


def test_leaves_that_fell_by_themselves_hold_the_spray(talk: Any) -> None:
    """90 percent on 10 Dec, before the spray of 17 Dec: no reminder of it, no list and no plan sends to spray."""
    resting(talk).at("2026-12-10T09:00").means("log_leaf_drop", percent=90)
    talk.at("2026-12-17T09:00")
    plan = talk.farm.plan("1")
    assert plan.held == "fell_by_itself"
    assert "leaves_fell_by_themselves" in plan.for_adviser
    assert due(plan, datetime.fromisoformat("2026-12-10"), datetime.fromisoformat("2027-01-31"), talk.settings) == ()
    talk.means("plan")
    assert talk.texts == [
        "Block 1: so much leaf fell by itself. No work till your adviser's next word: no spray, no cut, no water. "
        "To be rung text PERSON."
    ]
    talk.means("todays_jobs")
    assert talk.texts == ["No work on Thu 17 Dec. Next: wait for your adviser."]

    talk.means("log_spray", product="ethephon")
    assert talk.farm.plan("1").held is None
    assert talk.values["leaf_check"] == "2026-12-27"


def test_two_blocks_in_step(talk: Any) -> None:
    sprayed(talk, "1")
    sprayed(talk, "2")
    talk.at("2026-12-27T13:05").means("log_leaf_drop", block=["1", "2"], percent=[90, 40])

    assert [(block, values["percent"]) for _, block, _, values in talk.written] == [("1", 90), ("2", 40)]
    assert [item["key"] for item in talk.last.replies[0].items] == [
        "log_leaf_drop.several.item_ready",
        "log_leaf_drop.several.item_too_little",
    ]


@pytest.mark.parametrize(
    "told",
    [
        {"block": ["1", "2"], "percent": [90, 40, 60]},
        {"block": "1", "percent": [90, 40]},
        {"block": ["1", "2"], "percent": 90, "date": ["2026-12-25", "2026-12-26", "2026-12-27"]},
    ],
)
def test_lists_that_do_not_pair_up_are_not_guessed_at(talk: Any, told: dict[str, Any]) -> None:
    sprayed(talk, "1")
    sprayed(talk, "2")
    talk.at("2026-12-27T13:05").means("log_leaf_drop", **told)

    assert (talk.keys, talk.written) == (["jobs.one_by_one"], [])


def test_plants_cut_block_by_block(talk: Any) -> None:
    """40 in block 1 and 60 in block 2: each its own."""
    leafless(talk, "1")
    leafless(talk, "2")
    talk.at("2027-01-04T18:00").means("report_done", job="cut", block=["1", "2"], plants=[40, 60])

    assert [(block, values) for _, block, _, values in talk.written] == [
        ("1", {"job": "cut", "plants": 40}),
        ("2", {"job": "cut", "plants": 60}),
    ]


def test_watered_on_two_days(talk: Any) -> None:
    talk.has_block().means("log_watering", minutes=60, date=["2026-10-20", "2026-10-22"])

    assert [day for _, _, day, _ in talk.written] == ["2026-10-20", "2026-10-22"]
    assert talk.texts == ["Kept, watered (UNDO): block 1 Tue 20 Oct; block 1 Thu 22 Oct."]


def test_a_figure_over_a_hundred_is_asked_again(talk: Any) -> None:
    sprayed(talk).at("2026-12-27T13:05").means("log_leaf_drop", percent=400)

    assert (talk.keys, talk.written) == (["log_leaf_drop.possible"], [])


# Sprays


def test_sprayed_alone_is_the_spray_that_is_due(talk: Any) -> None:
    resting(talk).at("2026-12-17T11:20").means("log_spray", volume_l=345)

    assert talk.written == [("spray", "1", "2026-12-17", {"product": "ethephon", "volume_l": 345})]
    assert talk.texts == [
        "Kept: sprayed ethephon, 345 l, block 1, Thu 17 Dec (UNDO). Keep out as label says. "
        "Leaf check Sun 27 Dec, cut about Mon 4 Jan."
    ]


def test_a_spray_without_a_job_is_asked_for_its_product(talk: Any) -> None:
    talk.has_block().means("log_spray")
    assert (talk.asked, talk.written) == ("log_spray.product", [])
    talk.means("answer", product="other")

    assert talk.written == [("spray", "1", "2026-10-23", {"product": "other"})]


def test_copper_two_days_after_ethephon_is_told(talk: Any) -> None:
    sprayed(talk).at("2026-12-19T11:20").means("log_spray", product="bordeaux")

    assert talk.keys == ["log_spray.too_close"]
    assert (talk.values["apart"], talk.values["gap"], talk.values["other_date"]) == (2, 3, "2026-12-17")
    assert talk.last.matter.kind == "sprays_too_close"


def test_a_second_leaf_spray_is_never_silent(talk: Any) -> None:
    sprayed(talk).at("2026-12-28T11:20").means("log_spray", product="ethephon")

    assert talk.keys == ["log_spray.once_more"]
    assert talk.last.matter.kind == "second_leaf_spray"


def test_one_spray_that_means_different_things_is_told_block_by_block(talk: Any) -> None:
    """Blocks 1 and 2 were sprayed on Thu 17 Dec, block 3 is now, a day late, block 4 has no plan."""
    sprayed(talk, "1")
    sprayed(talk, "2")
    resting(talk, "3")
    talk.has_block("4").at("2026-12-18T09:00").means("log_spray", product="ethephon", block="all")

    assert [block for _, block, _, _ in talk.written] == ["1", "2", "3", "4"]
    assert talk.texts == [
        "Kept, sprayed ethephon (UNDO): blocks 1 and 2 a second leaf spray, no more of it; "
        "block 3 Fri 18 Dec, next leaf check Mon 28 Dec; block 4 Fri 18 Dec. Adviser told."
    ]
    assert (talk.last.matter.kind, talk.last.matter.block) == ("second_leaf_spray", None)


def test_an_early_spray_moves_no_cut_forward(talk: Any) -> None:
    """Sprayed Tue 8 Dec: 27 days before the cut, more than 20."""
    resting(talk).at("2026-12-08T11:20").means("log_spray", product="ethephon")

    assert talk.keys == ["log_spray.early"]
    assert talk.values["cut"] == "2027-01-04"
    assert talk.last.matter.kind == "early_spray"


def test_ethephon_after_the_cut_is_the_second_spray(talk: Any) -> None:
    cut(talk).at("2027-01-06T11:20").means("log_spray", product="ethephon")

    assert (talk.keys, talk.values["job"]) == (["report_done.kept_next"], "second_spray")


# Reminders


def test_stop_water_on_two_blocks_in_one_text(talk: Any) -> None:
    planned(talk, "1", soil="black")
    planned(talk, "2")
    reply = reminder(talk, "2026-11-20T06:30")

    assert talk.texts == [
        "Fri 20 Nov: stop all water on blocks 1 and 2, about 45 dry days. When done text STOPPED WATER, else LATER. "
        "After rain text RAIN 12."
    ]
    assert (reply.values["job"], reply.values["date"], reply.values["block"]) == ("rest", "2026-11-20", "all")
    assert [item["block"] for item in reply.items] == ["1", "2"]

    again = reminder(talk, "2026-11-21T06:30")
    assert talk.texts[0].startswith("Open since Fri 20 Nov: stop all water")
    assert again.values["date"] == "2026-11-20"


def test_the_evening_before_the_leaf_spray_asks_for_the_label(talk: Any) -> None:
    resting(talk)
    reminder(talk, "2026-12-16T18:30")

    assert talk.texts == [
        "Tomorrow Thu 17 Dec: leaf spray, block 1. Get: ethephon, gloves, eye cover, mask. "
        "How many g per litre on the label? Send e.g. LABEL 390."
    ]
    assert asking(talk.conversation) == "ppm"  # a bare number is the label's, a share its percent
    conversation = talk.conversation
    for answer in ({"ppm": 480}, {"percent": 48}, {"extra": {"grams_per_litre": 480}}):
        talk.conversation = conversation
        talk.means("answer", **answer)
        assert talk.values["pump_ml"] == 31  # 1000 / 480 x 15 = 31.25

    talk.conversation = conversation
    talk.means("answer", percent=10)  # of leaves, surely
    assert talk.keys == ["mix_spray.which_label"]


def test_the_morning_of_the_leaf_spray_has_the_dose_and_asks_for_the_leaves(talk: Any) -> None:
    """240 x 1.5 = 360 l: 24 pumps of 15 l; 2.564 x 15 = 38.46 ml."""
    resting(talk)
    reply = reminder(talk, "2026-12-17T06:30")

    assert talk.texts == [
        "Thu 17 Dec: leaf spray block 1 before noon. 38 ml in a 15 l pump, 24 pumps, 912 ml in all "
        "if label is 390 g/L. Gloves, eyes, mask. Leaf fallen? Then SPRAYED."
    ]
    assert (reply.values["volume_l"], reply.values["grams_per_litre"]) == (360, 390)
    assert reply.values["product_ml"] == pytest.approx(923.08, abs=0.01)

    talk.means("answer", percent=10)
    assert talk.written == [("leaf_drop", "1", "2026-12-17", {"percent": 10})]

    talk.means("log_spray")
    assert talk.written == [("spray", "1", "2026-12-17", {"product": "ethephon"})]


def test_two_sprays_of_two_blocks_are_items_with_their_cautions(talk: Any) -> None:
    resting(talk, "1", soil="black")
    resting(talk, "2", plants=300)
    reply = reminder(talk, "2026-12-17T06:30")

    assert talk.texts == [
        "Thu 17 Dec: block 1 leaf spray: 76 ml a pump, 24 pumps, 1824 ml in all (SPRAYED); "
        "block 2 leaf spray: 38 ml a pump, 30 pumps, 1140 ml in all (SPRAYED). "
        "Pumps of 15 l if label is 390 g/L and allows 2000 ppm. Gloves, eyes, mask."
    ]
    assert [(item["block"], item["job"], item["volume_l"]) for item in reply.items] == [
        ("1", "defoliate", 360),
        ("2", "defoliate", 450),
    ]


def test_the_cut_tells_three_rules_and_the_rest_on_asking(talk: Any) -> None:
    leafless(talk).has("done", "1", "2027-01-01", job="copper")
    reminder(talk, "2027-01-04T06:30")

    assert "dry, sick, crowded wood, suckers, shoots to ground" in talk.texts[0]
    told = " ".join(talk.worded(reply) for reply in talk.conversation.more)
    for rule in ("30 cm", "Light to every inner branch", "neighbours' branches", "quarter to half", "canker", "paste"):
        assert rule in told

    talk.means("help", word="more")
    assert talk.keys == ["cut_rules.shape"]


def test_copper_tells_grams(talk: Any) -> None:
    leafless(talk)
    reply = reminder(talk, "2027-01-01T06:30")

    assert "Each pump of 15 l: 150 g copper sulphate, 150 g lime; 24 pumps, 3600 g each" in talk.texts[0]
    assert (reply.values["copper_kg"], reply.values["lime_kg"]) == (3.6, 3.6)


def test_a_window_that_ended_is_asked_after(talk: Any) -> None:
    """The rest of 20 Nov can be begun till 23 Nov; on the 24th it is asked, and only a yes with its day is kept."""
    planned(talk)
    reply = reminder(talk, "2026-11-24T06:30")
    assert reply.key == "reminder.ask"

    talk.means("yes")
    assert (talk.asked, talk.written) == ("was_done.date", [])
    talk.means("answer", date="2026-11-22")
    assert talk.written == [("rest_begun", "1", "2026-11-22", {})]


def test_asked_after_on_two_blocks_yes_is_both(talk: Any) -> None:
    planned(talk, "1")
    planned(talk, "2")
    reminder(talk, "2026-11-24T06:30")
    talk.means("yes")
    talk.means("answer", date="2026-11-22")

    assert [(kind, block) for kind, block, _, _ in talk.written] == [("rest_begun", "1"), ("rest_begun", "2")]


def test_a_leaf_check_of_two_blocks_asks_which_one_a_figure_is_for(talk: Any) -> None:
    sprayed(talk, "1")
    sprayed(talk, "2")
    reminder(talk, "2026-12-27T06:30")
    assert talk.texts == [
        "Sun 27 Dec: leaf check, blocks 1 and 2. Look at ten trees: how much leaf has fallen? Send e.g. LEAF 80."
    ]
    talk.means("answer", percent=80)
    assert (talk.asked, talk.written) == ("log_leaf_drop.block", [])
    talk.means("answer", block="2")

    assert talk.written == [("leaf_drop", "2", "2026-12-27", {"percent": 80})]


def test_a_no_is_never_done(talk: Any) -> None:
    planned(talk)
    reminder(talk, "2026-11-24T06:30")
    talk.means("no")

    assert (talk.keys, talk.written) == (["was_done.to_person"], [])
    assert talk.last.matter.kind == "not_done"


def test_evenings_only_get_the_dose_the_evening_before(talk: Any) -> None:
    resting(talk)
    talk.grower = replace(talk.grower, evenings_only=True)
    reminder(talk, "2026-12-16T18:30")

    assert talk.texts[0].startswith("Tomorrow Thu 17 Dec: leaf spray block 1")
    assert "38 ml" in talk.texts[0]


def test_without_plants_one_pump_is_told(talk: Any) -> None:
    talk.at("2026-10-23T18:40").has_block(plants=None, spacing_m=None, spacing_ft=None, soil="red")
    talk.has("cut_set", "1", date="2027-01-04").has("rest_begun", "1", "2026-11-20")
    reply = reminder(talk, "2026-12-17T06:30")

    assert reply.key == "reminder.defoliate_pump"
    assert reply.values["pump_ml"] == 38


def test_the_label_on_file_holds_in_reminders(talk: Any) -> None:
    talk.settings = Settings.of({"label_max_ppm": 500})
    resting(talk, soil="black")

    assert reminder(talk, "2026-12-17T06:30").values["ppm"] == 500


def test_each_part_of_a_cut_is_reminded_on_its_own(talk: Any) -> None:
    """120 of 240 plants cut on Mon 4 Jan: their spray on Wed 6 Jan, 120 x 1.5 = 180 l = 12 pumps."""
    leafless(talk).at("2027-01-04T17:00").has("done", "1", job="cut", plants=120)
    reply = reminder(talk, "2027-01-06T06:30")

    spray = next(item for item in reply.items if item["job"] == "second_spray")
    assert (spray["part"], spray["plants"], spray["volume_l"], spray["pumps"]) == (1, 120, 180, 12)
    assert (
        "block 1 (cut Mon 4 Jan) second spray if no buds open: 38 ml a pump, 12 pumps, 456 ml in all (SPRAYED)"
        in talk.texts[0]
    )


def test_two_parts_are_told_apart_by_the_day_of_their_cut(talk: Any) -> None:
    """120 of 240 plants on Mon 4 Jan, the rest on Tue 5 Jan; on Thu 7 Jan the first spray is late, the second due."""
    leafless(talk).at("2027-01-04T17:00").has("done", "1", job="cut", plants=120)
    talk.at("2027-01-05T17:00").has("done", "1", job="cut").has("done", "1", job="clean")
    reminder(talk, "2027-01-07T06:30")

    assert talk.texts == [
        "Thu 7 Jan: block 1 (cut Mon 4 Jan) second spray if no buds open: 38 ml a pump, 12 pumps, 456 ml in all "
        "(SPRAYED); block 1 (cut Tue 5 Jan) second spray if no buds open: 38 ml a pump, 12 pumps, 456 ml in all "
        "(SPRAYED). Pumps of 15 l if label is 390 g/L. Gloves, eyes, mask."
    ]


def test_the_work_of_the_day_stands_before_what_is_asked_after(talk: Any) -> None:
    """Sprayed blocks 1 to 3; nothing told since. On Mon 4 Jan they are to be cut, the window of the leaf check (27 Dec
    and 6 days) and that of the copper (to the day before the cut) are over: one question, the rest only told."""
    for number in "123":
        sprayed(talk, number)
    reply = reminder(talk, "2027-01-04T06:30")

    assert talk.texts == [
        "Mon 4 Jan: blocks 1, 2 and 3 cut, dip tools, firm ladder (CUT DONE); "
        "blocks 1, 2 and 3 leaf check of Sun 27 Dec: was it done? YES or NO; "
        "blocks 1, 2 and 3 copper spray of Fri 1 Jan not heard of. Text each when done."
    ]
    assert [item["blocks"] for item in reply.items] == [["1", "2", "3"]] * 3
    assert [(one["block"], one["job"]) for one in reply.items[0]["each"]] == [("1", "cut"), ("2", "cut"), ("3", "cut")]
    assert talk.asked == "was_done.confirm"
    assert talk.conversation.open.filled == {"block": ["1", "2", "3"], "job": "leaf_check"}


def test_only_one_question_of_a_text_is_answered_by_yes_or_no(talk: Any) -> None:
    """Of two jobs asked after the first is the question; beside a leaf check, which asks for its figure, none is."""
    leafless(talk, "1")
    leafless(talk, "2")
    talk.at("2027-01-06T06:30")
    farm = talk.farm
    ask = Due("1", farm.plan("1").cycle, "copper", None, date(2027, 1, 1), "ask", talk.now)
    other = replace(ask, block="2", cycle=farm.plan("2").cycle, job="cut")
    look = replace(other, job="leaf_check", for_date=date(2027, 1, 6), occasion="morning")

    assert talk.worded(words([ask, other], farm)) == (
        "Open since Fri 1 Jan: block 1 copper spray of Fri 1 Jan: was it done? YES or NO; "
        "block 2 cut of Fri 1 Jan not heard of. Text each when done."
    )
    assert talk.worded(words([ask, look], farm)) == (
        "Wed 6 Jan: block 2 leaf check (LEAF 80); block 1 copper spray of Fri 1 Jan not heard of. Text each when done."
    )
    assert reminded(talk.conversation, [ask, look], farm).open.dialog == "log_leaf_drop"


def test_past_the_longest_rest_the_twigs_are_to_be_looked_at(talk: Any) -> None:
    """Water off on Fri 20 Nov, the cut put off to 1 Feb; on red soil 60 days are over on Wed 20 Jan."""
    leafless(talk).has("cut_set", "1", date="2027-02-01")
    reply = reminder(talk, "2027-01-20T06:30")

    assert talk.texts == [
        "Wed 20 Jan: over 60 days dry on block 1. Look at the twigs: if tips dry up text PERSON. Your adviser is told."
    ]
    assert ("job" in reply.values, reply.values["rest_start"]) == (False, "2026-11-20")


# Plans moved unasked


def test_the_gauge_moves_a_cut_and_says_so(talk: Any) -> None:
    resting(talk).at("2026-12-08T08:00")
    before = talk.farm
    after = before.after([_rain("2026-12-07", 60)])
    plans = before.plan("1"), after.plan("1")
    assert plans[0] is not None
    assert plans[1] is not None
    reply = moved({"1": plans[0]}, {"1": plans[1]}, {"kind": "gauge", "mm": 60, "date": "2026-12-07"}, after)

    assert reply is not None
    assert reply.key == "moved.cut"
    assert (reply.values["old_cut"], reply.values["mm"]) == ("2027-01-04", 60)
    assert reply.values["cut"] > "2027-01-04"
    assert talk.worded(reply).startswith("Gauge: 60 mm, Mon 7 Dec. Block 1: cut Mon 4 Jan > ")


def test_a_drizzle_that_moves_nothing_is_not_told(talk: Any) -> None:
    resting(talk).at("2026-12-08T08:00")
    before = talk.farm
    after = before.after([_rain("2026-12-07", 0.1)])

    assert (
        moved(
            {"1": before.plan("1")},
            {"1": after.plan("1")},
            {"kind": "gauge", "mm": 0.1, "date": "2026-12-07"},
            after,
        )
        is None
    )


@pytest.mark.parametrize(
    ("ruling", "day", "opening"),
    [
        ("cut_fixed", "2027-01-10", "Your adviser Meera has fixed the cut of block 1: Sun 10 Jan."),
        ("rest_enough", "2026-12-30", "Your adviser Meera on block 1: the rest is enough. Cut "),
        (
            "rest_not_enough",
            "2027-01-20",
            "Your adviser Meera on block 1: the rest is not enough yet. Cut Wed 20 Jan, not before.",
        ),
        ("rest_not_enough", None, "Your adviser Meera on block 1: the rest is not enough, no cut till he says so."),
        ("spray_called_off", None, "Your adviser Meera on block 1: no ethephon spray now, it is called off."),
        ("withdrawn", None, "Your adviser Meera on block 1: takes the last word back."),
        ("rain_not_counted", "2026-12-07", "Your adviser Meera on block 1: the rain of Mon 7 Dec does not count."),
    ],
)
def test_every_ruling_is_told_by_the_advisers_name(talk: Any, ruling: str, day: str | None, opening: str) -> None:
    resting(talk).at("2026-12-10T08:00")
    said = {"ruling": ruling, "adviser": "Meera"} | ({"date": day} if day else {})
    before = talk.farm
    after = before.after([NewEntry("ruling", "1", date(2026, 12, 10), said)])
    reply = moved({"1": before.plan("1")}, {"1": after.plan("1")}, {"kind": "ruling", "block": "1", **said}, after)

    assert reply is not None
    assert talk.worded(reply).startswith(opening)


def _rain(day: str, mm: float) -> Any:
    return NewEntry("rain", None, datetime.fromisoformat(day).date(), {"amount_mm": mm})


def test_a_part_of_a_spray_is_no_spray_done(talk: Any) -> None:
    """100 of 240 plants sprayed: the leaf spray stays open; of a cut in parts, the part that was sprayed is closed."""
    talk.has_block("1", plants=240).means("set_cut_day", date="2027-01-04")
    talk.at("2026-12-17T09:00").means("log_spray", product="ethephon", plants=100)

    assert (talk.keys, talk.written) == (["report_done.not_all"], [])
