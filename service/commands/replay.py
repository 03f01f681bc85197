"""`cutday replay`: plays texts, weather and the adviser's word from JSON lines on a simulated clock.

Everything goes through the inbox, outbox and reminders that `serve` runs, and the clock stops at each instant at which
something falls due. The same input gives the same bytes of output.
"""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Mapping, Sequence
from datetime import date, datetime
from importlib.resources import files
from typing import Any, TextIO

from dialogs.language import load_languages
from service.app import Service, assemble
from service.channels.channel import InboundText, OutboundText
from service.clock import SimulatedClock, instant, is_repeated, local
from service.orchard.plan import DayWeather
from service.store import cooperatives, messages, migrate
from service.store.cooperatives import Cooperative
from service.store.session import Database

LINE = "replay"
TIME = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d(:\d\d)?(Z|[+-]\d\d:\d\d)?", re.ASCII)
THROW_AWAY = "sqlite://"
FIRST_YEAR, LAST_YEAR = 1900, 2200  # a clock outside them is a slip


class BadLine(ValueError):
    """A line of the input that is none, and why."""


class Sent:
    """A channel that notes which rows were handed to it, in order."""

    def __init__(self) -> None:
        self.ids: list[int] = []

    def send(self, text: OutboundText) -> None:
        self.ids.append(text.id)


def run(stdin: TextIO, stdout: TextIO, stderr: TextIO, database_url: str | None) -> int:
    """Play the input; 2 where a line is bad, and what came before it is printed."""
    database = Database(database_url or THROW_AWAY)
    migrate.create(database) if database_url is None else migrate.require_current_or_create(database)
    replay = Replay(database, stdout)
    try:
        for number, line in enumerate(stdin, 1):
            try:
                if line.strip():
                    replay.play(_object(line))
            except BadLine as bad:
                stdout.flush()
                print(f"line {number}: {bad}", file=stderr)
                return 2
    finally:
        database.close()
    return 0


def _object(line: str) -> dict[str, Any]:
    try:
        read = json.loads(line)
    except ValueError as error:
        raise BadLine(f"no JSON: {error}") from None
    if not isinstance(read, dict):
        raise BadLine("no JSON object")
    return read


class Replay:
    """A service on a simulated clock, and what it prints."""

    def __init__(self, database: Database, stdout: TextIO) -> None:
        self.database = database
        self.stdout = stdout
        self.sent = Sent()
        self.described: Mapping[str, Any] | None = None
        self.service: Service | None = None
        self.clock: SimulatedClock
        self.cooperative: Cooperative
        self.texts = 0

    def play(self, line: Mapping[str, Any]) -> None:
        """One line of the input. Raises BadLine."""
        if "cooperative" in line:
            if self.service is not None or self.described is not None or line.keys() != {"cooperative"}:
                raise BadLine("a cooperative stands by itself in the first line, or not at all")
            if not isinstance(line["cooperative"], dict):
                raise BadLine("cooperative: no JSON object")
            self.described = line["cooperative"]
            try:
                cooperatives.check(self.described)
            except (KeyError, TypeError, ValueError) as error:
                raise BadLine(f"cooperative: {_why(error)}") from None
            return
        kinds = line.keys() & {"text", "advance", "gauge", "adviser"}
        if len(kinds) != 1:
            raise BadLine("one of text, advance, gauge and adviser is wanted")
        at = self._at(line.get("at"))
        service = self.service or self._begin(at)
        if at < self.clock.now():
            raise BadLine(f"time goes back: {line['at']}")
        (kind,) = kinds
        act = getattr(self, f"_read_{kind}")(line)
        self._move(service, at)
        act(service)
        self._settle(service)

    # What a line asks for: read whole before the clock moves

    def _read_text(self, line: Mapping[str, Any]) -> Any:
        sender, text = line.get("from"), line["text"]
        if not isinstance(sender, str) or not sender:
            raise BadLine("from: a number is wanted")
        if not isinstance(text, str):
            raise BadLine("text: a string is wanted")
        self.texts += 1
        inbound = InboundText(self.line, f"replay-{self.texts}", sender, text, None, "")
        return lambda service: service.inbox.receive(inbound)

    def _read_advance(self, line: Mapping[str, Any]) -> Any:
        if line["advance"] is not True:
            raise BadLine("advance: true is wanted")
        return lambda service: None

    def _read_gauge(self, line: Mapping[str, Any]) -> Any:
        gauge = _mapping(line, "gauge")
        village = gauge.get("village")
        if village is not None and not isinstance(village, str):
            raise BadLine("gauge: village: a string is wanted")
        day = _day(gauge.get("date"), "gauge: date")
        figures = [_number(gauge, name) for name in ("rain_mm", "tmin_c", "tmax_c")]
        if all(figure is None for figure in figures):
            raise BadLine("gauge: rain_mm, tmin_c or tmax_c is wanted")
        if figures[0] is not None and figures[0] < 0:
            raise BadLine("gauge: rain_mm: less than nothing")
        post = DayWeather(*figures)
        if post.tmin_c is not None and post.tmax_c is not None and post.tmin_c > post.tmax_c:
            raise BadLine("gauge: tmin_c is above tmax_c")
        return lambda service: service.office.post_weather(self.cooperative.id, village, day, post)

    def _read_adviser(self, line: Mapping[str, Any]) -> Any:
        word = _mapping(line, "adviser")
        for name in ("to", "block", "ruling"):
            if not isinstance(word.get(name), str):
                raise BadLine(f"adviser: {name}: a string is wanted")
        if word.get("date") is not None:
            _day(word["date"], "adviser: date")
        values = {name: word.get(name) for name in ("ruling", "date", "reason", "adviser")}

        def rule(service: Service) -> None:
            try:
                service.office.rule(self.cooperative.id, word["to"], word["block"], values)
            except (LookupError, ValueError) as error:
                raise BadLine(f"adviser: {_why(error)}") from None

        return rule

    # The clock

    def _at(self, at: Any) -> datetime:
        if not isinstance(at, str) or not TIME.fullmatch(at):
            raise BadLine(f"at: a local time such as 2026-01-10T07:30 is wanted, not {at!r}")
        try:
            read = datetime.fromisoformat(at)
        except ValueError as error:
            raise BadLine(f"at: {error}") from None
        if not FIRST_YEAR <= read.year <= LAST_YEAR:
            raise BadLine(f"at: a year from {FIRST_YEAR} to {LAST_YEAR} is wanted, not {read.year}")
        if read.tzinfo is not None:
            return read
        zone = (
            cooperatives.zone(self.described or demo_cooperative()) if self.service is None else self.cooperative.zone
        )
        if is_repeated(read, zone):
            raise BadLine(f"at: {at} comes twice that day: its offset is wanted")
        return instant(read, zone)

    def _begin(self, at: datetime) -> Service:
        described = self.described or demo_cooperative()
        name = str(described["name"])
        with self.database.writing() as connection:
            id_ = cooperatives.by_name(connection, name)
            newest = messages.newest(connection)
            if id_ is None:
                zone = cooperatives.zone(described)
                line = LINE if newest is None else f"{LINE} {name}"
                id_ = cooperatives.create(connection, described, line, at, local(at, zone).date())
            self.cooperative = cooperatives.find(connection, id_)
            self.line = cooperatives.line_of(connection, id_)
            self.texts = messages.count_in(connection)
        # A database that was played before goes on from where it was left.
        self.clock = SimulatedClock(newest or at)
        self.service = assemble(self.database, self.clock, lambda _: self.sent, load_languages())
        return self.service

    def _move(self, service: Service, to: datetime) -> None:
        """Let the clock stop at each instant up to `to` at which something falls due."""
        while (due := service.next_due()) is not None and due <= to:
            self.clock.move(max(due, self.clock.now()))
            self._settle(service)
        self.clock.move(to)

    def _settle(self, service: Service) -> None:
        """What the scheduler would do at this instant; then print what went out."""
        service.settle()
        if self.sent.ids:
            with self.database.reading() as connection:
                for row in messages.by_ids(connection, self.sent.ids):
                    self._print(row)
            self.sent.ids.clear()

    def _print(self, row: Any) -> None:
        zone = self.cooperative.zone
        here = local(row.handed_at, zone)
        aware = row.handed_at.astimezone(zone)
        items = _items(row.values, row.items)
        values = {**row.values, **({"items": items} if items else {})}
        line = {
            "at": (aware if is_repeated(here, zone) else here).isoformat(timespec="seconds"),
            "to": row.number, "text": row.text, "because": row.because, "template": row.key, "values": values,
            "language": row.language, "encoding": row.encoding, "segments": row.segments,
        }  # fmt: skip
        print(json.dumps(line, ensure_ascii=False), file=self.stdout)


def _items(values: Mapping[str, Any], items: Sequence[Mapping[str, Any]]) -> list[Mapping[str, Any]]:
    """The items of a text: one for each of several blocks, also where nothing differs between them."""
    items = [one for item in items for one in item.get("each", [item])]
    blocks = values.get("blocks", ())
    if not isinstance(blocks, list) or len(blocks) < 2:
        return items
    told = {item.get("block") for item in items}
    return [*items, *({"block": number} for number in blocks if number not in told)]


def demo_cooperative() -> dict[str, Any]:
    """The invented cooperative that stands in where none is given."""
    return tomllib.loads((files("service") / "demo_cooperative.toml").read_text(encoding="utf-8"))


def _mapping(line: Mapping[str, Any], name: str) -> Mapping[str, Any]:
    if not isinstance(line[name], dict):
        raise BadLine(f"{name}: no JSON object")
    return dict(line[name])


def _day(value: Any, name: str) -> date:
    try:
        return date.fromisoformat(value)
    except (TypeError, ValueError):
        raise BadLine(f"{name}: an ISO date is wanted, not {value!r}") from None


def _number(gauge: Mapping[str, Any], name: str) -> float | None:
    value = gauge.get(name)
    if value is None:
        return None
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        raise BadLine(f"gauge: {name}: a number is wanted")
    return float(value)


def _why(error: Exception) -> str:
    return f"{error.args[0]} is missing" if isinstance(error, KeyError) else str(error)
