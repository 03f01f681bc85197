"""Registering a block: what is asked, what is kept, what follows."""

from typing import Any

import pytest

FULL = {"plants": 240, "spacing_m": [3.7, 2.4], "planted": "2021-07", "soil": "black", "water_source": "drip"}
FEET = {"extra": {"spacing_ft": [12, 8]}}


def test_all_in_one_text(talk: Any) -> None:
    """Nothing is asked that was told; feet stay feet."""
    talk.means("register_block", **FULL, **FEET)

    assert talk.written == [("block", "1", "2026-10-23", {**FULL, "spacing_ft": [12.0, 8.0]})]
    assert talk.keys == ["register_block.kept", "begun.rest"]
    assert talk.texts[0] == "Kept: block 1, 240 plants, 12 x 8 ft, black soil, drip, planted Jul 2021. UNDO if wrong."
    # 240 x 12 x 8 sq ft = 23,040 sq ft = 2140.5 m2
    assert talk.farm.blocks["1"].area_ha == pytest.approx(0.21405, abs=1e-5)


def test_only_what_is_missing_is_asked_in_order(talk: Any) -> None:
    """One question a text: plants, spacing, planting, soil, water."""
    talk.means("register_block")
    asked = []
    for answer in ({"plants": 300}, {"spacing_m": [4.0, 3.0]}, {"planted": "2020"}, {"soil": "red"}):
        asked.append((talk.asked, len(talk.keys)))
        assert not talk.last.entries
        talk.means("answer", **answer)
    asked.append((talk.asked, len(talk.keys)))
    talk.means("answer", water_source="flood")

    assert asked == [
        ("register_block.plants", 1),
        ("register_block.spacing_m", 1),
        ("register_block.planted", 1),
        ("register_block.soil", 1),
        ("register_block.water_source", 1),
    ]
    assert talk.written[0][3] == {
        "plants": 300,
        "spacing_m": [4.0, 3.0],
        "planted": "2020",
        "soil": "red",
        "water_source": "flood",
    }


def test_several_answers_at_once(talk: Any) -> None:
    """Values told before they are asked are not asked."""
    talk.means("register_block", plants=300)
    talk.means("answer", spacing_m=[4.0, 3.0], soil="red", planted="2020")

    assert talk.asked == "register_block.water_source"


def test_plants_follow_from_area_and_spacing(talk: Any) -> None:
    """1.21 ha at 12 x 10 ft (11.148 m2): 1085 plants, counted from feet."""
    talk.means("register_block", name="Riverside", area_ha=1.21, planted="2020", soil="red", water_source="drip")
    assert talk.asked == "register_block.spacing_m"
    talk.means("answer", spacing_m=[3.7, 3.0], extra={"spacing_ft": [12, 10]})

    assert talk.farm.blocks["1"].plants == 1085  # 12100 / 11.1484; rounded metres would give 1090
    assert talk.texts[0].startswith("Kept: block 1 (Riverside), 1085 plants, 12 x 10 ft, red soil")


def test_area_without_spacing_asks_for_plants(talk: Any) -> None:
    """Neither known is allowed where the area is told."""
    talk.means("register_block", area_ha=0.5, planted="2020", soil="red", water_source="drip")
    talk.means("answer")
    assert talk.asked == "register_block.plants"
    talk.means("answer")

    assert talk.written[0][3] == {"area_ha": 0.5, "planted": "2020", "soil": "red", "water_source": "drip"}


def test_dont_know_is_no_plants(talk: Any) -> None:
    """Without plants or area there is no block: asked again, then to a person."""
    talk.means("register_block")
    talk.means("answer")
    assert talk.asked == "register_block.plants"
    talk.means("no")

    assert talk.keys == ["lost.to_person"]
    assert talk.entries == []


def test_dont_know_is_fine_for_the_rest(talk: Any) -> None:
    talk.means("register_block", plants=100)
    for _ in range(4):
        talk.means("answer")

    assert talk.written[0][3] == {"plants": 100}
    assert talk.texts[0] == (
        "Kept: block 1, 100 plants, spacing not told, soil not told, watering not told, planting not told."
        " UNDO if wrong."
    )


@pytest.mark.parametrize(
    ("slots", "key", "slot", "better"),
    [
        ({"plants": 0}, "block_fact.plants_possible", "plants", {"plants": 240}),
        ({"spacing_m": [40.0, 40.0]}, "block_fact.spacing_possible", "spacing_m", {"spacing_m": [4.0, 3.0]}),
        ({"planted": "2026-11"}, "block_fact.planting_possible", "planted", {"planted": "2021-07"}),
        ({"planted": "1850"}, "block_fact.planting_possible", "planted", {"planted": "2021-07"}),
        ({"area_ha": 0}, "block_fact.area_possible", "area_ha", {"area_ha": 0.3}),
        ({"block": "0"}, "register_block.number_possible", "block", {"block": "2"}),
    ],
)
def test_the_impossible_is_asked_again(talk: Any, slots: dict[str, Any], key: str, slot: str, better: Any) -> None:
    """The range is told; what else was told is not lost, and nothing is written."""
    talk.means("register_block", **{**FULL, **slots})
    assert (talk.keys, talk.asked, talk.last.entries) == ([key], f"register_block.{slot}", ())
    talk.means("unclear")
    assert talk.keys == [key]  # put again as it was put
    talk.means("answer", **better)

    expected = {**FULL, **better}
    expected.pop("block", None)
    assert talk.written[0][3] == expected


def test_feet_do_not_outlive_their_correction(talk: Any) -> None:
    """40 x 30 ft asked again and answered in metres: no feet are kept."""
    talk.means("register_block", **{**FULL, "spacing_m": [12.2, 9.1]}, extra={"spacing_ft": [40, 30]})
    talk.means("answer", spacing_m=[4.0, 3.0])

    assert "spacing_ft" not in talk.written[0][3]
    assert talk.written[0][3]["spacing_m"] == [4.0, 3.0]


def test_plants_that_cannot_stand_on_the_area(talk: Any) -> None:
    """4000 plants at 12 sq m need 4.8 ha, 0.4 was told: asked back, a nought too many is the usual slip."""
    talk.means("register_block", **{**FULL, "plants": 4000, "spacing_m": [4.0, 3.0], "area_ha": 0.4})
    assert talk.texts == [
        "4000 plants at that spacing need 4.8 hectare, you said 0.4. How many plants are there? Send the number."
    ]
    talk.means("answer", plants=400)

    assert talk.written[0][3]["plants"] == 400


def test_the_next_free_number(talk: Any) -> None:
    """A number that was ever used is not given again by itself."""
    talk.has_block("1").has_block("2").has("retired", "2")
    talk.means("register_block", **FULL)

    assert talk.written[0][1] == "3"


def test_a_number_that_is_taken_is_a_correction(talk: Any) -> None:
    """Led through my_blocks: nothing is asked but whether it is right, nothing written before the yes."""
    talk.has_block("1").has_block("2", soil="red")
    talk.means("register_block", block="2", soil="loam")
    assert talk.asked == "change_block.confirm"
    assert talk.texts == [
        "Then block 2 is: 240 plants, 12 x 8 ft, loam soil, drip, planted Jul 2021. Right? YES or NO."
    ]
    assert talk.last.entries == ()
    talk.means("yes")

    assert talk.written == [("block", "2", "2026-10-23", {"soil": "loam"})]
    assert talk.farm.blocks["2"].plants == 240


def test_a_fact_without_a_block_may_be_a_correction(talk: Any) -> None:
    talk.has_block("1")
    talk.means("register_block", soil="red")
    assert talk.keys == ["register_block.is_it_new"]
    talk.means("no")
    assert talk.keys == ["change_block.is_right"]
    talk.means("no")

    assert talk.keys == ["change_block.left"]
    assert len(talk.entries) == 1


def test_a_young_block_is_not_asked_about_its_rest(talk: Any) -> None:
    talk.means("register_block", **{**FULL, "planted": "2026-06"})

    assert talk.keys == ["register_block.kept", "register_block.young"]
    assert talk.asked is None


def test_said_before_joining_is_kept_for_the_yes(talk: Any) -> None:
    """Nothing is written, nor anything asked but the yes."""
    talk.grower = type(talk.grower)(1, "+1", None, None, "en", joined=False, stopped=False)
    talk.means("join", name="sunanda", **FULL, extra={"spacing_ft": [12, 8], "village": "Upper Neem"})
    assert (talk.keys, talk.last.entries, dict(talk.last.grower)) == (["join.agree"], (), {})
    talk.means("yes")

    assert talk.written[0][3] == {**FULL, "spacing_ft": [12.0, 8.0]}
    assert dict(talk.last.grower) == {"joined": True, "stopped": False, "name": "sunanda", "village": "Upper Neem"}


def test_a_first_text_that_only_tells_a_block_tells_the_village_too(talk: Any) -> None:
    talk.grower = type(talk.grower)(1, "+1", None, None, "en", joined=False, stopped=False)
    talk.means("register_block", **FULL, extra={"village": "Upper Neem"})
    talk.means("yes")

    assert talk.grower.village == "Upper Neem"


# How far the rest is


def test_water_already_stopped_and_rain_since(talk: Any) -> None:
    """Each answer is kept at once; rains one by one until NO."""
    talk.at("2026-12-10T09:00").means("register_block", **FULL, **FEET)
    talk.means("answer", date="2026-11-20")
    assert talk.written == [("rest_begun", "1", "2026-11-20", {})]
    assert talk.keys == ["begun.kept_rest", "begun.spray"]
    assert talk.values["cut"] == "2027-01-04"  # 20 Nov + 45
    talk.means("no")
    assert talk.texts == [
        "Any rain on block 1 since Fri 20 Nov? Send each with its day, e.g. RAIN 12 5 DEC. NO when that is all."
    ]
    talk.means("answer", amount_mm=12, date="2026-12-05")
    assert talk.written == [("rain", "1", "2026-12-05", {"amount_mm": 12})]
    assert talk.asked == "begun_rains.rains"
    talk.means("log_rain", amount_mm=3, date="2026-12-06")
    assert talk.asked == "begun_rains.rains"
    talk.means("no")

    assert talk.keys == ["begun.all_told"]
    assert talk.asked is None


def test_sprayed_and_cut_already(talk: Any) -> None:
    talk.at("2026-12-30T09:00").means("register_block", **FULL)
    talk.means("answer", date="2026-11-01")
    talk.means("answer", date="2026-12-01")
    assert talk.written == [("spray", "1", "2026-12-01", {"product": "ethephon", "job": "defoliate"})]
    talk.means("answer", date="2026-12-20")
    assert talk.written == [("done", "1", "2026-12-20", {"job": "cut"})]

    assert talk.keys == ["begun.kept_cut"]
    assert talk.asked is None


@pytest.mark.parametrize(("day", "key"), [("2026-12-11", "day.still_to_come"), ("2026-01-05", "begun.too_long_ago")])
def test_a_rest_day_that_cannot_be(talk: Any, day: str, key: str) -> None:
    talk.at("2026-12-10T09:00").means("register_block", **FULL)
    talk.means("answer", date=day)

    assert (talk.keys, talk.last.entries) == ([key], ())


def test_a_spray_before_the_rest_cannot_be(talk: Any) -> None:
    talk.at("2026-12-10T09:00").means("register_block", **FULL)
    talk.means("answer", date="2026-11-20")
    talk.means("answer", date="2026-11-10")

    assert talk.keys == ["begun.before_that"]


def test_not_stopped_yet(talk: Any) -> None:
    talk.means("register_block", **FULL)
    talk.means("no")

    assert talk.keys == ["begun.not_yet"]
    assert talk.asked is None


def test_acres_are_not_rounded(talk: Any) -> None:
    """1.5 acre of 43,560 sq ft at 12 x 8 ft: 65,340 / 96 = 681 plants (by 0.61 ha it would be 684)."""
    talk.at("2026-10-23T18:40")
    slots = {"area_ha": 0.61, "spacing_m": [3.7, 2.4], "planted": "2020", "soil": "red", "water_source": "drip"}
    talk.means("register_block", **slots, extra={"area_typed_ha": 1.5 * 0.4047, "spacing_ft": [12, 8]})

    assert talk.values["plants"] == 681


def test_a_rest_told_with_the_block_is_kept_and_goes_with_it(talk: Any) -> None:
    """A rest begun on 22 Oct; one UNDO takes back the block and all that the text told of it, and says so."""
    talk.means("register_block", **FULL, **{"extra": {**FEET["extra"], "rest_day": "2026-10-22"}})
    assert [entry[0] for entry in talk.written] == ["block", "rest_begun"]
    assert talk.keys == ["register_block.kept", "begun.kept_rest", "begun.spray"]

    talk.means("undo")
    assert talk.texts[0].startswith("Taken back: the new block,")
    assert talk.farm.blocks == {}
