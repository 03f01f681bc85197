"""The dates of the cycle, told."""

from typing import Any


def ready(talk: Any, number: str = "1", cut: str = "2027-01-04", **facts: Any) -> Any:
    return talk.has_block(number, **facts).has("cut_set", number, "2026-10-23", date=cut)


def test_the_dates_and_the_rest_by_more(talk: Any) -> None:
    """From the cut on 4 Jan: second spray +2, cleaning within 2 days, again 7 after the spray (window 4), water +7."""
    ready(talk).means("plan")
    assert talk.texts == [
        "Block 1: stop water Fri 20 Nov, leaf spray Thu 17 Dec, leaf check Sun 27 Dec, copper Fri 1 Jan, cut Mon 4 Jan."
        " Rain can move these. MORE for the rest."
    ]
    talk.means("unclear", word="more")

    assert talk.keys == ["plan.after_cut"]
    assert talk.values["second_spray"] == "2027-01-06"
    assert talk.values["water"] == "2027-01-11"


def test_why_says_where_the_days_come_from(talk: Any) -> None:
    ready(talk).means("plan")
    talk.means("unclear", word="why")

    assert talk.keys == ["why.rest"]


def test_no_plan_says_how_to_set_one(talk: Any) -> None:
    talk.has_block("1").means("plan")

    assert talk.texts == ["No cut day is set for block 1. To set it text e.g. CUT 4 JAN."]


def test_one_job(talk: Any) -> None:
    ready(talk).means("plan", job="copper")

    assert talk.texts == ["Block 1: copper spray Fri 1 Jan. Rain can move it."]
    assert (talk.values["job"], talk.values["date"]) == ("copper", "2027-01-01")


def test_a_job_that_is_done(talk: Any) -> None:
    ready(talk).at("2026-11-25T08:00").has("rest_begun", day="2026-11-20").means("plan", job="rest")

    assert talk.texts == ["Block 1: stop water, done Fri 20 Nov."]


def test_several_blocks(talk: Any) -> None:
    ready(talk, "1")
    ready(talk, "2", "2027-01-09")
    talk.has_block("3").means("plan")

    assert talk.texts == [
        "Block 1: stop water Fri 20 Nov, cut Mon 4 Jan; Block 2: stop water Wed 25 Nov, cut Sat 9 Jan;"
        " Block 3: no cut day set. For all dates of one block text e.g. PLAN 2."
    ]
    assert [item["block"] for item in talk.last.replies[0].items] == ["1", "2", "3"]


def test_a_job_on_several_blocks(talk: Any) -> None:
    ready(talk, "1")
    talk.has_block("2").means("plan", job="cut")

    assert talk.texts == ["Block 1: cut Mon 4 Jan; Block 2: no cut day set. Rain can move these."]


def test_after_the_cut(talk: Any) -> None:
    ready(talk).at("2027-01-05T08:00").has("done", day="2027-01-04", job="cut").means("plan")

    assert talk.keys == ["plan.after_cut"]


def test_no_blocks(talk: Any) -> None:
    talk.means("plan")

    assert talk.keys == ["block.none_yet"]


def test_days_without_a_word_of_rain_count_as_dry_and_it_is_said(talk: Any) -> None:
    """Water off 20 Nov: of the 7 past days from 21 to 27 Nov one has a report, so 6 are taken as dry."""
    talk.has_block("1").has("cut_set", day="2026-10-20", date="2027-01-04").has("rest_begun", day="2026-11-20")
    talk.has("rain", day="2026-11-25", amount_mm=0).at("2026-11-28T08:00").means("plan")

    assert talk.keys == ["plan.in_rest"]
    assert (talk.values["untold"], talk.values["cut"]) == (6, "2027-01-04")
