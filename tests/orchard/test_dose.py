"""Doses, by hand."""

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.orchard.cautions import cautions, spraying_hours
from service.orchard.dose import Refused, bordeaux, ethephon, ethephon_ppm, spray_volume
from service.orchard.job import steps
from service.orchard.settings import Settings
from tests.orchard.diaries import BLACK, DEFAULTS, SANDY, UPPER_NEEM, d

D = Decimal


def test_1000_ppm_of_390_grams_a_litre():
    """1000 mg/L over 390 g/L is 2.564 ml/L: the ratio of the official table, 3846 ml in 1500 L."""
    dose = ethephon(D(1000), D(390), D(1500), D(15))
    assert dose.ml_per_litre == pytest.approx(D("2.564"), abs=D("0.0005"))
    assert dose.product_ml == pytest.approx(D("3846"), abs=D("0.5"))


def test_240_plants_of_five_years_with_a_pump_of_16_litres():
    """240 x 1.5 l = 360 l: 22.5 pumps, 23; 2.564 x 16 = 41.03, 41 ml; 2.564 x 360 = 923.08 ml."""
    volume = spray_volume(BLACK, d("2026-12-31"), DEFAULTS)
    assert volume == 360

    dose = ethephon(D(1000), D(390), volume, D(16))

    assert (dose.pumps, dose.ml_per_pump, dose.whole_product_ml) == (23, 41, 923)
    assert dose.product_ml == pytest.approx(D("923.08"), abs=D("0.01"))


@pytest.mark.parametrize(
    ("planted", "litres"), [("2025-07", 120), ("2024-12", 240), ("2022-12", 360), ("2021-01", 360), ("2020-12", 480)]
)
def test_mix_per_plant_by_age(planted, litres):
    """240 plants on 31 Dec 2026: under 2 years 0.5 l, 2-3 1.0, 4-5 1.5, 6 and over 2.0."""
    assert spray_volume(replace(BLACK, planted=planted), d("2026-12-31"), DEFAULTS) == litres


def test_the_volume_of_a_part_and_of_a_block_not_known():
    assert spray_volume(BLACK, d("2026-12-31"), DEFAULTS, plants=100) == 150
    assert spray_volume(replace(BLACK, planted=None), d("2026-12-31"), DEFAULTS) is None
    assert spray_volume(replace(BLACK, plants=None), d("2026-12-31"), DEFAULTS) is None


@pytest.mark.parametrize("grams", [4, 39, 99, 801, 4000, 0, -390])
def test_a_strength_that_makes_no_sense_gives_no_dose(grams):
    with pytest.raises(Refused) as refused:
        ethephon(D(1000), D(grams), D(360), D(15))
    assert (refused.value.reason, refused.value.low, refused.value.high) == ("grams_per_litre", 100, 800)


@pytest.mark.parametrize(
    ("ppm", "volume", "sprayer", "reason"), [(0, 1, 1, "ppm"), (1, 0, 1, "volume_l"), (1, 1, -1, "sprayer_l")]
)
def test_a_figure_of_nothing_gives_no_dose(ppm, volume, sprayer, reason):
    with pytest.raises(Refused) as refused:
        ethephon(D(ppm), D(390), D(volume), D(sprayer))
    assert refused.value.reason == reason


def test_black_soil_doubles_the_first_spray_only_and_never_over_the_label():
    assert ethephon_ppm(BLACK, "defoliate", DEFAULTS) == 2000
    assert ethephon_ppm(SANDY, "defoliate", DEFAULTS) == 1000
    assert ethephon_ppm(BLACK, "second_spray", DEFAULTS) == 1000
    assert ethephon_ppm(BLACK, "defoliate", Settings.of({"label_max_ppm": 1200})) == 1200
    assert ethephon_ppm(SANDY, "second_spray", Settings.of({"label_max_ppm": 800})) == 800


amounts = st.decimals("0.1", "5000", places=1)


@given(
    ppm=st.decimals("1", "5000", places=0),
    grams=st.decimals("100", "800", places=0),
    volume=amounts,
    sprayer=amounts,
    most=amounts,
)
def test_never_a_dose_above_the_label(ppm, grams, volume, sprayer, most):
    """In all, by the litre and in the pumps as told."""
    dose = ethephon(ppm, grams, volume, sprayer, most)
    assert dose.ppm == min(ppm, most)
    assert dose.ml_per_pump * grams <= most * sprayer
    assert dose.whole_product_ml * grams <= most * volume
    assert dose.whole_product_ml <= dose.product_ml < dose.whole_product_ml + 1
    assert (dose.pumps - 1) * sprayer < volume <= dose.pumps * sprayer


def test_one_percent_bordeaux():
    """1 kg and 1 kg in 100 L: 360 L take 3.6 kg of each, a pump of 15 L 150 g."""
    dose = bordeaux(D(360), D(15))
    assert (dose.copper_kg, dose.lime_kg, dose.pumps) == (D("3.6"), D("3.6"), 24)
    assert (dose.copper_g_per_pump, dose.lime_g_per_pump) == (150, 150)
    with pytest.raises(Refused):
        bordeaux(D(0), D(15))


def test_cautions_ride_with_the_jobs_that_need_them():
    for job in ("defoliate", "second_spray", "copper"):
        assert {"gloves", "eyes", "no_child_no_pregnant", "label_first"} <= set(cautions(job))
    assert "never_with_copper" in cautions("defoliate")
    assert "never_with_ethephon" in cautions("copper")
    assert cautions("rest") == ()
    assert set(steps()) == {
        "rest",
        "defoliate",
        "leaf_check",
        "copper",
        "cut",
        "second_spray",
        "clean",
        "second_clean",
        "water",
    }


def test_hours_for_spraying_by_heat_and_cold():
    """May 39 deg C by day; December 14 at dawn; July neither."""
    assert spraying_hours(UPPER_NEEM, d("2027-05-10")) == "early"
    assert spraying_hours(UPPER_NEEM, d("2026-12-17")) == "late_morning"
    assert spraying_hours(UPPER_NEEM, d("2027-07-10")) == "morning"
