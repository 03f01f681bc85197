"""Setting and moving the cut: written at once, then the questions that only warn."""

from typing import Any

import pytest


def test_written_at_once_with_the_dates(talk: Any) -> None:
    """A cut on 4 Jan: water off 45 days before, leaf spray 18, leaf check 10 after the spray, copper 3 before."""
    talk.has_block("1").means("set_cut_day", date="2027-01-04")

    assert talk.written == [("cut_set", "1", "2026-10-23", {"date": "2027-01-04"})]
    assert talk.keys == ["set_cut_day.kept", "before_cut.is_picked"]
    values = talk.values
    assert (values["date"], values["block"], values["cut"]) == ("2027-01-04", "1", "2027-01-04")
    assert (values["rest_start"], values["defoliate"]) == ("2026-11-20", "2026-12-17")
    assert (values["leaf_check"], values["copper"]) == ("2026-12-27", "2027-01-01")
    assert talk.texts[0] == (
        "Kept: cut Mon 4 Jan, block 1. Water off Fri 20 Nov, leaf spray Thu 17 Dec, leaf check Sun 27 Dec,"
        " copper Fri 1 Jan. Rain moves all. UNDO."
    )


def test_then_fruit_and_the_last_cut(talk: Any) -> None:
    """Less than ten months since the last cut, or fruit on the trees: only warned."""
    talk.has_block("1").means("set_cut_day", date="2027-01-04")
    talk.means("no")
    assert talk.asked == "before_cut.last_cut"
    talk.means("answer", planted="2026-05")

    assert talk.written == [
        ("fruit", "1", "2026-10-23", {"picked": False}),
        ("last_cut", "1", "2026-10-23", {"month": "2026-05"}),
    ]
    assert talk.keys == ["before_cut.kept", "before_cut.too_often", "before_cut.fruit_hangs"]
    assert talk.texts[0] == "Kept: fruit still on the trees and last cut May 2026, block 1. UNDO if wrong."
    assert talk.farm.plan("1").cut.isoformat() == "2027-01-04"


def test_what_is_known_is_not_asked(talk: Any) -> None:
    """January to January is a year: nothing to warn of."""
    talk.has_block("1").has("fruit", picked=True).has("last_cut", month="2026-01")
    talk.means("set_cut_day", date="2027-01-04")

    assert talk.keys == ["set_cut_day.kept"]
    assert talk.asked is None


def test_picked_in_a_month(talk: Any) -> None:
    """ "picked in sept" says yes and when."""
    talk.has_block("1").has("last_cut", month="2026-01").means("set_cut_day", date="2027-01-04")
    talk.means("answer", month="2026-09")

    assert talk.written == [("fruit", "1", "2026-10-23", {"picked": True, "month": "2026-09"})]


@pytest.mark.parametrize(
    ("said", "keys"),
    [
        ("2025", ["before_cut.kept"]),  # December 2025 at the latest: 13 months before January 2027
        ("2026", ["before_cut.which_month"]),  # may be one month or twelve
        ("2026-12", ["before_cut.month_to_come"]),
        ("2026-03", ["before_cut.kept"]),  # ten months are enough
        ("2026-04", ["before_cut.kept", "before_cut.too_often"]),
    ],
)
def test_when_last_forced(talk: Any, said: str, keys: list[str]) -> None:
    talk.has_block("1").means("set_cut_day", date="2027-01-04")
    talk.means("yes")
    talk.means("answer", planted=said)

    assert talk.keys == keys


def test_never_forced_is_no_warning(talk: Any) -> None:
    talk.has_block("1").means("set_cut_day", date="2027-01-04")
    talk.means("yes")
    talk.means("no")

    assert talk.keys == ["before_cut.kept"]
    assert talk.written == [("fruit", "1", "2026-10-23", {"picked": True})]


def test_picked_said_as_a_harvest(talk: Any) -> None:
    talk.has_block("1").has("last_cut", month="2026-01").means("set_cut_day", date="2027-01-04")
    talk.means("log_harvest", month="2026-09")

    assert talk.written == [("fruit", "1", "2026-10-23", {"picked": True, "month": "2026-09"})]


def test_moved_by_days_from_the_cut_told(talk: Any) -> None:
    talk.has_block("1").has("fruit", picked=True).has("last_cut", month="2025-01")
    talk.means("set_cut_day", date="2027-01-04")
    talk.means("set_cut_day", delay_days=5)

    assert talk.written == [("cut_set", "1", "2026-10-23", {"date": "2027-01-09"})]
    assert talk.values["date"] == "2027-01-09"


def test_nothing_to_move(talk: Any) -> None:
    talk.has_block("1").means("set_cut_day", delay_days=5)

    assert (talk.keys, talk.last.entries) == (["set_cut_day.none_to_move"], ())


def test_too_soon_is_told_with_the_first_day(talk: Any) -> None:
    """Set on 23 Oct, the rest cannot begin before that day: 23 Oct + 45 = 7 Dec."""
    talk.has_block("1").means("set_cut_day", date="2026-11-20")

    assert talk.written == [("cut_set", "1", "2026-10-23", {"date": "2026-11-20"})]
    assert talk.keys[0] == "set_cut_day.kept_later"
    assert (talk.values["date"], talk.values["cut"]) == ("2026-11-20", "2026-12-07")


@pytest.mark.parametrize(
    ("day", "key"), [("2025-10-30", "day.is_past"), ("2026-10-22", "day.is_past"), ("2028-06-01", "day.too_far")]
)
def test_an_impossible_day_is_asked_again(talk: Any, day: str, key: str) -> None:
    talk.has_block("1").means("set_cut_day", date=day)
    assert (talk.keys, talk.last.entries, talk.asked) == ([key], (), "set_cut_day.date")
    talk.means("answer", date="2027-01-04")

    assert talk.written[0][3] == {"date": "2027-01-04"}


@pytest.mark.parametrize(
    ("planted", "keys"),
    [
        ("2025-08", ["set_cut_day.too_young"]),  # 17 months on 4 Jan 2027
        ("2025-07", ["set_cut_day.kept", "set_cut_day.young", "before_cut.is_picked"]),  # 18
        ("2025-02", ["set_cut_day.kept", "set_cut_day.young", "before_cut.is_picked"]),  # 23
        ("2025-01", ["set_cut_day.kept", "before_cut.is_picked"]),  # 24
        (None, ["set_cut_day.kept", "before_cut.is_picked"]),
    ],
)
def test_age_at_the_cut(talk: Any, planted: str | None, keys: list[str]) -> None:
    """Under 18 months refused, 18 to 24 warned."""
    talk.has_block("1", planted=planted).means("set_cut_day", date="2027-01-04")

    assert talk.keys == keys
    if keys == ["set_cut_day.too_young"]:
        assert talk.last.entries == ()
        assert talk.values["date"] == "2027-02-01"  # August 2025 + 18 months


def test_which_block_is_asked(talk: Any) -> None:
    talk.has_block("1").has_block("2").means("set_cut_day", date="2027-01-04")
    assert (talk.keys, talk.last.entries) == (["block.which"], ())
    talk.means("answer", block="2")

    assert [entry[:2] for entry in talk.written] == [("cut_set", "2")]


def test_both_is_each(talk: Any) -> None:
    talk.has_block("1").has_block("2", soil="red").means("set_cut_day", date="2027-01-04", block="all")

    assert [entry[:2] for entry in talk.written] == [("cut_set", "1"), ("cut_set", "2")]
    assert talk.keys[0] == "set_cut_day.kept"
    assert talk.values["block"] == "all"


def test_days_in_step_with_blocks(talk: Any) -> None:
    talk.has_block("1").has_block("2")
    talk.means("set_cut_day", date=["2027-01-04", "2027-01-09"], block=["1", "2"])

    assert [(block, values["date"]) for _, block, _, values in talk.written] == [
        ("1", "2027-01-04"),
        ("2", "2027-01-09"),
    ]
    assert talk.keys[0] == "set_cut_day.kept_several"
    assert talk.texts[0] == "Kept. Block 1: cut Mon 4 Jan; Block 2: cut Sat 9 Jan. PLAN for all dates. UNDO if wrong."


def test_one_of_two_is_too_young(talk: Any) -> None:
    talk.has_block("1").has_block("2", planted="2026-05").means("set_cut_day", date="2027-01-04", block="all")

    assert [entry[:2] for entry in talk.written] == [("cut_set", "1")]
    assert talk.keys[:2] == ["set_cut_day.too_young", "set_cut_day.kept"]


def test_a_month_to_cut_in_asks_for_the_day(talk: Any) -> None:
    talk.has_block("1").means("set_cut_day", month="2026-12")
    assert (talk.keys, talk.values["month"]) == (["set_cut_day.which_day_in"], "2026-12")
    talk.means("answer", date="2026-12-20")

    assert talk.written[0][3] == {"date": "2026-12-20"}


def test_a_day_of_another_month_is_asked_back(talk: Any) -> None:
    """A bare 2, asked for the day in December, is read as the second that is nearest: 2 November."""
    talk.has_block("1").means("set_cut_day", month="2026-12")
    talk.means("answer", date="2026-11-02")
    assert (talk.texts, talk.written) == (["Cut on Mon 2 Nov, not in Dec 2026? YES or NO."], [])
    talk.means("no")

    assert talk.written == []


def test_flowers_wanted_in_a_month_are_counted_back(talk: Any) -> None:
    """Mid February, less 7 days to the first water and 32 from water to flowers: 15 Feb - 39 days = 7 Jan."""
    talk.has_block("1").means("set_cut_day", month="2027-02", extra={"flowering": True})
    assert (talk.keys, talk.values["dates"], talk.written) == (["set_cut_day.counted"], ["2027-01-07"], [])
    talk.means("yes")

    assert talk.written[0][3] == {"date": "2027-01-07"}


def test_an_unsure_wish_for_flowers_is_asked_once(talk: Any) -> None:
    """The question with the day is the question back."""
    talk.has_block("1").means("set_cut_day", clarify=True, month="2027-02", extra={"flowering": True})

    assert talk.keys == ["set_cut_day.counted"]


def test_a_season_is_counted_back(talk: Any) -> None:
    """Ambe flowers in January: 15 Jan - 39 days = 7 Dec, which is also the first day that a rest from 23 Oct allows."""
    talk.has_block("1").means("set_cut_day", season="ambe")
    assert talk.written == []
    talk.means("yes")

    assert talk.written[0][3] == {"date": "2026-12-07", "season": "ambe"}
    assert talk.values["cut"] == "2026-12-07"


def test_a_bare_day_is_one_of_the_month_asked_about(talk: Any) -> None:
    """ "cut in january", "12": read alone it is Mon 12 Oct, which is past. There is no 31 Feb."""
    talk.has_block("1").means("set_cut_day", month="2027-01")
    talk.means("answer", date="2026-10-12", extra={"day_of_month": 12})
    assert [entry[3]["date"] for entry in talk.written] == ["2027-01-12"]

    talk.means("set_cut_day", month="2027-02")
    talk.means("answer", date="2026-10-31", extra={"day_of_month": 31})
    assert (talk.keys, talk.written) == (["set_cut_day.which_day_in"], [])
