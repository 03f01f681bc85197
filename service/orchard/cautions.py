"""Which cautions ride with which job, as keys of the catalogue, and the hours for spraying."""

from datetime import date
from typing import Literal

from service.orchard.block import Place
from service.orchard.figures import table
from service.orchard.job import JobKind, steps


def cautions(job: JobKind) -> tuple[str, ...]:
    """The cautions of a job, the gravest first; none for a job without hazard."""
    return steps()[job].cautions


def spraying_hours(place: Place, on: date) -> Literal["early", "late_morning", "morning"]:
    """When to spray, by the month's heat and cold: before the heat, after the chill, or on any dry morning.

    Ethephon works best at 16 to 32 deg C (table `limits`).
    """
    month = place.normals[on.month - 1]
    if month.tmax_c > table("limits")["hot_above"].value:
        return "early"
    return "late_morning" if month.tmin_c < table("limits")["cold_below"].value else "morning"
