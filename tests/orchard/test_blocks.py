"""Blocks as the fold of their entries, seasons, settings, and the tables behind them."""

from datetime import UTC, datetime, time
from pathlib import Path

import pytest

import service.orchard
from service.orchard.block import Block, forcing_age
from service.orchard.diary import Entry, blocks, of_block
from service.orchard.figures import table
from service.orchard.season import (
    cut_for_flowers_in,
    cut_for_season,
    first_possible_cut,
    months_since_last_cut,
    season_end,
    season_of,
)
from service.orchard.settings import Settings
from tests.orchard.diaries import DEFAULTS, d


def entry(id: int, kind: str, block: str | None, day: str = "2026-10-23", **values: object) -> Entry:
    return Entry(id, kind, block, d(day), values, datetime(2026, 10, 23, tzinfo=UTC))


def test_plants_and_feet_give_the_area():
    """240 x 96 square feet are 23,040, or 0.214 ha; rounded metres (3.7 x 2.4) would give 0.213."""
    block = blocks([entry(1, "block", "1", plants=240, spacing_m=[3.7, 2.4], spacing_ft=[12, 8])])["1"]
    assert block.area_ha == pytest.approx(0.21405, abs=1e-5)
    assert block.area_per_plant_m2 == pytest.approx(8.9187, abs=1e-4)


def test_area_and_spacing_give_the_plants():
    """0.4 ha at 4.5 x 3 m: 4000 / 13.5 = 296.3."""
    block = blocks([entry(1, "block", "1", area_ha=0.4, spacing_m=[4.5, 3])])["1"]
    assert block.plants == 296


def test_a_spacing_corrected_in_metres_forgets_the_feet():
    told = [entry(1, "block", "1", plants=100, spacing_m=[3.7, 2.4], spacing_ft=[12, 8])]
    told.append(entry(2, "block", "1", spacing_m=[5, 4]))
    block = blocks(told)["1"]
    assert (block.spacing_ft, block.area_ha) == (None, 0.2)


def test_the_ground_of_a_plant_without_a_spacing_is_the_area_shared_out():
    assert Block("1", plants=500, area_ha=1.0).area_per_plant_m2 == 20
    assert Block("1", plants=500).area_per_plant_m2 is None


def test_later_entries_correct_and_a_retired_number_may_be_given_again():
    told = [entry(1, "block", "1", soil="red", plants=100), entry(2, "block", "1", soil="black")]
    assert (blocks(told)["1"].soil, blocks(told)["1"].plants) == ("black", 100)

    told.append(entry(3, "retired", "1", day="2026-11-01"))
    assert blocks(told)["1"].retired == d("2026-11-01")

    told.append(entry(4, "block", "1", soil="loam"))
    assert (blocks(told)["1"].retired, blocks(told)["1"].plants) == (None, None)


def test_an_entry_without_a_block_is_about_all_of_a_village():
    told = [
        entry(1, "block", "1", village="Upper Neem"),
        entry(2, "rain", None, amount_mm=5),
        entry(3, "rain", None, amount_mm=6, village="Far Well"),
        entry(4, "rain", "2", amount_mm=7),
    ]
    block = blocks(told)["1"]
    assert [e.id for e in of_block(told, block)] == [1, 2]


@pytest.mark.parametrize(
    ("planted", "on", "months"),
    [
        ("2021-07", "2026-12-31", 65),
        ("2025-07", "2027-01-04", 18),
        ("2025", "2027-01-04", 18),
        ("2025-08", "2027-01-04", 17),
    ],
)
def test_age(planted, on, months):
    """A year alone is taken as its July."""
    assert Block("1", planted=planted).age_months(d(on)) == months


@pytest.mark.parametrize(
    ("planted", "verdict"),
    [("2025-08", "refused"), ("2025-07", "warned"), ("2025-02", "warned"), ("2025-01", "fine"), (None, None)],
)
def test_young_plants_are_not_forced(planted, verdict):
    """Cut on 4 Jan 2027: under 18 months refused, to 24 warned."""
    assert forcing_age(Block("1", planted=planted), d("2027-01-04")) == verdict


@pytest.mark.parametrize(
    ("day", "season"),
    [
        ("2027-04-30", None), ("2027-05-01", "mrig"), ("2027-06-30", "mrig"), ("2027-07-01", None),
        ("2027-08-01", "hasta"), ("2027-10-15", "hasta"), ("2027-10-16", None),
        ("2026-12-01", "ambe"), ("2027-01-31", "ambe"), ("2028-02-29", None),
    ],
)  # fmt: skip
def test_the_season_of_a_cut(day, season):
    assert season_of(d(day)) == season


def test_the_end_of_a_season_is_in_the_year_of_the_cut():
    assert season_end("ambe", d("2026-12-01"), DEFAULTS) == d("2027-01-31")
    assert season_end("ambe", d("2027-01-31"), DEFAULTS) == d("2027-01-31")
    assert season_end("hasta", d("2026-08-01"), DEFAULTS) == d("2026-10-15")
    assert season_end("mrig", d("2026-05-01"), Settings.of({"last_cut": {"mrig": "06-20"}})) == d("2026-06-20")


def test_the_first_possible_cut():
    """45 days from 20 Nov; 25 after the rains; 45 where 25 would fall before hasta."""
    assert first_possible_cut(d("2026-11-20"), "black", DEFAULTS) == (d("2027-01-04"), "ambe")
    assert first_possible_cut(d("2026-09-10"), "black", DEFAULTS) == (d("2026-10-05"), "hasta")
    assert first_possible_cut(d("2026-07-01"), "black", DEFAULTS) == (d("2026-08-15"), "hasta")
    assert first_possible_cut(d("2028-01-16"), None, DEFAULTS) == (d("2028-03-01"), None)


def test_the_cut_for_flowers_wanted():
    """First flowers on 15 Jan: 32 days from first water, 7 from the cut."""
    assert cut_for_flowers_in(2027, 1, DEFAULTS) == d("2026-12-07")
    assert cut_for_season("ambe", d("2026-11-01"), DEFAULTS) == d("2026-12-07")
    assert cut_for_season("ambe", d("2026-12-20"), DEFAULTS) == d("2026-12-20")  # too late for that, still in season
    assert cut_for_season("ambe", d("2027-02-01"), DEFAULTS) == d("2027-12-07")
    assert cut_for_season("mrig", d("2026-11-01"), DEFAULTS) == d("2027-05-07")


def test_months_since_the_last_cut():
    told = [entry(1, "last_cut", "1", month="2026-01"), entry(2, "done", "1", day="2026-05-20", job="cut")]
    assert months_since_last_cut(told[:1], d("2027-01-04")) == 12
    assert months_since_last_cut(told, d("2027-01-04")) == 8
    assert months_since_last_cut([], d("2027-01-04")) is None


def test_settings_read_as_they_stand_in_json():
    settings = Settings.of(
        {"morning": "07:00", "quiet": ["21:00", "05:30"], "label_max_ppm": 1500, "duty_number": None}
    )
    assert (settings.morning, settings.quiet) == (time(7), (time(21), time(5, 30)))
    assert settings.label_max_ppm == 1500
    assert settings.evening == time(18, 30)


def test_rest_days_by_season_and_soil():
    assert DEFAULTS.rest_days_for("hasta", "black") == 25
    assert DEFAULTS.rest_days_for("ambe", None) == DEFAULTS.rest_days_for(None, "red") == 45
    assert Settings.of({"rest_days": 40}).rest_days_for("hasta", None) == 40
    by_soil = Settings.of({"rest_days": {"ambe": {"sandy": 30}, "mrig": 50}})
    assert [by_soil.rest_days_for(*asked) for asked in (("ambe", "sandy"), ("ambe", "black"), ("mrig", "red"))] == [
        30,
        45,
        50,
    ]
    assert (DEFAULTS.rest_most_days_for("red"), DEFAULTS.rest_most_days_for("loam")) == (60, 75)


@pytest.mark.parametrize(
    "wrong",
    [
        {"no_such_key": 1}, {"ppm": "strong"}, {"copper_ethephon_gap_days": 2}, {"defoliate_before_cut_days": 21},
        {"first_water_after_cut_days": 11}, {"morning": "05:00"}, {"evening": "22:00"}, {"quiet": ["20:30"]},
        {"last_cut": {"ambe": "02-30"}}, {"last_cut": {"spring": "03-01"}}, {"rest_days": {"ambe": {"moon": 3}}},
        {"rest_days": 0}, {"litres_per_plant": {"2": 1}}, {"reminders_a_day": 2.5}, {"consent": "maybe"},
    ],
)  # fmt: skip
def test_a_wrong_setting_is_refused_by_name(wrong):
    with pytest.raises(ValueError, match=next(iter(wrong))):
        Settings.of(wrong)


TABLES = sorted(path.stem for path in (Path(service.orchard.__path__[0]) / "tables").glob("*.toml"))


@pytest.mark.parametrize("name", TABLES)
def test_every_figure_has_a_value_a_unit_and_a_source(name):
    """A source is a text that was read, `common practice`, `from memory`, or ours."""
    rows = table(name)
    assert rows
    for path, figure in rows.items():
        assert figure.value is not None, path
        assert figure.unit.strip(), path
        assert len(figure.source) >= len("from memory"), path
        assert isinstance(figure.cooperative_may_change, bool), path


def test_every_setting_has_a_default():
    from dataclasses import fields

    assert {path.split(".")[0] for path in table("settings")} == {field.name for field in fields(Settings)}
