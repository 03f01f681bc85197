"""The count of a rest: the figures of the design, and what must hold for any rain."""

from collections.abc import Mapping

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.orchard.rest import LONGEST, REFILL, Soil, cases, count, dry_twin, soaking

ETC = 2.0  # mm a day
REFERENCE = [ETC / 0.45] * (LONGEST + 1)

TAWS = [36, 72, 144]


def soil(taw: float) -> Soil:
    return Soil(taw, taw / 2)


def complete(taw: float, water: Mapping[int, float], rest_days: int = 45) -> int:
    return count(soil(taw), REFERENCE, water, rest_days, 0).complete


@pytest.mark.parametrize("taw", TAWS)
def test_without_rain_every_day_counts_one(taw):
    assert complete(taw, {}) == 45
    assert [count(soil(taw), REFERENCE, {}, 45, by).counted for by in (-3, 0, 1, 44, 45, 60)] == [0, 0, 1, 44, 45, 45]


@pytest.mark.parametrize(
    ("taw", "mm", "day"), [(36, 60, 53), (72, 60, 62), (144, 60, 65), (36, 30, 53), (72, 30, 58), (144, 30, 60)]
)
def test_a_rain_on_day_21_of_45_days_at_2_mm_a_day(taw, mm, day):
    """Worked figures of the rule: 45 days, ETc 2 mm a day, p 0.5."""
    assert complete(taw, {21: mm}) == day


def test_the_figure_for_60_mm_on_72_mm_of_soil_by_hand():
    """Full again at the end of rain; 2 mm a day from day 21: RAW 36 is reached at the end of day 38.

    Day 21 dries to 2, day 38 to 36. Then days 38 on count, 20 counted before: 25 more, so the 25th is day 62.
    """
    walked = [count(soil(72), REFERENCE, {21: 60}, 45, by).counted for by in (20, 21, 37, 38, 62)]
    assert walked == [20, 20, 20, 21, 45]
    assert count(soil(72), REFERENCE, {21: 60}, 45, 62).lost == tuple(range(21, 38))
    assert count(soil(72), REFERENCE, {21: 60}, 45, 23).lost == (21, 22, 23)


@pytest.mark.parametrize("taw", TAWS)
def test_rain_every_day_never_lets_a_rest_be_complete(taw):
    assert complete(taw, dict.fromkeys(range(1, LONGEST + 1), 20.0)) == LONGEST


@pytest.mark.parametrize("taw", TAWS)
def test_rain_below_a_fifth_of_eto_costs_nothing(taw):
    """ETo is 4.44 mm, a fifth of it 0.89: ignored however often it falls."""
    drizzle = soaking(soil(taw), REFERENCE, dict.fromkeys(range(1, 46), 0.88))
    assert drizzle == {}
    assert soaking(soil(taw), REFERENCE, {9: 0.9}) == {9: 0.9}


def test_a_light_shower_on_a_deep_dried_shallow_soil_costs_nothing():
    """TAW 36: depletion passes RAW 18 on day 9 and nears 34 by day 40; 5 mm leave it past RAW."""
    assert complete(36, {40: 5}) == 45


def test_wet_days_at_the_start_count_nothing():
    """Ten days of 20 mm on a full soil: each ends 2 mm dry, as day 1 of a dry rest does, so one of them counts."""
    assert complete(72, dict.fromkeys(range(1, 11), 20.0)) == 45 + 9


def test_water_on_the_day_water_was_stopped_has_no_effect():
    assert soaking(soil(72), REFERENCE, {-1: 50, 0: 60}) == {}


def test_a_refill_is_a_rain_without_end():
    assert complete(72, {21: REFILL}) == complete(72, {21: 500})


def test_the_cases_of_black_soil():
    """Clay 120, 160, 200 mm/m over 0.9 m: 108, 144 and 180; a third deeper, 1.2 m: 240."""
    low, middle, high = cases("black")
    assert [case.taw for case in (low, middle, high)] == pytest.approx([108, 144, 240])
    assert [case.raw for case in (low, middle, high)] == pytest.approx([54, 72, 120])
    assert soaking(low, REFERENCE, {3: 60}) == {3: pytest.approx(48)}
    assert soaking(middle, REFERENCE, {3: 60}) == {3: 60}


def test_an_unknown_soil_is_loam_between_sand_and_black():
    """Sand 50 mm/m x 0.45 m = 22.5; loam 155 x 0.6 = 93; black 200 x 1.2 = 240."""
    assert [case.taw for case in cases(None)] == pytest.approx([22.5, 93, 240])


rains = st.dictionaries(st.integers(1, 80), st.floats(0, 150), max_size=25)
taws = st.floats(20, 300)


@given(taw=taws, eto=st.lists(st.floats(0, 12), min_size=20, max_size=20), rain=rains, more=rains, data=st.data())
def test_more_rain_on_the_same_days_never_completes_a_rest_earlier(taw, eto, rain, more, data):
    """Whatever the weather: nor does it count more days on any day on the way."""
    reference = [eto[day % 20] for day in range(LONGEST + 1)]
    rest_days = data.draw(st.integers(1, 60))
    by = data.draw(st.integers(0, 100))
    wetter = {day: rain.get(day, 0) + more.get(day, 0) for day in rain | more}
    for case in (soil(taw), Soil(taw, taw / 2, 25, 0.2)):
        less = count(case, reference, soaking(case, reference, rain), rest_days, by)
        most = count(case, reference, soaking(case, reference, wetter), rest_days, by)

        assert most.complete >= less.complete >= rest_days
        assert most.counted <= less.counted <= min(by, rest_days)


@given(taw=taws, rain=rains)
def test_the_walk_from_the_first_wet_day_is_the_walk_from_the_start(taw, rain):
    """The days before the first water are not walked: they are the dry twin's. A drop on day 1 makes it walk them."""
    drop = {1: 1e-12}
    assert count(soil(taw), REFERENCE, rain | drop, 45, 30) == count(soil(taw), REFERENCE, rain | {1: 0.0}, 45, 30)


def test_the_dry_twin_slows_down_past_raw():
    """TAW 36, RAW 18: 2 mm a day to 18 on day 9; then Ks is 1, and (36 - 20) / 18 = 0.889 on day 11."""
    twin = dry_twin(soil(36), REFERENCE, 11)
    assert twin[9:] == pytest.approx([18, 20, 20 + 2 * 16 / 18])
