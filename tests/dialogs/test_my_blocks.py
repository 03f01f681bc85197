"""Blocks listed, corrected and taken off the list: nothing is written before a yes."""

from typing import Any

import pytest

from dialogs.understanding import Meaning, Reading


def test_no_block_yet(talk: Any) -> None:
    talk.means("my_blocks")

    assert talk.keys == ["block.none_yet"]


def test_list_then_correct_one(talk: Any) -> None:
    talk.has_block("1").has_block("2", plants=160, soil="red", name="Hill")
    talk.means("my_blocks")
    assert talk.texts == [
        "You have block 1: 240 plants, black soil; block 2 (Hill): 160 plants, red soil."
        " To change one or take it off, send its number."
    ]
    assert [item["block"] for item in talk.last.replies[0].items] == ["1", "2"]
    talk.means("answer", block="hill")
    assert talk.texts == [
        "block 2 (Hill): 160 plants, 12 x 8 ft, red soil, drip, planted Jul 2021."
        " Wrong? Send e.g. RED SOIL. Off the list? YES."
    ]
    talk.means("answer", soil="loam", plants=150)
    assert (talk.keys, talk.last.entries) == (["change_block.is_right"], ())
    talk.means("answer", plants=155)  # "no 155"
    assert (talk.keys, talk.last.entries, talk.values["plants"]) == (["change_block.is_right"], (), 155)
    talk.means("yes")

    assert talk.written == [("block", "2", "2026-10-23", {"plants": 155, "soil": "loam"})]
    assert talk.keys == ["change_block.kept"]


def test_take_one_off(talk: Any) -> None:
    """The diary stays; UNDO brings the block back."""
    talk.has_block("1").has_block("2")
    talk.means("my_blocks")
    talk.means("answer", block="2")
    assert talk.last.entries == ()
    talk.means("yes")
    assert (talk.keys, talk.last.entries) == (["change_block.is_off"], ())
    talk.means("yes")
    assert talk.written == [("retired", "2", "2026-10-23", {})]
    assert list(talk.farm.blocks) == ["1"]
    talk.means("undo")

    assert list(talk.farm.blocks) == ["1", "2"]


def test_ok_to_the_list_takes_nothing_off(talk: Any) -> None:
    """Meant as thanks, it is heard as a yes: it is asked once more, and another text lets the question go."""
    talk.has_block("1").means("my_blocks")
    talk.means("yes", word="thanks")
    assert (talk.keys, talk.written) == (["change_block.is_off"], [])
    talk.means("log_rain", amount_mm=12)

    assert talk.keys == ["log_rain.kept"]
    assert list(talk.farm.blocks) == ["1"]


def test_the_only_block_is_asked_about_at_once(talk: Any) -> None:
    talk.has_block("1").means("my_blocks")
    assert talk.asked == "change_block.gone"
    talk.means("no")

    assert talk.keys == ["change_block.left"]
    assert len(talk.entries) == 1


def test_a_correction_said_as_a_registration(talk: Any) -> None:
    """ "soil is red", answered to what is wrong, is about that block."""
    talk.has_block("1").means("my_blocks")
    talk.means("register_block", soil="red")
    talk.means("yes")

    assert talk.written == [("block", "1", "2026-10-23", {"soil": "red"})]


def test_more_than_three_blocks(talk: Any) -> None:
    for number in "12345":
        talk.has_block(number)
    talk.means("my_blocks")
    assert ". 2 more: text MORE." in talk.texts[0]
    talk.means("unclear", word="more")

    assert talk.texts[0].startswith("You have block 4: 240 plants, black soil; block 5: ")


def test_the_list_does_not_come_back(talk: Any) -> None:
    """Its question may be let go: another text is not followed by the list once more."""
    talk.has_block("1").means("my_blocks")
    talk.means("log_rain", amount_mm=12)

    assert talk.keys == ["log_rain.kept"]
    assert talk.asked is None


def test_one_at_a_time(talk: Any) -> None:
    talk.has_block("1").has_block("2").means("my_blocks")
    talk.means("answer", block="all")

    assert talk.keys == ["block.one_at_a_time"]


def test_a_correction_that_moves_the_cut_says_so(talk: Any) -> None:
    """30 mm in the third week costs more days on black soil than on sand: the cut moves with the soil."""
    talk.at("2026-12-12T08:00").has_block("1", soil="sandy")
    talk.has("rest_begun", day="2026-11-20").has("cut_set", day="2026-11-01", date="2027-01-04")
    talk.has("rain", block=None, day="2026-12-07", amount_mm=60)
    before = talk.farm.plan("1").cut
    talk.means("register_block", block="1", soil="black")
    talk.means("yes")

    assert talk.keys == ["change_block.kept", "change_block.moved"]
    assert talk.last.replies[1].values["old_cut"] == before.isoformat()
    assert talk.last.replies[1].values["cut"] == talk.farm.plan("1").cut.isoformat() > before.isoformat()


@pytest.mark.parametrize("slots", [{"plants": 0}, {"planted": "2027-01"}, {"spacing_m": [40, 40]}])
def test_an_impossible_correction_is_asked_again(talk: Any, slots: dict[str, Any]) -> None:
    talk.has_block("1").means("my_blocks")
    talk.means("answer", **slots)

    assert talk.keys[0].startswith("block_fact.")
    assert talk.last.entries == ()


def test_take_it_off_is_a_yes_where_it_is_asked(talk: Any) -> None:
    """Read as taking back what was told; only a bare UNDO takes back."""
    talk.has_block("1").has_block("2").means("my_blocks")
    talk.means("answer", block="2")
    assert (talk.asked, talk.values["block"]) == ("change_block.gone", "2")
    talk.means("undo")
    assert (talk.asked, talk.last.entries, talk.last.voids) == ("change_block.off", (), ())
    talk.means("undo")
    assert talk.written == [("retired", "2", "2026-10-23", {})]

    talk.hears(Meaning("undo", {}, bare=True))
    assert list(talk.farm.blocks) == ["1", "2"]


def test_a_likely_reading_leads_to_the_list(talk: Any) -> None:
    talk.has_block("1").has_block("2")
    talk.means("unclear", readings=(Reading("my_blocks", {"block": "2"}, 4.0),))
    assert talk.keys == ["choose.which"]
    talk.means("answer", job=1)
    assert talk.keys == ["my_blocks.list"]
    talk.means("answer", block="2")

    assert (talk.keys, talk.values["block"]) == (["change_block.what"], "2")
