"""The formulas against the examples that FAO Irrigation and Drainage Paper 56 prints (`fao56_checks.json`)."""

import json
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from service.orchard.evapotranspiration import (
    declination,
    extraterrestrial_radiation,
    hargreaves,
    on_lines_between_months,
    reference_by_normals,
)
from service.orchard.namespace import FLOATS
from service.orchard.water_balance import (
    dried,
    infiltrated,
    readily_available_water,
    stress,
    total_available_water,
    wetted,
)
from tests.orchard.diaries import UPPER_NEEM

CHECKS = {
    check["id"]: check for check in json.loads(Path(__file__).with_name("fao56_checks.json").read_text())["checks"]
}


def close(check: dict[str, Any]) -> Any:
    return pytest.approx(check["expected"], abs=check["tolerance"])


def test_declination_and_radiation_of_example_8():
    check = CHECKS["ex08-declination"]
    assert declination(FLOATS, check["inputs"]["day_of_year"]) == close(check)

    check = CHECKS["ex08-ra"]
    assert extraterrestrial_radiation(FLOATS, check["inputs"]["lat_deg"], check["inputs"]["day_of_year"]) == close(
        check
    )


def test_radiation_on_the_dry_inland_plateau():
    check = CHECKS["ra-17n"]

    radiation = [
        extraterrestrial_radiation(FLOATS, check["inputs"]["lat_deg"], day) for day in check["inputs"]["day_of_year"]
    ]

    assert radiation == close(check)


@pytest.mark.parametrize("name", ["eq52-hargreaves-lyon", "hargreaves-bangkok"])
def test_reference_evapotranspiration_from_temperatures(name):
    """Ra enters eq. 52 in mm a day."""
    check = CHECKS[name]
    given = check["inputs"]
    radiation = extraterrestrial_radiation(FLOATS, given["lat_deg"], given["day_of_year"])

    assert hargreaves(FLOATS, given["tmin_c"], given["tmax_c"], radiation) == close(check)


@pytest.mark.parametrize(
    ("tmin_c", "tmax_c"),
    [(-30.0, -20.0), (20.0, 20.0), (21.0, 20.0)],
    ids=["below -17.8 deg C", "no span", "a span the wrong way round"],
)
def test_reference_evapotranspiration_is_never_below_zero(tmin_c, tmax_c):
    assert hargreaves(FLOATS, tmin_c, tmax_c, 30.0) == 0


@pytest.mark.parametrize("latitude", [-90.0, -66.0, 0.0, 66.0, 90.0])
def test_radiation_exists_from_pole_to_pole(latitude):
    """The sun that does not rise or set is held at 0 and pi, where the arc cosine would end."""
    assert all(0 <= extraterrestrial_radiation(FLOATS, latitude, day) < 50 for day in range(1, 367))


def test_water_in_the_root_zone_of_example_36():
    taw, raw = CHECKS["ex36-taw"], CHECKS["ex36-raw"]
    for crop, (depth, p) in taw["inputs"]["root_depth_m_p"].items():
        for soil, (field_capacity, wilting_point) in taw["inputs"]["theta_fc_wp"].items():
            held = total_available_water(1000 * (field_capacity - wilting_point), depth)
            name = f"{crop}/{soil}"
            assert held == pytest.approx(taw["expected"][name], abs=taw["tolerance"])
            assert readily_available_water(p, held) == pytest.approx(raw["expected"][name], abs=raw["tolerance"])


def test_stress_and_depletion_of_example_37():
    """Ten days without rain; Ks of a day is from the depletion with which it starts."""
    given = CHECKS["ex37-depletion"]["inputs"]
    taw = total_available_water(1000 * (given["theta_fc"] - given["theta_wp"]), given["root_depth_m"])
    raw = readily_available_water(given["p"], taw)
    assert (taw, raw) == pytest.approx((160, 64))

    depletion = [given["dr_start_mm"]]
    for _ in range(given["days"]):
        depletion.append(dried(FLOATS, depletion[-1], given["kc"] * given["eto_mm_d"], taw, raw))

    assert depletion[1:] == close(CHECKS["ex37-depletion"])
    assert [stress(FLOATS, start, taw, raw) for start in depletion[:-1]] == close(CHECKS["ex37-ks"])


def test_depletion_of_example_38_with_water_early_in_the_day():
    """Its table takes water before the day's evapotranspiration, as we do."""
    check = CHECKS["ex38-depletion"]
    given = check["inputs"]
    taw, raw = 1000.0, 999.0  # Ks stays 1 in the example

    depletion = [float(given["dr_start_mm"])]
    for etc, rain, irrigation in zip(given["etc_mm"], given["rain_mm"], given["irrigation_mm"], strict=True):
        depletion.append(dried(FLOATS, wetted(FLOATS, depletion[-1], rain + irrigation), etc, taw, raw))

    # The roots of the example grow on: 0.30 to 0.35 m, into soil at field capacity, which leaves depletion as it is.
    assert depletion[1:] == close(check)


def test_stress_at_and_beyond_its_ends():
    check = CHECKS["ks-limits"]
    taw = check["inputs"]["taw_mm"]
    raw = readily_available_water(check["inputs"]["p"], taw)
    assert [stress(FLOATS, depletion, taw, raw) for depletion in check["inputs"]["dr_mm"]] == [1, 1, 1, 0.5, 0, 0]


def test_a_soil_never_dries_past_wilting_nor_fills_past_capacity():
    assert dried(FLOATS, 99.0, 8.0, 100.0, 98.0) == 100.0
    assert wetted(FLOATS, 20.0, 60.0) == 0.0


@pytest.mark.parametrize(("rain", "soaks"), [(25, 25), (26, 25), (31.25, 25), (60, 48), (100, 80)])
def test_a_fifth_of_a_rain_over_25_mm_runs_off(rain, soaks):
    """60 - 12 = 48; between 25 and 31.25 mm it is held at 25, for more rain never soaks less."""
    assert infiltrated(FLOATS, rain, 25, 0.2) == pytest.approx(soaks)


def test_months_are_joined_by_straight_lines_at_their_middles():
    """Middle of January is day 16, of February (28 days) day 31 + 14.5; half way, day 30.75, the mean of both."""
    days = on_lines_between_months((10.0, 20.0, *[30.0] * 10), 2027)

    assert len(days) == 365
    assert days[15] == 10
    assert days[29] == pytest.approx(10 + 10 * (30 - 16) / 29.5)
    assert days[0] == pytest.approx(
        30 - 20 * 16 / 31
    )  # 16 days after the middle of December, 15 before that of January


def test_a_leap_year_has_its_day():
    normal, leap = reference_by_normals(UPPER_NEEM, 2027), reference_by_normals(UPPER_NEEM, 2028)
    assert (len(normal), len(leap)) == (365, 366)
    assert all(abs(today - tomorrow) < 0.1 for today, tomorrow in pairwise(leap))


def test_arrays_over_blocks_give_what_single_blocks_give():
    """The same formula in NumPy and in plain floats."""
    taw, etc = np.array([36.0, 72.0, 144.0]), np.array([2.0, 3.0, 5.0])
    depletion = np.array([30.0, 10.0, 140.0])
    latitude, day = np.array([-20.0, 17.7, 60.0]), np.array([246, 15, 355])

    together = dried(np, wetted(np, depletion, 4.0), etc, taw, taw / 2)
    radiation = extraterrestrial_radiation(np, latitude, day)
    reference = hargreaves(np, np.array([5.0, 10.0, -30.0]), np.array([20.0, 30.0, -20.0]), radiation)

    for block in range(3):
        assert together[block] == pytest.approx(
            dried(FLOATS, wetted(FLOATS, depletion[block], 4.0), etc[block], taw[block], taw[block] / 2)
        )
        alone = extraterrestrial_radiation(FLOATS, latitude[block], int(day[block]))
        assert radiation[block] == pytest.approx(alone)
    assert reference[2] == 0
    assert infiltrated(np, np.array([10.0, 60.0]), 25, 0.2) == pytest.approx([10, 48])
