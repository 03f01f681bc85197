"""Golden conversations: text files that a grower can read, played through the code of `cutday replay`.

The form of a file, line by line
    language hi                         heading: the cooperative's language; `name` and `timezone` likewise
    date 2026-10-23                     heading: the day of the first lines
    settings {"ppm_black_soil": 1000}   heading: settings of the cooperative other than the defaults, as JSON
    cooperative wet.toml                heading: a file beside this one; else the invented one of the demo
    18:40 +919000000001 > hello         a text arrives
    18:40 +919000000001 < Welcome ...   what is sent, word for word; `python -m tests.conversations.refresh` rewrites it
    = template join.agree               what must hold for the text above: `template`, `because`, `language`,
    = cut 2027-01-18                    `encoding`, `segments`, or one of its values; `-`: no such value stands there;
    = 2.cut 2027-01-12                  of several blocks or jobs, the second item's; a list or mapping as JSON
    ~ 2026-11-20 06:30                  the clock moves; each day on which something is sent has a line of its own
    ~ 2026-12-08 08:00 gauge {"date": "2026-12-07", "rain_mm": 18}      the cooperative's post, as in a replay
    ~ 2026-12-08 08:00 adviser {"to": "+91...", "block": "1", ...}      the adviser's word, as in a replay
    # a comment
Whatever is sent must stand in the file in its order, and nothing else.

`joining.hi.txt` is the exchange of `joining.en.txt` in Hindi: the same lines, with what the grower texts said in Hindi;
the command above fills in what is sent. Template and values must be those of the English file.
"""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from io import StringIO
from pathlib import Path
from typing import Any

from service.commands.replay import THROW_AWAY, BadLine, Replay, demo_cooperative
from service.store import migrate
from service.store.session import Database

FOLDER = Path(__file__).parent
REFRESH = "python -m tests.conversations.refresh"
NUMBER = r"\+\d{8,15}"
TEXT = re.compile(rf"(?P<time>\d\d:\d\d) (?P<number>{NUMBER}) (?P<way>[<>])(?: (?P<text>.*))?", re.ASCII)
CLOCK = re.compile(
    r"~ (?P<day>\d{4}-\d\d-\d\d) (?P<time>\d\d:\d\d)(?: (?P<kind>gauge|adviser) (?P<what>\{.*\}))?", re.ASCII
)
HOLDS = re.compile(r"= (?P<key>\S+) (?P<value>.+)")
HEADINGS = {"language", "name", "timezone", "date", "settings", "cooperative"}
OF_THE_TEXT = {"template", "because", "language", "encoding", "segments"}
NOT_THERE = "-"
# Words that the grower typed: another language's grower types others.
TYPED = {"said", "name", "village", "plot"}


class Unreadable(ValueError):
    """A line of a conversation that has not the form."""


@dataclass
class Expected:
    """A text that must be sent, and what must hold for it."""

    number: int  # of the line
    at: datetime
    to: str
    text: str
    holds: list[tuple[int, str, str]] = field(default_factory=list)


@dataclass
class Step:
    """Something that happens, as a replay's lines, and the texts that it must bring."""

    number: int
    at: datetime
    lines: list[dict[str, Any]]
    expects: list[Expected] = field(default_factory=list)


@dataclass
class Conversation:
    path: Path
    lines: list[str]
    cooperative: dict[str, Any]
    steps: list[Step]

    @property
    def name(self) -> str:
        """The exchange, whatever the language: joining.hi.txt and joining.en.txt are both `joining`."""
        return self.path.name.split(".")[0]

    @property
    def language(self) -> str:
        return self.path.name.split(".")[1]


@dataclass(frozen=True)
class Played:
    """What came of a conversation.

    faults: what does not hold; stale: (line number, wording now) of each text that is worded otherwise by now
    """

    sent: list[dict[str, Any]]
    faults: list[str]
    stale: list[tuple[int, str]]


def files() -> list[Path]:
    return sorted(FOLDER.glob("*.*.txt"))


def read(path: Path) -> Conversation:
    """Read a conversation; raises Unreadable."""
    lines = path.read_text(encoding="utf-8").splitlines()
    reader = _Reader(path)
    for number, line in enumerate(lines, 1):
        if line.strip() and not line.startswith("#"):
            reader.take(number, line)
    return Conversation(path, lines, reader.cooperative(), reader.steps)


class _Reader:
    def __init__(self, path: Path) -> None:
        self.path = path
        self.headings: dict[str, str] = {}
        self.steps: list[Step] = []
        self.day: date | None = None

    def take(self, number: int, line: str) -> None:
        if match := TEXT.fullmatch(line):
            self._text(number, match)
        elif match := CLOCK.fullmatch(line):
            self._clock(number, match)
        elif match := HOLDS.fullmatch(line):
            if not self.steps or not self.steps[-1].expects:
                raise self._wrong(number, "there is no text above for which this could hold")
            self.steps[-1].expects[-1].holds.append((number, match["key"], match["value"]))
        else:
            heading, _, value = line.partition(" ")
            if heading not in HEADINGS or self.steps:
                raise self._wrong(number, f"no such line: {line!r}")
            self.headings[heading] = value
            if heading == "date":
                self.day = date.fromisoformat(value)

    def _text(self, number: int, match: re.Match[str]) -> None:
        if self.day is None:
            raise self._wrong(number, "the heading gives no date")
        at = datetime.fromisoformat(f"{self.day}T{match['time']}")
        text = match["text"] or ""
        if match["way"] == "<":
            if not self.steps:
                raise self._wrong(number, "nothing has happened yet")
            self.steps[-1].expects.append(Expected(number, at, match["number"], text))
        else:
            self.steps.append(
                Step(number, at, [{"at": _minute(at), "from": match["number"], "text": text.replace("\\n", "\n")}])
            )

    def _clock(self, number: int, match: re.Match[str]) -> None:
        self.day = date.fromisoformat(match["day"])
        at = datetime.fromisoformat(f"{self.day}T{match['time']}")
        lines: list[dict[str, Any]] = [{"at": _minute(at), "advance": True}]
        if match["kind"]:
            lines = [{"at": _minute(at), match["kind"]: json.loads(match["what"])}]
        self.steps.append(Step(number, at, lines))

    def cooperative(self) -> dict[str, Any]:
        named = self.headings.get("cooperative")
        given = demo_cooperative() if named is None else tomllib.loads((self.path.parent / named).read_text("utf-8"))
        given["language"] = self.path.name.split(".")[1]
        given |= {key: self.headings[key] for key in ("language", "name", "timezone") if key in self.headings}
        settings = json.loads(self.headings.get("settings", "{}"))
        return given | ({"settings": {**given.get("settings", {}), **settings}} if settings else {})

    def _wrong(self, number: int, why: str) -> Unreadable:
        return Unreadable(f"{self.path.name}:{number}: {why}")


def _minute(at: datetime) -> str:
    return at.isoformat(timespec="minutes")


def play(conversation: Conversation) -> Played:
    """Play a conversation on a fresh database and compare what is sent with what stands in it."""
    name = conversation.path.name
    sent: list[dict[str, Any]] = []
    faults: list[str] = []
    stale: list[tuple[int, str]] = []
    database = Database(THROW_AWAY)
    migrate.create(database)
    out = StringIO()
    replay = Replay(database, out)
    try:
        replay.play({"cooperative": conversation.cooperative})
        for step in conversation.steps:
            before = out.tell()
            try:
                for line in step.lines:
                    replay.play(line)
            except BadLine as bad:
                raise Unreadable(f"{name}:{step.number}: {bad}") from None
            texts = [json.loads(line) for line in out.getvalue()[before:].splitlines()]
            sent += texts
            for expected, text in zip(step.expects, texts, strict=False):
                faults += [f"{name}:{fault}" for fault in _faults(expected, text)]
                if expected.text != _one_line(text["text"]):
                    stale.append((expected.number, _one_line(text["text"])))
            for text in texts[len(step.expects) :]:
                faults.append(f"{name}:{step.number}: sent, and not expected: {_shown(text)}")
            for expected in step.expects[len(texts) :]:
                faults.append(f"{name}:{expected.number}: expected, and not sent: {expected.text}")
    finally:
        database.close()
    return Played(sent, faults, stale)


def _faults(expected: Expected, text: Mapping[str, Any]) -> Iterator[str]:
    """What does not hold for a text that was sent, each with its line."""
    if (at := datetime.fromisoformat(text["at"])).replace(second=0, tzinfo=None) != expected.at:
        yield f"{expected.number}: sent at {at:%Y-%m-%d %H:%M}, not {expected.at:%Y-%m-%d %H:%M}: {_shown(text)}"
    if text["to"] != expected.to:
        yield f"{expected.number}: sent to {text['to']}, not {expected.to}: {_shown(text)}"
    if not any(key == "template" for _, key, _ in expected.holds):
        yield f"{expected.number}: `= template ...` is wanted below it: {_shown(text)}"
    for number, key, wanted in expected.holds:
        found = _value(text, key)
        if not _is(found, wanted):
            shown = "no such value" if found is None else _written(found)
            yield f"{number}: {key} is {shown}, not {wanted}: {_shown(text)}"


def _value(text: Mapping[str, Any], key: str) -> Any:
    """A value by its key; `2.cut` is that of the second item."""
    if key in OF_THE_TEXT:
        return text[key]
    values: Any = text["values"]
    position, dot, rest = key.partition(".")
    if dot and position.isdigit():
        items = values.get("items", [])
        values, key = (items[int(position) - 1] if int(position) <= len(items) else {}), rest
    return values.get(key)


def _is(found: Any, wanted: str) -> bool:
    if found is None or wanted == NOT_THERE:
        return found is None and wanted == NOT_THERE
    if isinstance(found, str):
        return found == wanted
    try:
        return bool(found == json.loads(wanted))
    except ValueError:
        return False


def _written(found: Any) -> str:
    return found if isinstance(found, str) else json.dumps(found, ensure_ascii=False)


def _shown(text: Mapping[str, Any]) -> str:
    values = json.dumps(text["values"], ensure_ascii=False)
    return f"{text['template']} {text['text']!r} {values}"


def _one_line(text: str) -> str:
    return text.replace("\n", "\\n")


def told(sent: Mapping[str, Any]) -> tuple[Any, ...]:
    """What a text tells, whatever its language: when, to whom, why, its template and its values."""
    return sent["at"], sent["to"], sent["because"], sent["template"], _without_typed(sent["values"])


def _without_typed(value: Any) -> Any:
    if isinstance(value, Mapping):
        return {key: _without_typed(each) for key, each in value.items() if key not in TYPED}
    return [_without_typed(each) for each in value] if isinstance(value, list) else value
