"""A grower's farm as the dialogues see it, read from the tables."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime
from itertools import groupby
from typing import Any

from sqlalchemy import Connection

from dialogs.farm import Farm, Grower, Writing
from service.clock import local
from service.orchard.plan import DayWeather
from service.store import cooperatives
from service.store.cooperatives import Cooperative, gauges
from service.store.diary import Kept
from service.store.growers import Person

# Texts that can be taken back one after the other.
WRITINGS_REMEMBERED = 10


class Cooperatives:
    """Cooperatives as last read. Each row bears a version that goes up with every change, so none is read stale."""

    def __init__(self) -> None:
        self._read: dict[int, Cooperative] = {}

    def get(self, connection: Connection, cooperative_id: int, version: int | None = None) -> Cooperative:
        """The cooperative as committed. Whoever changes one reads it by cooperatives.find, never through here."""
        if version is None:
            version = cooperatives.version(connection, cooperative_id)
        known = self._read.get(cooperative_id)
        if known is None or known.version != version:
            known = self._read[cooperative_id] = cooperatives.find(connection, cooperative_id)
        return known


def grower(person: Person) -> Grower:
    """A person as the dialogues see him."""
    return Grower(
        person.grower_id, person.number, person.name, person.village, person.language, person.joined, person.stopped,
        person.evenings_only, person.script_offered,
    )  # fmt: skip


def farm(
    cooperative: Cooperative,
    person: Person,
    kept: Sequence[Kept],
    now: datetime,
    languages: tuple[str, ...],
    sent_on: date | None = None,
) -> Farm:
    """The farm at an instant. sent_on: the local day on which the text that is answered was sent, if not today."""
    here = local(now, cooperative.zone)
    settings = cooperative.settings_on(here.date())
    return Farm(
        today=here.date(),
        now=here,
        sent_on=sent_on or here.date(),
        grower=grower(person),
        entries=tuple(one.entry for one in kept),
        places=cooperative.places,
        weather=cooperative.gauges,
        settings=settings,
        dated_settings=cooperative.dated_settings,
        emergency_number=settings.emergency_number,
        writings=writings(kept, cooperative),
        languages=languages,
    )


def writings(kept: Sequence[Kept], cooperative: Cooperative) -> tuple[Writing, ...]:
    """The texts that wrote something that still stands, newest first."""
    by_text = groupby((one for one in reversed(kept) if one.text_in_id is not None), key=lambda one: one.text_in_id)
    found = []
    for _, group in by_text:
        entries = [one.entry for one in group][::-1]
        found.append(Writing(tuple(entry.id for entry in entries), local(entries[0].at, cooperative.zone)))
        if len(found) == WRITINGS_REMEMBERED:
            break
    return tuple(found)


def before(farm_now: Farm, cooperative: Cooperative, reasons: Collection[Mapping[str, Any]]) -> Farm:
    """The same farm today, had none of these things happened: the other side of a plan that moved unasked.

    reasons: as kept in `moves`, in the order in which they came
    """
    posts = {village: dict(days) for village, days in cooperative.posts.items()}
    without: set[int] = set()
    for reason in reversed(list(reasons)):
        match reason["kind"]:
            case "gauge":
                day, was = date.fromisoformat(reason["date"]), reason["was"]
                days = posts.setdefault(reason["village"], {})
                days.pop(day, None)
                if was is not None:
                    days[day] = DayWeather(was["rain_mm"], was["tmin_c"], was["tmax_c"])
            case "ruling":
                without.add(reason["entry"])
            case other:
                raise ValueError(f"no such reason for a move: {other}")
    earlier = replace(farm_now, weather=gauges(posts))
    return earlier.after(without=without) if without else earlier
