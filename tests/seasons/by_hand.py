"""The count of a rest written down once more, straight from the formulas: what the played seasons are checked against.

Allen, Pereira, Raes, Smith: Crop evapotranspiration, FAO Irrigation and Drainage Paper 56, 1998: equations 21 to 25
(extraterrestrial radiation), 52 (Hargreaves), 82 (available water), 84 (stress), 85 (balance). Nothing of the service
is used but the invented cooperative's normals.
"""

import math
from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from itertools import pairwise
from typing import Any

KC, P, RAIN_IGNORED = 0.45, 0.5, 0.2
# Middle case: available water [mm per m] x depth of roots [m].
TAW = {"black": 160 * 0.9, "sandy": 80 * 0.45}
LONGEST = 400


def radiation_mm(latitude: float, day: date) -> float:
    """Equations 21 to 25, as mm of water a day."""
    year_angle = 2 * math.pi * day.timetuple().tm_yday / 365
    phi = math.radians(latitude)
    distance = 1 + 0.033 * math.cos(year_angle)
    tilt = 0.409 * math.sin(year_angle - 1.39)
    sunset = math.acos(-math.tan(phi) * math.tan(tilt))
    height = sunset * math.sin(phi) * math.sin(tilt) + math.cos(phi) * math.cos(tilt) * math.sin(sunset)
    return 0.408 * 24 * 60 / math.pi * 0.0820 * distance * height


def normal(day: date, name: str, normals: Sequence[Mapping[str, float]]) -> float:
    """A month's mean holds in its middle; the middles are joined by lines."""
    middles = []
    for year in (day.year - 1, day.year, day.year + 1):
        for month in range(1, 13):
            first = date(year, month, 1)
            following = date(year + month // 12, month % 12 + 1, 1)
            middles.append((first.toordinal() + ((following - first).days - 1) / 2, normals[month - 1][name]))
    at = day.toordinal()
    for (left, low), (right, high) in pairwise(middles):
        if left <= at <= right:
            return low + (high - low) * (at - left) / (right - left)
    raise ValueError(day)


def crop_mm(day: date, place: Mapping[str, Any]) -> float:
    """Equation 52, times the coefficient of a rest."""
    low, high = normal(day, "tmin_c", place["normals"]), normal(day, "tmax_c", place["normals"])
    return KC * 0.0023 * ((low + high) / 2 + 17.8) * math.sqrt(high - low) * radiation_mm(place["latitude"], day)


def days_of_rest(water_off: date, rain: Mapping[date, float], soil: str, wanted: int, place: Mapping[str, Any]) -> int:
    """The day of rest on which `wanted` days count: a day counts when the soil ends it past RAW, or as dry as the same
    rest without rain would have been after as many counted days."""
    taw, raw = TAW[soil], P * TAW[soil]

    def dried(depletion: float, fallen: float, need: float) -> float:
        wet = max(0.0, depletion - (fallen if fallen >= RAIN_IGNORED * need / KC else 0.0))
        stress = min(1.0, (taw - wet) / (taw - raw))
        return min(taw, wet + stress * need)

    needs = [crop_mm(water_off + timedelta(n), place) for n in range(LONGEST + 1)]
    dry = [0.0]
    for need in needs[1:]:
        dry.append(dried(dry[-1], 0.0, need))
    depletion, counted = 0.0, 0
    for n in range(1, LONGEST + 1):
        depletion = dried(depletion, rain.get(water_off + timedelta(n), 0.0), needs[n])
        if depletion >= raw or depletion >= dry[counted + 1] - 1e-9:
            counted += 1
        if counted == wanted:
            return n
    raise ValueError("never")
