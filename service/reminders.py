"""What falls due: reminders as rows, kept right with every change of a block, and turned into texts on their hour.

refresh  in the transaction that changes a block: takes back what its plan no longer says, adds what it says now
daily    each cooperative's run at 02:00 local: the same for every grower, up to the end of tomorrow
tick     claims what is due, one text a grower and hour; it decides nothing about the farm
"""

from __future__ import annotations

import logging
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any

from sqlalchemy import Connection

from dialogs import reminding
from dialogs.conversation import reminded
from dialogs.dialog import Conversation, Reply
from dialogs.farm import Farm
from service import farms
from service.clock import Clock, instant, local
from service.farms import Cooperatives
from service.hours import next_allowed, next_morning, useful_until
from service.orchard.plan import Due, Plan, due
from service.store import conversations, cooperatives, diary, erasure, growers, matters, messages
from service.store import reminders as rows
from service.store.cooperatives import Cooperative
from service.store.growers import Person
from service.store.messages import NewText
from service.store.reminders import Key
from service.store.session import Database

log = logging.getLogger(__name__)

DAILY_AT = time(2)  # local: past the longest texting evening, before any morning hour
GROWERS_A_TRANSACTION = 100
PUT_OFF_AFTER_FAILURE = timedelta(minutes=10)
JUST_BEFORE = timedelta(microseconds=1)
KNOWN_FOR = timedelta(days=14)  # reminders that fell due longer ago are not looked at again


def refresh(
    connection: Connection,
    cooperative: Cooperative,
    farm: Farm,
    blocks: Collection[str],
    now: datetime,
    since: datetime | None = None,
) -> None:
    """Bring the reminders and the snapshot of some of a grower's blocks in line with their plans.

    since: reminders that fell due after this instant and have no row yet are made too (a run that was missed); else
        only those that are still to come
    """
    said = _Said.of(connection, cooperative, farm, blocks, since)
    midnight = instant(datetime.combine(farm.today, time()), cooperative.zone)
    known = rows.of_blocks(connection, farm.grower.id, blocks, midnight - KNOWN_FOR)
    _reconcile(connection, cooperative, farm, known, said, now)
    have = {rows.key_of(row) for row in known}
    missing = [(key, *_times(one, cooperative, farm)) for key, one in said.to_make.items() if key not in have]
    rows.make(connection, cooperative.id, farm.grower.id, missing, now)
    _snapshot(connection, cooperative, farm, blocks, now)


@dataclass(frozen=True)
class _Said:
    """What the plans of some blocks say: today's reminders, past hours too, and those still to come by tomorrow night.

    missed: what fell due on days before today, while nobody was there to make its row
    """

    today: Mapping[Key, Due]
    coming: Mapping[Key, Due]
    missed: Mapping[Key, Due]

    @classmethod
    def of(
        cls, connection: Connection, cooperative: Cooperative, farm: Farm, blocks: Collection[str],
        since: datetime | None,
    ) -> _Said:  # fmt: skip
        if growers.to_remind(connection, farm.grower.id) is None:
            return cls({}, {}, {})
        dawn = datetime.combine(farm.today, time()) - JUST_BEFORE
        until = dawn + timedelta(days=2)
        last_made = farm.now if since is None else local(since, cooperative.zone)
        plans = [farm.plan(number) for number in sorted(blocks) if number in farm.blocks]

        def says(start: datetime, end: datetime) -> dict[Key, Due]:
            if start >= end:
                return {}
            dues = (due(plan, start, end, farm.settings, farm.grower.evenings_only) for plan in plans if plan)
            return {_key(one): one for of_a_plan in dues for one in of_a_plan}

        return cls(
            today=says(dawn, until),
            coming=says(min(farm.now, max(dawn, last_made)), until),
            missed=says(last_made, dawn),
        )

    @property
    def to_make(self) -> Mapping[Key, Due]:
        return {**self.missed, **self.coming}

    def __contains__(self, key: Key) -> bool:
        return key in self.today or key in self.coming


def _times(one: Due, cooperative: Cooperative, farm: Farm) -> tuple[datetime, datetime]:
    """When a reminder is due, and until when it is of use."""
    return (
        instant(one.at, cooperative.zone),
        instant(useful_until(one.at.date(), farm.settings), cooperative.zone),
    )


def _reconcile(
    connection: Connection, cooperative: Cooperative, farm: Farm, known: Sequence[Any], said: _Said, now: datetime
) -> None:
    """Take back unsent reminders that no plan says any more; let those that a plan says again wait again."""
    untrue: list[int] = []
    rewritten: set[int] = set()
    for row in known:
        key = rows.key_of(row)
        unsent = row.state == "queued" and row.outbox_state == "waiting"  # once leased it may be going out
        went_by = row.state == "dropped" or (row.state == "queued" and row.outbox_state in ("expired", "suppressed"))
        taken_back = row.state == "cancelled" or (row.state == "queued" and row.outbox_state == "cancelled")
        if key not in said:
            if unsent:
                rewritten.add(row.outbox_id)
            if unsent or (row.state == "waiting" and now < row.useful_until):
                untrue.append(row.id)
            continue
        due_at, of_use = _times(said.coming.get(key) or said.today[key], cooperative, farm)
        another_hour = due_at != row.due_at and (due_at > now or now >= row.useful_until)
        if (
            (taken_back and now < of_use)
            or (row.state == "waiting" and another_hour)
            or (went_by and due_at > row.due_at)  # its window lasts: said on a later morning
        ):
            rows.wait_again(connection, row.id, due_at, of_use)
    for outbox_id in sorted(rewritten):  # the others in that text are said again without the ones taken back
        messages.end(connection, outbox_id, "cancelled", "the plan moved", now)
        for row in rows.in_row(connection, outbox_id):
            rows.wait_again(connection, row.id, row.due_at, row.useful_until)
    rows.cancel(connection, untrue, "the plan moved")


def _key(one: Due) -> Key:
    return (one.block, one.cycle, one.job, one.part or 0, one.for_date, one.occasion)


def _snapshot(
    connection: Connection, cooperative: Cooperative, farm: Farm, blocks: Collection[str], now: datetime
) -> None:
    rows.forget(connection, farm.grower.id, [number for number in blocks if number not in farm.blocks])
    for number in sorted(set(blocks) & farm.blocks.keys()):
        plan = farm.plan(number)
        rows.snapshot(connection, block_now(cooperative, farm, number, plan))
        if plan is None:
            continue
        for reason in plan.for_adviser:
            matters.raise_matter(
                connection, cooperative.id, farm.grower.id, farm.grower.number, reason, "", now, block=number,
                about=str(plan.cycle),
            )  # fmt: skip


def block_now(cooperative: Cooperative, farm: Farm, number: str, plan: Plan | None) -> dict[str, Any]:
    """What lists and boards show of a block."""
    row: dict[str, Any] = {
        "grower_id": farm.grower.id, "block": number, "cooperative_id": cooperative.id,
        "village": farm.blocks[number].village or farm.grower.village or "", "cycle": None, "season": None,
        "rest_start": None, "counted": None, "days_lost": None, "cut": None, "next_job": None, "next_date": None,
        "held": None, "as_of": farm.today,
    }  # fmt: skip
    if plan is None or plan.ended:
        return row
    coming = min((job for job in plan.jobs if job.is_open), key=lambda job: job.date, default=None)
    return row | {
        "cycle": plan.cycle, "season": plan.season, "rest_start": plan.rest_start, "counted": plan.counted,
        "days_lost": plan.days_lost, "cut": plan.cut, "held": plan.held,
        "next_job": coming.kind if coming else None, "next_date": coming.date if coming else None,
    }  # fmt: skip


@dataclass(frozen=True)
class Turned:
    """A grower whose reminders are due, with everything that turning them into texts needs."""

    cooperative: Cooperative
    person: Person
    farm: Farm
    now: datetime

    def at(self, local_time: datetime) -> datetime:
        return instant(local_time, self.cooperative.zone)


class Reminders:
    """The reminders of all cooperatives in a database."""

    def __init__(self, database: Database, clock: Clock, languages: tuple[str, ...]) -> None:
        self.database = database
        self.clock = clock
        self.languages = languages
        self.cooperatives = Cooperatives()

    # The daily run

    def daily(self) -> None:
        """Run every cooperative's day that has begun and is not run yet; safe to call at any time, from anywhere."""
        with self.database.reading() as connection:
            ids = list(cooperatives.versions(connection))
        for cooperative_id in ids:
            while self._some_of_the_day(cooperative_id):
                pass

    def next_daily(self) -> datetime | None:
        """When the next daily run of any cooperative is to begin."""
        with self.database.reading() as connection:
            begins = []
            for cooperative_id, version in cooperatives.versions(connection).items():
                cooperative = self.cooperatives.get(connection, cooperative_id, version)
                last = rows.last_run(connection, cooperative_id)
                if last is None:
                    created = local(cooperative.created_at, cooperative.zone)
                    day = created.date() if created.time() < DAILY_AT else created.date() + timedelta(days=1)
                else:
                    day = last.day if last.finished_at is None else last.day + timedelta(days=1)
                begins.append(_begins(cooperative, day))
            return min(begins, default=None)

    def _some_of_the_day(self, cooperative_id: int) -> bool:
        """Run the day for some growers of a cooperative, in one transaction; False when there is nothing to do."""
        now = self.clock.now()
        with self.database.reading() as connection:
            cooperative = self.cooperatives.get(connection, cooperative_id)
            last = rows.last_run(connection, cooperative_id)
        here = local(now, cooperative.zone)
        day = here.date() if here.time() >= DAILY_AT else here.date() - timedelta(days=1)
        if _begins(cooperative, day) > now:  # an hour that a clock change skipped
            day -= timedelta(days=1)
        if last is not None and (last.day > day or (last.day == day and last.finished_at is not None)):
            return False
        if last is None and _begins(cooperative, day) <= cooperative.created_at:
            return False
        until = instant(datetime.combine(day + timedelta(days=2), time()), cooperative.zone)
        with self.database.writing() as connection:
            if last is None:
                since = cooperative.created_at
            else:  # a run that broke off did not reach everybody
                since = last.until if last.finished_at is not None else last.since
            rows.begin_run(connection, cooperative_id, day, since, until)
            run = rows.run_of(connection, cooperative_id, day)
            if run is None or run.finished_at is not None:
                return False
            cooperative = self.cooperatives.get(connection, cooperative_id)  # as it is now, inside the transaction
            some = growers.after(connection, cooperative_id, run.grower_id, GROWERS_A_TRANSACTION)
            growers.lock(connection, some)
            for grower_id in some:
                self._refresh_all(connection, cooperative, grower_id, now, run.since)
            done = len(some) < GROWERS_A_TRANSACTION
            if done:
                erasure.forget_sent(connection)
            rows.got_to(connection, cooperative_id, day, some[-1] if some else run.grower_id, now if done else None)
            return not done

    def _refresh_all(
        self, connection: Connection, cooperative: Cooperative, grower_id: int, now: datetime, since: datetime
    ) -> None:
        kept = diary.live(connection, grower_id)
        person = growers.first_person(connection, grower_id)
        if not kept or person is None:
            return
        farm = farms.farm(cooperative, person, kept, now, self.languages)
        refresh(connection, cooperative, farm, farm.every_block.keys(), now, since)

    # The tick

    def tick(self) -> None:
        """Turn what is due into outbox rows. Any number may tick at once."""
        while True:
            now = self.clock.now()
            try:
                with self.database.writing() as connection:
                    due_now = rows.growers_due(connection, now, GROWERS_A_TRANSACTION)
                    for grower_id, cooperative_id in due_now:
                        self._remind(connection, grower_id, cooperative_id, now)
            except Exception:
                log.exception("some reminders failed: each grower by himself")
                due_now = self._one_by_one(now)
            if len(due_now) < GROWERS_A_TRANSACTION:
                return

    def _one_by_one(self, now: datetime) -> list[tuple[int, int]]:
        """One grower's fault holds up nobody else; his reminders are tried again, and a person sees it."""
        with self.database.reading() as connection:
            due_now = rows.growers_due(connection, now, GROWERS_A_TRANSACTION)
        for grower_id, cooperative_id in due_now:
            try:
                with self.database.writing() as connection:
                    growers.lock(connection, [grower_id])
                    self._remind(connection, grower_id, cooperative_id, now)
            except Exception:
                log.exception("the reminders of grower %d failed: put off", grower_id)
                with self.database.writing() as connection:
                    rows.put_off(connection, grower_id, now, now + PUT_OFF_AFTER_FAILURE)
                    person = growers.first_person(connection, grower_id)
                    number = person.number if person else ""
                    if not matters.is_open(connection, cooperative_id, number, "reminder_failed"):
                        matters.raise_matter(
                            connection, cooperative_id, grower_id, number, "reminder_failed", "", now
                        )  # fmt: skip
        return due_now

    def _remind(self, connection: Connection, grower_id: int, cooperative_id: int, now: datetime) -> None:
        items = rows.due(connection, grower_id, now)
        moved = rows.moves_of(connection, grower_id)
        if not any(move.due_at <= now for move in moved):
            moved = []
        person = growers.to_remind(connection, grower_id)
        if person is None:
            for row in items:
                self._drop(connection, row, "stopped or not joined")
            rows.settle_moves(connection, [move.id for move in moved], "dropped", "stopped or not joined", None)
            return
        cooperative = self.cooperatives.get(connection, cooperative_id)
        farm = farms.farm(cooperative, person, diary.live(connection, grower_id), now, self.languages)
        turned = Turned(cooperative, person, farm, now)
        if farm.settings.is_quiet(farm.now.time()):
            morning = turned.at(next_allowed(farm.now, farm.settings))
            rows.put_off_moves(connection, [move.id for move in moved], morning)
            for row in items:
                self._later(connection, row, morning, "quiet hours")
            return
        if moved:
            self._tell_moved(connection, turned, moved)
        self._tell_jobs(connection, turned, items)

    def _tell_jobs(self, connection: Connection, turned: Turned, items: Iterable[Any]) -> None:
        wanted = []
        for row in items:
            if turned.now < row.useful_until:
                wanted.append(row)
            else:
                self._drop(connection, row, "too late to be of use")
        if not wanted:
            return
        farm = turned.farm
        if messages.reminded_on(connection, farm.grower.id, farm.today) >= farm.settings.reminders_a_day:
            for row in wanted:
                self._drop(connection, row, "enough reminders that day")
            return
        if messages.has_hour(connection, farm.grower.id, farm.today, farm.now.hour, "jobs"):
            for row in wanted:
                self._later(connection, row, _next_hour(turned), "another text went out in that hour")
            return
        dues = [_due(row, turned.cooperative) for row in wanted]
        outbox_id = self._queue(connection, turned, reminding.words(dues, farm), "jobs")
        rows.queued(connection, [row.id for row in wanted], outbox_id)
        conversation = Conversation.from_json(turned.person.conversation or {})
        conversations.save(connection, turned.person, reminded(conversation, dues, farm).to_json())

    def _tell_moved(self, connection: Connection, turned: Turned, moved: Sequence[Any]) -> None:
        """One text on a plan that something else than the grower's own word has moved."""
        farm = turned.farm
        ids = [move.id for move in moved]
        reasons = [move.reason for move in moved]
        earlier = farms.before(farm, turned.cooperative, reasons)
        was, is_now = _plans(earlier), _plans(farm)
        reply = reminding.moved(was, is_now, reasons[-1], farm)
        if reply is None:
            rows.settle_moves(connection, ids, "dropped", "nothing moved", None)
            return
        if messages.reminded_on(connection, farm.grower.id, farm.today) >= farm.settings.reminders_a_day:
            rows.put_off_moves(connection, ids, turned.at(next_morning(farm.now, farm.settings)))
            return
        if messages.has_hour(connection, farm.grower.id, farm.today, farm.now.hour, "moved"):
            rows.put_off_moves(connection, ids, _next_hour(turned))
            return
        outbox_id = self._queue(connection, turned, reply, "moved")
        rows.settle_moves(connection, ids, "told", None, outbox_id)

    def _queue(self, connection: Connection, turned: Turned, reply: Reply, about: str) -> int:
        farm = turned.farm
        return messages.queue(
            connection, turned.cooperative.id, farm.grower.id,
            NewText(
                farm.grower.number, turned.person.line_id, "reminder", reply.key, reply.values, reply.items,
                farm.grower.language, turned.now, turned.at(useful_until(farm.today, farm.settings)),
                local_day=farm.today, local_hour=farm.now.hour, about=about,
            ),
            turned.now,
        )  # fmt: skip

    def _later(self, connection: Connection, row: Any, at: datetime, reason: str) -> None:
        if at < row.useful_until:
            rows.wait_again(connection, row.id, at, row.useful_until)
        else:
            self._drop(connection, row, reason)

    def _drop(self, connection: Connection, row: Any, reason: str) -> None:
        log.info("reminder %d (%s, %s for %s) dropped: %s", row.id, row.job, row.occasion, row.for_date, reason)
        rows.drop(connection, row.id, reason)


def _begins(cooperative: Cooperative, day: date) -> datetime:
    return instant(datetime.combine(day, DAILY_AT), cooperative.zone)


def _next_hour(turned: Turned) -> datetime:
    full = turned.now.replace(minute=0, second=0, microsecond=0)
    return full + timedelta(hours=1)


def _due(row: Any, cooperative: Cooperative) -> Due:
    at = local(row.due_at, cooperative.zone)
    return Due(row.block, row.cycle, row.job, row.part or None, row.for_date, row.occasion, at)


def _plans(farm: Farm) -> dict[str, Plan]:
    plans = {number: farm.plan(number) for number in farm.blocks}
    return {number: plan for number, plan in plans.items() if plan is not None}
