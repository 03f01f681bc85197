"""A small cooperative to test against: its service on a simulated clock, and a channel that remembers."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from itertools import count
from typing import Any
from zoneinfo import ZoneInfo

from sqlalchemy import select

from dialogs.language import load_languages
from service import farms
from service.app import Service, assemble
from service.channels.channel import InboundText, OutboundText
from service.clock import SimulatedClock, instant, local
from service.inbox import Received
from service.reminders import refresh
from service.store import cooperatives, diary, growers, messages, schema
from service.store import reminders as store_reminders
from service.store.session import Database

LINE = "7000"
LANGUAGES = load_languages()
SUNANDA = "+919000000001"


def description(**changes: Any) -> dict[str, Any]:
    """A cooperative as a replay's first line has it; the same mild month all year."""
    return {
        "name": "Dry Ridge growers",
        "timezone": "Asia/Kolkata",
        "latitude": 17.7,
        "longitude": 75.3,
        "elevation_m": 480,
        "language": "en",
        "normals": [{"tmin_c": 15, "tmax_c": 30, "rain_mm": 3, "rain_days": 0.3}] * 12,
        "villages": [{"name": "Red Bank", "latitude": 17.8, "longitude": 75.2}],
    } | changes


@dataclass
class Remembering:
    """A channel that remembers what it was handed; `fails` is raised instead, once for each entry."""

    texts: list[OutboundText]
    fails: list[Exception]

    def send(self, text: OutboundText) -> None:
        if self.fails:
            raise self.fails.pop(0)
        self.texts.append(text)


class World:
    def __init__(self, database: Database, at: str = "2026-11-18T09:00", **changes: Any) -> None:
        self.database = database
        self.zone = ZoneInfo(changes.get("timezone", "Asia/Kolkata"))
        self.clock = SimulatedClock(instant(datetime.fromisoformat(at), self.zone))
        self.channel = Remembering([], [])
        self.ids = count(1)
        with database.writing() as connection:
            self.cooperative_id = cooperatives.create(
                connection, description(**changes), LINE, self.clock.now(), self.here.date()
            )
        self.service = self.another()

    def another(self) -> Service:
        """Another process on the same database."""
        return assemble(self.database, self.clock, lambda line: self.channel, LANGUAGES)

    @property
    def here(self) -> datetime:
        return local(self.clock.now(), self.zone)

    def inbound(
        self, text: str, number: str = SUNANDA, message_id: str | None = "", sent_at: Any = None
    ) -> InboundText:
        return InboundText(LINE, f"m{next(self.ids)}" if message_id == "" else message_id, number, text, sent_at, "")

    def says(self, text: str, number: str = SUNANDA) -> list[str]:
        """The templates of what answers a text."""
        before = len(self.sent)
        assert self.service.inbox.receive(self.inbound(text, number)) in (Received.HANDLED, Received.IGNORED)
        self.service.outbox.send_due()
        return [row.key for row in self.sent[before:] if row.number == number]

    def grower(self, number: str = SUNANDA, village: str | None = None, **changes: Any) -> int:
        """A number that has joined."""
        with self.database.writing() as connection:
            line_id, _, _ = cooperatives.by_line(connection, LINE) or (0, 0, 0)
            growers.meet(connection, self.cooperative_id, line_id, number, "en", self.clock.now())
            person = growers.by_number(connection, self.cooperative_id, number)
            assert person is not None
            wanted = {"joined": True, "name": "Sunanda", "village": village, **changes}
            growers.change(connection, person, wanted, None, self.clock.now())
            return person.grower_id

    def block(self, grower_id: int, number: str = "1", **values: Any) -> None:
        """A block of grown-up plants on black soil."""
        known = {"plants": 240, "spacing_ft": [12, 8], "soil": "black", "planted": "2019-07", **values}
        self.wrote(grower_id, [("block", number, self.here.date(), known)])

    def wrote(self, grower_id: int, entries: Sequence[tuple[str, str | None, date, Mapping[str, Any]]]) -> None:
        with self.database.writing() as connection:
            diary.append(connection, self.cooperative_id, grower_id, None, "grower", self.clock.now(), entries)

    def resting(
        self, number: str = SUNANDA, blocks: Sequence[str] = ("1",), cut: str = "2027-01-04", **changes: Any
    ) -> int:
        """A grower whose blocks are to be cut on that day; the reminders stand as rows."""
        grower_id = self.grower(number, **changes)
        for block in blocks:
            self.block(grower_id, block)
            self.wrote(grower_id, [("cut_set", block, self.here.date(), {"date": cut})])
        self.refresh(grower_id)
        return grower_id

    def stopped_water(self, grower_id: int) -> None:
        """The grower has told that water was stopped today, on all his blocks."""
        blocks = {row.block for row in self.rows(schema.entries) if row.grower_id == grower_id and row.kind == "block"}
        self.wrote(grower_id, [("rest_begun", block, self.here.date(), {}) for block in sorted(blocks)])
        self.refresh(grower_id)

    def refresh(self, grower_id: int) -> None:
        with self.database.writing() as connection:
            cooperative = cooperatives.find(connection, self.cooperative_id)
            person = growers.first_person(connection, grower_id)
            assert person is not None
            kept = diary.live(connection, grower_id)
            farm = farms.farm(cooperative, person, kept, self.clock.now(), ("en",))
            refresh(connection, cooperative, farm, farm.every_block.keys(), self.clock.now())

    def go(self, to: str) -> None:
        """Move the clock, stopping wherever something falls due."""
        end = instant(datetime.fromisoformat(to), self.zone)
        while (due := self.next_due()) is not None and due <= end:
            self.clock.move(max(due, self.clock.now()))
            self.beat()
        self.clock.move(end)
        self.beat()

    def next_due(self) -> datetime | None:
        with self.database.reading() as connection:
            instants = [messages.next_due(connection), store_reminders.next_due(connection)]
        instants.append(self.service.reminders.next_daily())
        return min((due for due in instants if due is not None), default=None)

    def jump(self, to: str) -> None:
        """Move the clock with nobody looking: downtime."""
        self.clock.move(instant(datetime.fromisoformat(to), self.zone))

    def beat(self, service: Service | None = None) -> None:
        one = service or self.service
        one.reminders.daily()
        one.reminders.tick()
        one.outbox.send_due()

    @property
    def sent(self) -> list[Any]:
        """The outbox rows that were handed over, in order."""
        return [self.outbox(text.id) for text in self.channel.texts]

    def outbox(self, id_: int) -> Any:
        return next(row for row in self.rows(schema.outbox) if row.id == id_)

    def rows(self, table: Any) -> list[Any]:
        with self.database.reading() as connection:
            return list(connection.execute(select(table).order_by(*table.primary_key.columns)))

    def reminded(self) -> list[tuple[str, str, str]]:
        """(local time, job, for which day) of the reminders that were handed over."""
        sent = {row.id: row for row in self.sent}
        return [
            (f"{local(sent[item.outbox_id].handed_at, self.zone):%Y-%m-%dT%H:%M}", item.job, item.for_date.isoformat())
            for item in sorted(self.rows(schema.reminders), key=lambda row: (row.outbox_id or 0, row.id))
            if item.outbox_id in sent
        ]
