"""A block of pomegranate and the place it stands in, in growers' terms."""

from dataclasses import dataclass
from datetime import date
from typing import Literal

from service.orchard.figures import table

M2_PER_HA = 10_000
M_PER_FT = 0.3048  # exact by definition of the foot

Spacing = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Normal:
    """A calendar month's long-term means: air temperature [deg C], rain [mm a month], days with rain."""

    tmin_c: float
    tmax_c: float
    rain_mm: float
    rain_days: float


@dataclass(frozen=True)
class Place:
    """A village (or the cooperative's own position): degrees north and east, metres, twelve normals from January on."""

    name: str
    latitude: float
    longitude: float
    elevation_m: float
    normals: tuple[Normal, ...]


@dataclass(frozen=True, slots=True)
class Block:
    """What is known of a block today; None is not known.

    spacing_m: row x plant [m]; spacing_ft: the same as typed, where feet were typed
    planted: "YYYY" or "YYYY-MM"
    village: None is the grower's own
    retired: the day from which it is no longer looked after
    """

    number: str
    name: str | None = None
    plants: int | None = None
    spacing_m: Spacing | None = None
    spacing_ft: Spacing | None = None
    area_ha: float | None = None
    planted: str | None = None
    soil: str | None = None
    water_source: str | None = None
    village: str | None = None
    retired: date | None = None

    @property
    def area_per_plant_m2(self) -> float | None:
        """Ground of one plant [m2]: from the spacing as it was typed, else the area shared out."""
        if spacing := exact_spacing(self.spacing_m, self.spacing_ft):
            return spacing[0] * spacing[1]
        if self.area_ha and self.plants:
            return self.area_ha * M2_PER_HA / self.plants
        return None

    def age_months(self, on: date) -> int | None:
        """Whole months since planting; where only the year is known, July, the middle of it, is taken."""
        if self.planted is None:
            return None
        year, _, month = self.planted.partition("-")
        return (on.year - int(year)) * 12 + on.month - (int(month) if month else 7)

    def age_years(self, on: date) -> int | None:
        """Whole years since planting."""
        months = self.age_months(on)
        return None if months is None else months // 12


def exact_spacing(spacing_m: Spacing | None, spacing_ft: Spacing | None) -> Spacing | None:
    """Spacing in unrounded metres: feet stay feet until here."""
    if spacing_ft is not None:
        return spacing_ft[0] * M_PER_FT, spacing_ft[1] * M_PER_FT
    return spacing_m


def plants_from(area_ha: float, spacing_m: Spacing) -> int:
    """Plants on an area [ha] at a spacing [m], to the nearest whole plant."""
    return round(area_ha * M2_PER_HA / (spacing_m[0] * spacing_m[1]))


def area_from(plants: int, spacing_m: Spacing) -> float:
    """Area [ha] of plants at a spacing [m], unrounded."""
    return plants * spacing_m[0] * spacing_m[1] / M2_PER_HA


def forcing_age(block: Block, cut: date) -> Literal["refused", "warned", "fine"] | None:
    """Whether the plants are old enough on the day of the cut to be forced; None where the age is not known."""
    months = block.age_months(cut)
    if months is None:
        return None
    ages = table("ages")
    if months < ages["first_forced_crop_least_months"].value:
        return "refused"
    return "warned" if months < ages["first_forced_crop_preferred_months"].value else "fine"
