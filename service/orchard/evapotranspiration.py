"""Reference and crop evapotranspiration.

FAO-56 below is Allen, Pereira, Raes, Smith 1998, Crop evapotranspiration, FAO Irrigation and Drainage Paper 56.
"""

import math
from calendar import isleap, monthrange
from datetime import date
from functools import lru_cache

from service.orchard.block import Place
from service.orchard.namespace import FLOATS, Array, Namespace

SOLAR_CONSTANT = 0.0820  # MJ m-2 min-1, FAO-56 eq. 21
MM_PER_MJ = 0.408  # water evaporated by a MJ a square metre, FAO-56 eq. 20


def declination(xp: Namespace, day_of_year: Array) -> Array:
    """Solar declination [rad]. day_of_year: 1 to 366. Source: FAO-56 eq. 24, p. 46."""
    return 0.409 * xp.sin(2 * math.pi * day_of_year / 365 - 1.39)


def sunset_hour_angle(xp: Namespace, latitude: Array, declination: Array) -> Array:
    """Sunset hour angle [rad]; 0 in the polar night, pi where the sun does not set.

    latitude, declination: [rad]
    Source: FAO-56 eq. 25, p. 46
    """
    return xp.arccos(xp.maximum(-1.0, xp.minimum(1.0, -xp.tan(latitude) * xp.tan(declination))))


def extraterrestrial_radiation(xp: Namespace, latitude_degrees: Array, day_of_year: Array) -> Array:
    """Daily extraterrestrial radiation, Ra [MJ m-2 day-1], any shape.

    latitude_degrees: -90 to 90, south negative
    Source: FAO-56 eq. 21 and 23, p. 46
    """
    phi = latitude_degrees * math.pi / 180
    delta = declination(xp, day_of_year)
    omega = sunset_hour_angle(xp, phi, delta)
    distance = 1 + 0.033 * xp.cos(2 * math.pi * day_of_year / 365)
    lit = omega * xp.sin(phi) * xp.sin(delta) + xp.cos(phi) * xp.cos(delta) * xp.sin(omega)
    return 24 * 60 / math.pi * SOLAR_CONSTANT * distance * lit


def hargreaves(xp: Namespace, tmin_c: Array, tmax_c: Array, radiation: Array) -> Array:
    """Reference evapotranspiration, ETo [mm day-1], any shape; never below 0.

    tmin_c, tmax_c: daily air temperature [deg C]; radiation: Ra [MJ m-2 day-1], which enters in mm
    Source: FAO-56 eq. 52, p. 64
    """
    tmean = (tmin_c + tmax_c) / 2
    span = xp.sqrt(xp.maximum(0.0, tmax_c - tmin_c))
    return xp.maximum(0.0, 0.0023 * (tmean + 17.8) * span * MM_PER_MJ * radiation)


def crop_evapotranspiration(crop_coefficient: Array, reference: Array) -> Array:
    """Evapotranspiration of the crop without stress, ETc [mm day-1], any shape. Source: FAO-56 eq. 58, p. 103."""
    return crop_coefficient * reference


def on_lines_between_months(monthly: tuple[float, ...], year: int) -> tuple[float, ...]:
    """A value for each day of the year from twelve monthly means, taken at mid-month and joined by straight lines."""
    lengths = [monthrange(year, month)[1] for month in range(1, 13)]
    middles = [sum(lengths[:month]) + (lengths[month] + 1) / 2 for month in range(12)]
    days = sum(lengths)
    knots = [
        (middles[-1] - days, monthly[-1]),
        *zip(middles, monthly, strict=True),
        (middles[0] + days, monthly[0]),
    ]
    values = []
    left = 0
    for day in range(1, days + 1):
        while day > knots[left + 1][0]:
            left += 1
        (x0, y0), (x1, y1) = knots[left], knots[left + 1]
        values.append(y0 + (y1 - y0) * (day - x0) / (x1 - x0))
    return tuple(values)


def reference_on(place: Place, day: date, tmin_c: float, tmax_c: float) -> float:
    """ETo [mm] at a place from one day's own temperatures [deg C]."""
    radiation = extraterrestrial_radiation(FLOATS, place.latitude, day.timetuple().tm_yday)
    return float(hargreaves(FLOATS, tmin_c, tmax_c, radiation))


def reference_by_normals(place: Place, year: int) -> tuple[float, ...]:
    """ETo [mm] at a place for each day of a year, from its normals.

    Normals do not see cloud: at one station they overstate ETo on wet days by 1 mm a day.
    """
    return _by_normals(place, isleap(year))


@lru_cache(maxsize=4096)
def _by_normals(place: Place, leap: bool) -> tuple[float, ...]:
    year = 2000 if leap else 2001  # only their lengths matter
    tmin = on_lines_between_months(tuple(normal.tmin_c for normal in place.normals), year)
    tmax = on_lines_between_months(tuple(normal.tmax_c for normal in place.normals), year)
    radiation = (extraterrestrial_radiation(FLOATS, place.latitude, day) for day in range(1, len(tmin) + 1))
    return tuple(hargreaves(FLOATS, *day) for day in zip(tmin, tmax, radiation, strict=True))
