"""The jobs of a cycle and the table of steps that they come from."""

from dataclasses import dataclass
from datetime import date as Day
from functools import cache
from typing import Literal, cast

from service.orchard.figures import table

JobKind = Literal["rest", "defoliate", "leaf_check", "copper", "cut", "second_spray", "clean", "second_clean", "water"]


@dataclass(frozen=True, slots=True)
class Job:
    """One piece of work.

    date: the planned day, or the day on which it was done
    last: the last day on which it can still be done
    hangs_on: the job that must be reported before this one is reminded
    open_since: the day on which that was told; None while it is not, and then nothing is reminded
    dropped: why it is not to be done at all
    part, plants, cut_on: the part of the block, where the cut was done in parts, and the day on which it was cut
    """

    kind: JobKind
    date: Day
    last: Day
    hangs_on: JobKind | None = None
    open_since: Day | None = None
    done: Day | None = None
    dropped: str | None = None
    part: int | None = None
    plants: int | None = None
    cut_on: Day | None = None

    @property
    def is_open(self) -> bool:
        """Neither done nor dropped."""
        return self.done is None and self.dropped is None

    def late(self, today: Day) -> bool:
        """Its day has passed and nothing was reported."""
        return self.is_open and self.date < today


@dataclass(frozen=True, slots=True)
class Step:
    """A row of the table of steps; `quantity` and `cautions` are what its texts carry."""

    hangs_on: JobKind | None
    window_days: int
    evening_before: bool
    quantity: str | None
    cautions: tuple[str, ...]


@cache
def steps() -> dict[JobKind, Step]:
    """The steps of a cycle by job, in the order of the year."""
    return {
        cast(JobKind, job): Step(
            row.value["hangs_on"] or None,
            row.value["window_days"],
            row.value["evening_before"],
            row.value["quantity"] or None,
            tuple(row.value["cautions"]),
        )
        for job, row in table("steps").items()
    }
