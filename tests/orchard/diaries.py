"""An invented block and a small writer of its diary, for the tests of the plan."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from typing import Any

from service.orchard.block import Block, Normal, Place
from service.orchard.diary import Entry
from service.orchard.plan import Plan, Weather, plan
from service.orchard.settings import Settings

DEFAULTS = Settings.of({})

# Invented: a dry inland place at 17.7 N, cool season mild, hot season hot.
NORMALS = (
    Normal(14, 30, 3, 0.3),
    Normal(16, 33, 3, 0.3),
    Normal(20, 37, 5, 0.6),
    Normal(23, 39, 10, 1.2),
    Normal(24, 39, 30, 2.5),
    Normal(23, 34, 110, 7),
    Normal(22, 31, 140, 10),
    Normal(22, 30, 130, 9),
    Normal(21, 31, 170, 9),
    Normal(20, 32, 80, 5),
    Normal(17, 30, 20, 1.5),
    Normal(14, 29, 5, 0.5),
)
UPPER_NEEM = Place("Upper Neem", 17.7, 75.0, 480, NORMALS)

BLACK = Block("1", plants=240, spacing_ft=(12, 8), area_ha=0.214, planted="2021-07", soil="black", water_source="drip")
SANDY = replace(BLACK, number="2", soil="sandy")


def d(text: str) -> date:
    return date.fromisoformat(text)


class Diary:
    """Appends entries in received order; what is told is told at noon (UTC) of the day it is said."""

    def __init__(self, entries: Sequence[Entry] = ()) -> None:
        self.entries = list(entries)

    def tell(self, kind: str, day: str, said: str | None = None, **values: Any) -> "Diary":
        at = datetime.combine(d(said or day), time(6), UTC)
        said_by = "adviser" if kind == "ruling" else "grower"
        self.entries.append(Entry(len(self.entries) + 1, kind, "1", d(day), values, at, said_by))
        return self

    def plan(
        self,
        today: str | date,
        block: Block = BLACK,
        settings: Settings = DEFAULTS,
        weather: Weather | None = None,
        place: Place = UPPER_NEEM,
    ) -> Plan:
        today = d(today) if isinstance(today, str) else today
        made = plan(block, self.entries, place, weather or {}, settings, today)
        assert made is not None
        return made


def ambe() -> Diary:
    """A cut set for Mon 4 Jan 2027 on Fri 23 Oct 2026; 45 days back is Fri 20 Nov."""
    return Diary().tell("cut_set", "2026-10-23", date="2027-01-04")


def ambe_rested() -> Diary:
    return ambe().tell("rest_begun", "2026-11-20")


def days_between(first: str | date, last: str | date) -> list[date]:
    start, end = (d(day) if isinstance(day, str) else day for day in (first, last))
    return [start + timedelta(days) for days in range((end - start).days + 1)]
