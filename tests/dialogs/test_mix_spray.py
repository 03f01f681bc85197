"""How much product: figures worked by hand, and never a dose above label or adviser, whatever is typed."""

import re
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from dialogs.care import TEXTS, care
from service.orchard.cautions import cautions
from service.orchard.job import steps
from service.orchard.settings import Settings


def in_rest(talk: Any, soil: str = "red", **facts: Any) -> Any:
    """Block 1, 240 plants of 5 years, in rest for a cut on 4 Jan 2027."""
    talk.at("2026-10-23T18:40").has_block("1", soil=soil, **facts)
    talk.has("cut_set", "1", date="2027-01-04").has("rest_begun", "1", "2026-11-20")
    return talk.at("2026-12-16T18:55")


def test_label_in_percent_and_a_pump_of_16_litres(talk: Any) -> None:
    """1000 / 390 = 2.5641 ml/L; x 16 = 41.03 ml, told 41; 240 x 1.5 = 360 l = 22.5 pumps, told 23; 23 x 41 = 943."""
    in_rest(talk)
    talk.means("mix_spray", volume_l=16, extra={"grams_per_litre": 390, "strength_from_percent": True, "pump_l": 16})

    assert talk.keys == ["mix_spray.ethephon_block", "mix_spray.care_ethephon"]
    values = talk.values
    assert values["ml_per_litre"] == pytest.approx(2.5641, abs=1e-4)
    assert values["product_ml"] == pytest.approx(923.08, abs=0.01)
    assert (values["volume_l"], values["pumps"], values["pump_ml"], values["all_ml"]) == (360, 23, 41, 943)
    assert talk.texts[0] == (
        "Block 1, 240 plants: 23 pumps of 16 l. One pump 41 ml ethephon, in all 943 ml. "
        "39 % read as 390 g/L: check label. 1000 ppm."
    )
    assert not talk.last.entries
    assert talk.conversation.more[0].key == "care.body"


def test_a_dose_for_so_many_plants(talk: Any) -> None:
    """300 plants x 1.5 l = 450 l = 30 pumps of 15 l; 1000 / 390 x 15 = 38.46 ml, told 38; 30 x 38 = 1140."""
    in_rest(talk)
    talk.means("mix_spray", product="ethephon", plants=300)

    assert (talk.values["plants"], talk.values["pumps"], talk.values["pump_ml"]) == (300, 30, 38)
    assert talk.values["all_ml"] == 1140


def test_black_soil_is_stronger_before_the_cut_only(talk: Any) -> None:
    """Practice: 2000 ppm on black soil in the first spray, 1000 in the second; the text says who rules."""
    in_rest(talk, soil="black")
    talk.means("mix_spray", product="ethephon")

    assert talk.values["ppm"] == 2000
    # 2000 / 390 = 5.128 ml/L x 15 = 76.9
    assert talk.values["pump_ml"] == 76
    assert "label first" in talk.texts[0]
    assert "390 g/L: check it" in talk.texts[0]

    talk.has("spray", "1", "2026-12-17", product="ethephon").has("done", "1", "2027-01-04", job="cut")
    talk.at("2027-01-06T07:00").means("mix_spray", product="ethephon")

    assert talk.values["ppm"] == 1000
    assert talk.values["pump_ml"] == 38  # 38.46


def test_the_label_on_file_comes_before_practice(talk: Any) -> None:
    talk.settings = Settings.of({"label_max_ppm": 1200})
    in_rest(talk, soil="black")
    talk.means("mix_spray", product="ethephon")

    assert talk.values["ppm"] == 1200


def test_more_than_on_file_is_not_obeyed(talk: Any) -> None:
    """4000 ppm typed: the dose is that of 1000, and the text says who may raise it."""
    in_rest(talk)
    talk.means("mix_spray", product="ethephon", ppm=4000, volume_l=100)

    assert talk.values["ppm"] == 1000
    assert talk.values["product_ml"] == pytest.approx(256.41, abs=0.01)
    assert talk.texts[0] == (
        "For 100 l: 256 ml ethephon in all, 38 ml in a 15 l pump. "
        "Label taken as 390 g/L: check it. More only by your adviser: 1000 ppm."
    )


def test_less_than_on_file_is(talk: Any) -> None:
    in_rest(talk)
    talk.means("mix_spray", product="ethephon", ppm=780, volume_l=100)

    assert talk.values["all_ml"] == 200  # 780 / 390 = 2 ml/L


@pytest.mark.parametrize("strength", [4, 40, 39, 99, 801, 4000])
def test_a_senseless_strength_gives_no_dose(talk: Any, strength: int) -> None:
    in_rest(talk)
    talk.means("mix_spray", volume_l=100, product="ethephon", extra={"grams_per_litre": strength})

    assert talk.keys == ["mix_spray.strength_possible"]
    assert "product_ml" not in talk.values

    talk.means("answer", ppm=390)  # a bare number answers the question for the label

    assert talk.values["all_ml"] == 256


def test_bordeaux_for_a_pump(talk: Any) -> None:
    """1 % is 10 g of each in a litre: 150 g in 15 l."""
    talk.has_block()
    talk.means("mix_spray", product="bordeaux", volume_l=15)

    assert talk.keys == ["mix_spray.bordeaux_one", "mix_spray.care_copper"]
    assert (talk.values["copper_kg"], talk.values["lime_kg"], talk.values["all_g"]) == (0.15, 0.15, 150)
    assert "Iron blade" in talk.texts[1]
    assert "same day" in talk.texts[1]


def test_bordeaux_for_a_block(talk: Any) -> None:
    """240 x 1.5 = 360 l: 3.6 kg of each; 24 pumps of 150 g."""
    in_rest(talk)
    talk.means("mix_spray", product="copper")

    assert (talk.values["copper_kg"], talk.values["pumps"], talk.values["pump_g"]) == (3.6, 24, 150)


def test_what_is_missing_is_asked(talk: Any) -> None:
    talk.has_block(plants=None, spacing_m=None, spacing_ft=None)
    talk.means("mix_spray")
    assert talk.asked == "mix_spray.product"
    talk.means("answer", product="ethephon")
    assert talk.asked == "mix_spray.volume_l"
    talk.means("answer", volume_l=100)

    assert talk.values["all_ml"] == 512  # black soil by default here: 2000 / 390 x 100 = 512.8


def test_two_blocks_of_other_soils(talk: Any) -> None:
    """Without a block the weaker practice is told; without litres the block is asked."""
    talk.has_block("1", soil="black").has_block("2", soil="red")
    talk.means("mix_spray", product="ethephon", volume_l=100)
    assert talk.values["ppm"] == 1000

    talk.means("mix_spray", product="ethephon")
    assert talk.asked == "mix_spray.block"
    talk.means("answer", block="1")
    assert (talk.values["block"], talk.values["ppm"]) == ("1", 2000)


def test_the_spray_that_is_due_needs_no_name(talk: Any) -> None:
    """LABEL 390, the evening before the leaf spray of 17 Dec."""
    in_rest(talk).has_block("2", soil="red")
    talk.means("mix_spray", extra={"grams_per_litre": 390})

    assert (talk.values["block"], talk.values["product"]) == ("1", "ethephon")


def test_other_products_get_no_dose(talk: Any) -> None:
    talk.has_block()
    talk.means("mix_spray", product="other", volume_l=200)

    assert talk.keys == ["mix_spray.no_dose"]


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])  # each example talks anew
@given(
    ppm=st.none() | st.integers(-10, 10**6) | st.floats(0.1, 10**5),
    volume_l=st.none() | st.floats(0.1, 60_000) | st.integers(0, 60_000),
    pump_l=st.none() | st.floats(0.1, 6000),
    grams_per_litre=st.none() | st.floats(0.1, 5000),
    soil=st.sampled_from(["black", "red", "sandy", None]),
    label_max_ppm=st.none() | st.integers(1, 3000),
    plants=st.integers(1, 5000),
)
def test_never_a_dose_above_label_or_adviser(
    talk: Any, ppm: Any, volume_l: Any, pump_l: Any, grams_per_litre: Any, soil: Any, label_max_ppm: Any, plants: int
) -> None:
    """By the exact figures and by the millilitres told, for a pump and in all."""
    talk = type(talk)()
    talk.settings = Settings.of({"label_max_ppm": label_max_ppm})
    in_rest(talk, soil=soil, plants=plants)
    slots = {"ppm": ppm, "volume_l": volume_l}
    extra = {"pump_l": pump_l, "grams_per_litre": grams_per_litre}
    talk.means(
        "mix_spray",
        product="ethephon",
        **{slot: value for slot, value in slots.items() if value is not None},
        extra={slot: value for slot, value in extra.items() if value is not None},
    )

    if "product_ml" not in talk.values:
        assert not any("ml" in name for name in talk.values)
        return
    values = talk.values
    most = min(2000 if soil == "black" else 1000, label_max_ppm or 3000)
    strength = values["grams_per_litre"]
    slack = 1 + 1e-9
    assert values["ml_per_litre"] * strength <= most * slack
    assert values["product_ml"] * strength <= most * values["volume_l"] * slack
    assert values["pump_ml"] * strength <= most * values["pump_l"] * slack
    water = values["pumps"] * values["pump_l"] if talk.keys[0] == "mix_spray.ethephon_block" else values["water_l"]
    assert values["all_ml"] * strength <= most * water * slack
    assert not re.search(r"\d[.,]\d", talk.texts[0]), "no decimal stands in a dose text"


def test_every_caution_is_told_in_full() -> None:
    """Each caution of each job is covered by a text that comes on asking."""
    for job in steps():
        told = {caution for reply in care(job) for caution in TEXTS[reply.key]}
        assert set(cautions(job)) <= told, job


@pytest.mark.parametrize("products", [["ethephon", "copper"], ["bordeaux", "ethephon"]])
def test_asked_for_together_the_never_stands_first(talk: Any, products: list[str]) -> None:
    talk.has_block("1").means("mix_spray", product=products)

    assert talk.keys == ["mix_spray.never_together", "mix_spray.ethephon_block", "mix_spray.care_ethephon"]
    assert talk.texts[0] == (
        "Never ethephon and copper in one tank, and at least 3 days apart on the tree. Here is ethephon alone."
    )
