"""What the cooperative itself enters: its weather posts and its adviser's word on a block.

Either may move plans that no grower has asked about: their unsent reminders are put right in the same transaction, and
each grower concerned gets one text of his own.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

from sqlalchemy import Connection

from dialogs.farm import Farm
from service import farms
from service.clock import Clock, instant, local
from service.hours import next_allowed, next_allowed_hour
from service.orchard.cycle import in_force
from service.orchard.plan import DayWeather
from service.reminders import refresh
from service.store import cooperatives, diary, growers
from service.store import reminders as rows
from service.store.cooperatives import Cooperative
from service.store.session import Database

RULINGS = ("rest_enough", "rest_not_enough", "cut_fixed", "rain_not_counted", "spray_called_off", "withdrawn")
NEED_A_DATE = ("cut_fixed", "rain_not_counted")


class Office:
    """The desk of a cooperative."""

    def __init__(self, database: Database, clock: Clock, languages: tuple[str, ...]) -> None:
        self.database = database
        self.clock = clock
        self.languages = languages

    def post_weather(self, cooperative_id: int, village: str | None, day: date, post: DayWeather) -> None:
        """Keep what a weather post measured. village: None is the cooperative's own post."""
        now = self.clock.now()
        with self.database.writing() as connection:
            cooperative = cooperatives.find(connection, cooperative_id)
            place = cooperative.village(village) if village else ""
            was = cooperatives.post_weather(connection, cooperative_id, place, day, post, now)
            cooperative = cooperatives.find(connection, cooperative_id)
            if cooperative.posts[place][day] == was:
                return
            here = local(now, cooperative.zone)
            told_at = next_allowed_hour(here, cooperative.settings_on(here.date()))
            before = None if was is None else {"rain_mm": was.rain_mm, "tmin_c": was.tmin_c, "tmax_c": was.tmax_c}
            reason = {"kind": "gauge", "village": place, "date": day.isoformat(), "mm": post.rain_mm, "was": before}
            concerned = rows.growers_in_cycle(connection, cooperative_id, place or None)
            growers.lock(connection, concerned)
            for grower_id in concerned:
                at = instant(told_at, cooperative.zone)
                rows.move(connection, cooperative_id, grower_id, reason, at, now)
                self._refresh(connection, cooperative, grower_id, None)

    def rule(self, cooperative_id: int, number: str, block: str, values: Mapping[str, Any]) -> None:
        """Enter the adviser's word on one block.

        values: `ruling`, and `date` (ISO), `reason`, `adviser` where there are
        Raises LookupError where there is no such grower or block, ValueError where it is no ruling, or one that can do
        nothing: no cycle is open, its day lies before the rest, or there is no word to withdraw.
        """
        if values.get("ruling") not in RULINGS:
            raise ValueError(f"no ruling: {values.get('ruling')!r}")
        if values.get("date") is not None:
            date.fromisoformat(values["date"])
        elif values["ruling"] in NEED_A_DATE:
            raise ValueError(f"{values['ruling']} needs a date")
        now = self.clock.now()
        with self.database.writing() as connection:
            cooperative = cooperatives.find(connection, cooperative_id)
            person = growers.by_number(connection, cooperative_id, number)
            if person is None:
                raise LookupError(f"no grower with that number: {number}")
            growers.lock(connection, [person.grower_id])
            farm = farms.farm(cooperative, person, diary.live(connection, person.grower_id), now, self.languages)
            if block not in farm.blocks:
                raise LookupError(f"no block {block} of that grower")
            _check_that_it_holds(farm, block, values)
            said = {key: value for key, value in values.items() if value is not None}
            (kept,) = diary.append(
                connection, cooperative_id, person.grower_id, None, "adviser", now,
                [("ruling", block, farm.today, said)],
            )  # fmt: skip
            reason = {"kind": "ruling", "entry": kept.entry.id, "block": block, **said}
            at = instant(next_allowed(farm.now, farm.settings), cooperative.zone)
            rows.move(connection, cooperative_id, person.grower_id, reason, at, now)
            self._refresh(connection, cooperative, person.grower_id, {block})

    def _refresh(
        self, connection: Connection, cooperative: Cooperative, grower_id: int, blocks: set[str] | None
    ) -> None:
        person = growers.first_person(connection, grower_id)
        if person is None:
            return
        now = self.clock.now()
        farm = farms.farm(cooperative, person, diary.live(connection, grower_id), now, self.languages)
        refresh(connection, cooperative, farm, blocks or farm.every_block.keys(), now)


def _check_that_it_holds(farm: Farm, block: str, values: Mapping[str, Any]) -> None:
    """Raises ValueError for a ruling that could change nothing."""
    plan = farm.plan(block)
    if plan is None or plan.ended:
        raise ValueError(f"block {block}: no cut is set and no rest begun")
    if values.get("date") is not None and date.fromisoformat(values["date"]) < plan.rest_start:
        raise ValueError(f"{values['date']} is before the rest of block {block}, which begins on {plan.rest_start}")
    if values["ruling"] == "withdrawn":
        words = in_force(farm.about(block))
        if not words or words[-1].id < plan.cycle:
            raise ValueError(f"block {block}: there is no word to withdraw")
