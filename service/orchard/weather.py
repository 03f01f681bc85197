"""What a weather post read, day by day."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True)
class DayWeather:
    """One day's rain [mm] and air temperature [deg C]; None is not on file."""

    rain_mm: float | None = None
    tmin_c: float | None = None
    tmax_c: float | None = None


Weather = Mapping[date, DayWeather]
