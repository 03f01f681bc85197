"""The count of a rest: which days without water have dried the soil as a rest should.

The trade counts 45 days without water and restarts the count by feel when it rains. Here a day counts when the soil
ends it past RAW, or at least as dry as this same rest without any rain or water would have been after as many counted
days. So without rain every day counts one; rain sends depletion back, and the days until the soil has caught up do not
count; more rain never makes the count complete earlier.

Day 0 is the day on which water is stopped; depletion is zero at its end.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache

from service.orchard.evapotranspiration import crop_evapotranspiration
from service.orchard.figures import table
from service.orchard.namespace import FLOATS, Array
from service.orchard.water_balance import (
    dried,
    infiltrated,
    readily_available_water,
    total_available_water,
    wetted,
)

LONGEST: int = table("rest")["longest_walk"].value
REFILL = float("inf")  # water of unknown amount: the soil is taken as full
AS_DRY = 1e-9  # mm by which a soil still counts as dry as another, for the rounding of floats

Range = tuple[float, float, float]  # low, middle, high


@dataclass(frozen=True, slots=True)
class Soil:
    """One case of a block's soil: TAW and RAW [mm], and the rain [mm] above which a share runs off."""

    taw: float
    raw: float
    runoff_from_mm: float = REFILL
    runoff_share: float = 0.0


@dataclass(frozen=True, slots=True)
class Count:
    """complete: the day on which the count reached the rest length, `LONGEST` where it never does
    counted: days that count up to the day asked about
    lost: the days of rest up to then, from 1 on, that do not count
    """

    complete: int
    counted: int
    lost: tuple[int, ...] = ()


@cache
def cases(soil: str | None) -> tuple[Soil, Soil, Soil]:
    """The low, middle and high case of a soil by its grower's name.

    low: the soil's low TAW, and of a rain over 25 mm a fifth runs off; middle: no runoff;
    high: the high TAW with roots a third deeper
    """
    rows, rest = table("soils"), table("rest")
    low, middle, high = (soil, soil, soil) if soil else rows["unknown.taken_as"].value
    deeper = rest["high_case.root_depth_factor"].value
    runoff = rest["low_case.runoff_from_mm"].value, rest["low_case.runoff_share"].value

    def of(name: str, case: int, depth_factor: float, *runoff: float) -> Soil:
        taw = total_available_water(
            rows[f"{name}.available_water"].value[case], rows[f"{name}.root_depth"].value * depth_factor
        )
        return Soil(taw, readily_available_water(rest["depletion_p"].value, taw), *runoff)

    return of(low, 0, 1, *runoff), of(middle, 1, 1), of(high, 2, deeper)


def day_counts(depletion: Array, raw: Array, twin: Array) -> Array:
    """Whether a day of rest counts, shape [blocks].

    depletion: at the end of the day [mm]
    twin: of this rest without rain or water, at the end of its day n + 1 where n days have counted [mm]
    """
    return (depletion >= raw - AS_DRY) | (depletion >= twin - AS_DRY)


def dry_twin(soil: Soil, reference: Sequence[float], days: int) -> list[float]:
    """Depletion at the end of days 0 to `days` of a rest without rain or water [mm]. reference: ETo by day [mm]."""
    kc = table("rest")["crop_coefficient.rest_with_leaves"].value
    depletion = [0.0]
    for eto in reference[1 : days + 1]:
        depletion.append(dried(FLOATS, depletion[-1], crop_evapotranspiration(kc, eto), soil.taw, soil.raw))
    return depletion


def soaking(soil: Soil, reference: Sequence[float], rain: Mapping[int, float]) -> dict[int, float]:
    """Rain that reaches the roots by day of rest [mm]: none on day 0, nothing under a fifth of the day's ETo."""
    ignored = table("rest")["rain_ignore_fraction_eto"].value
    return {
        day: infiltrated(FLOATS, mm, soil.runoff_from_mm, soil.runoff_share)
        for day, mm in rain.items()
        if 0 < day < len(reference) and mm > 0 and mm >= ignored * reference[day]
    }


def count(soil: Soil, reference: Sequence[float], water: Mapping[int, float], rest_days: int, by: int) -> Count:
    """Walk the days of a rest.

    reference: ETo by day of rest [mm], from day 0 to `LONGEST`
    water: what reaches the roots by day of rest [mm], from day 1 on
    by: the day of rest for which `counted` is told
    """
    first_wet = min(water, default=LONGEST)
    if first_wet > rest_days:  # every day before the first water counts
        return Count(rest_days, max(0, min(by, rest_days)))
    kc = table("rest")["crop_coefficient.rest_with_leaves"].value
    twin = dry_twin(soil, reference, rest_days)
    counted = first_wet - 1
    counted_by = max(0, min(by, counted))
    depletion = twin[counted]
    lost: list[int] = []
    for day in range(first_wet, LONGEST + 1):
        if day in water:
            depletion = wetted(FLOATS, depletion, water[day])
        depletion = dried(FLOATS, depletion, crop_evapotranspiration(kc, reference[day]), soil.taw, soil.raw)
        if day_counts(depletion, soil.raw, twin[counted + 1]):
            counted += 1
        elif day <= by:
            lost.append(day)
        if day <= by:
            counted_by = counted
        if counted == rest_days:
            return Count(day, counted_by, tuple(lost))
    return Count(LONGEST, counted_by, tuple(lost))
