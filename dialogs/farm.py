"""What a dialogue may see: one grower's farm as plain values, and what it may write."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from functools import cached_property
from typing import Any

from service.orchard.block import Block, Place
from service.orchard.cycle import current, said_on
from service.orchard.diary import Entry, blocks, of_block
from service.orchard.plan import DayWeather, Plan, plan
from service.orchard.settings import DatedSetting, Settings, held_in_cycle


@dataclass(frozen=True)
class Grower:
    """One household: the number it texts from and what it chose.

    script_offered: the number was told of its language in Latin letters
    """

    id: int
    number: str
    name: str | None
    village: str | None
    language: str
    joined: bool
    stopped: bool
    evenings_only: bool = False
    script_offered: bool = False


@dataclass(frozen=True)
class NewEntry:
    """A diary entry about to be appended: see service.orchard.diary for the kinds and their values."""

    kind: str
    block: str | None
    day: date
    values: Mapping[str, Any]


@dataclass(frozen=True)
class Writing:
    """An earlier text that wrote: the ids of its live entries and when it came."""

    entries: tuple[int, ...]
    at: datetime


@dataclass(frozen=True)
class Farm:
    """A grower's whole farm at the moment a text is answered.

    today, now: local date and time of the cooperative; sent_on: the local day on which the text was sent
    places: village -> place; "" is the cooperative's own position
    weather: village -> its gauge by day
    settings: those that hold today; dated_settings: every change of them, since a cycle's dates go by what held when it
        was opened
    writings: texts that wrote and are not taken back, newest first
    """

    today: date
    now: datetime
    sent_on: date
    grower: Grower
    entries: tuple[Entry, ...]
    places: Mapping[str, Place]
    weather: Mapping[str, Mapping[date, DayWeather]]
    settings: Settings
    emergency_number: str
    writings: tuple[Writing, ...] = ()
    languages: tuple[str, ...] = ("en",)
    dated_settings: tuple[DatedSetting, ...] = ()

    @cached_property
    def every_block(self) -> Mapping[str, Block]:
        """All blocks ever registered, retired ones too."""
        return blocks(self.entries)

    @cached_property
    def blocks(self) -> Mapping[str, Block]:
        """The blocks that the grower works now."""
        return {number: block for number, block in self.every_block.items() if block.retired is None}

    @cached_property
    def _plans(self) -> dict[str, Plan | None]:
        return {}

    def place(self, block: Block) -> Place:
        """Where a block stands: its village's place, or the cooperative's own where the village is not placed yet."""
        village = block.village or self.grower.village or ""
        return self.places.get(village, self.places[""])

    def about(self, number: str) -> tuple[Entry, ...]:
        """The diary of one block, in received order."""
        return of_block(self.entries, self.every_block[number])

    def plan(self, number: str) -> Plan | None:
        """The plan of a block as of today; None where no cycle is open."""
        if number not in self._plans:
            block = self.every_block[number]
            settings = self._settings_of(block)
            self._plans[number] = plan(
                block, self.about(number), self.place(block), self._gauge(block), settings, self.today
            )
        return self._plans[number]

    def _settings_of(self, block: Block) -> Settings:
        """The settings that the block's cycle goes by."""
        if all(setting.running for setting in self.dated_settings):
            return self.settings
        entries, place = self.about(block.number), self.place(block)
        cycle = current(block, entries, place, self.settings)
        if cycle is None:
            return self.settings
        opening = next(entry for entry in entries if entry.id == cycle.opened)
        return held_in_cycle(self.dated_settings, said_on(opening, place), self.today)

    def after(self, entries: Sequence[NewEntry] = (), without: Collection[int] = ()) -> Farm:
        """The farm as it would be with these entries added and those taken back."""
        last = max((entry.id for entry in self.entries), default=0)
        kept = [entry for entry in self.entries if entry.id not in without]
        at = self.now.replace(tzinfo=UTC)  # order is what counts for an entry that is only imagined
        added = [
            Entry(last + 1 + i, new.kind, new.block, new.day, dict(new.values), at) for i, new in enumerate(entries)
        ]
        return replace(self, entries=(*kept, *added))

    def _gauge(self, block: Block) -> Mapping[date, DayWeather]:
        village = block.village or self.grower.village or ""
        return self.weather.get(village) or self.weather.get("", {})
