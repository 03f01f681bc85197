"""What a dialogue is made of, and the state of a conversation.

A dialogue is data: questions in order, then one function from what was answered to diary entries and a reply.
Where the conversation moves is conversation.turn, the only place.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any

from dialogs.farm import Farm, NewEntry

Filled = Mapping[str, Any]


class AskAgain(Exception):
    """A value that cannot be: it is asked again with what is possible."""

    def __init__(self, key: str, **values: Any) -> None:
        super().__init__(key)
        self.key = key
        self.values = values


class Refused(Exception):
    """What was asked for cannot be done: the dialogue ends with the reason."""

    def __init__(self, key: str, **values: Any) -> None:
        super().__init__(key)
        self.key = key
        self.values = values


@dataclass(frozen=True)
class Reply:
    """One text: an entry of the catalogue and its values (JSON-able; dates as ISO strings).

    items: what differs block by block, where a text is about several
    """

    key: str
    values: Mapping[str, Any] = field(default_factory=dict)
    items: tuple[Mapping[str, Any], ...] = ()


@dataclass(frozen=True)
class Matter:
    """Something that a person of the cooperative has to see."""

    kind: str
    block: str | None = None


@dataclass(frozen=True)
class Outcome:
    """What a finished dialogue does.

    more: the rest of a long answer, sent when asked for
    why: what `why` would answer about the figures in this reply
    then: a dialogue that follows by itself, with what is already known for it
    puts: a question that the last reply itself puts: dialogue, what is filled, slot asked for
    """

    replies: tuple[Reply, ...] = ()
    entries: tuple[NewEntry, ...] = ()
    voids: tuple[int, ...] = ()
    grower: Mapping[str, Any] = field(default_factory=dict)
    matter: Matter | None = None
    more: tuple[Reply, ...] = ()
    why: Reply | None = None
    listed: tuple[tuple[str, str], ...] | None = None
    then: tuple[str, Filled] | None = None
    puts: tuple[str, Filled, str] | None = None
    erase: bool = False


def kept(value: Any, filled: Filled, farm: Farm) -> Any:
    """Any value is possible."""
    return value


def always(filled: Filled, farm: Farm) -> bool:
    return True


def never(filled: Filled, farm: Farm) -> bool:
    """Taken when told, never asked for."""
    return False


def nothing(filled: Filled, farm: Farm) -> Mapping[str, Any]:
    return {}


@dataclass(frozen=True)
class Ask:
    """One question: the slot it fills, its text, what is possible, and when it is asked.

    check: (value, what is filled, farm) -> the value to keep (JSON-able); raises AskAgain or Refused
    when: asked only while this holds; a value that was told unasked is checked all the same
    values: what the question's text shows
    reads: the corpus slot by which a bare answer is read, where it is not the slot's own name
    optional: "no" or "don't know" leaves it unanswered and goes on
    or_yes: a yes or no answers it too; what is read by `reads` then keeps its own name
    yes_by: tasks that are a yes here, where the text is more than a bare key word ("take it off", asked whether to)
    waits: it is put again after another task came between; else it is let go
    """

    slot: str
    key: str
    check: Callable[[Any, Filled, Farm], Any] = kept
    when: Callable[[Filled, Farm], bool] = always
    values: Callable[[Filled, Farm], Mapping[str, Any]] = nothing
    reads: str | None = None
    optional: bool = False
    or_yes: bool = False
    yes_by: frozenset[str] = frozenset()
    waits: bool = True


def told(slot: str, check: Callable[[Any, Filled, Farm], Any] = kept) -> Ask:
    """A value that is taken when told and never asked for; outside what is possible it is asked again."""
    return Ask(slot, "", check, when=never)


@dataclass(frozen=True)
class Dialog:
    """A task as a conversation: its questions in order, then what it comes to.

    asks_itself: (what was told, farm) -> whether it puts its own question where the reading is unsure;
        what was told then holds "unsure"
    takes: tasks that answer its questions, beside its own
    """

    name: str
    asks: tuple[Ask, ...]
    finish: Callable[[Filled, Farm], Outcome]
    asks_itself: Callable[[Filled, Farm], bool] = never
    takes: frozenset[str] = frozenset()


@dataclass(frozen=True)
class Open:
    """A dialogue under way: its name, what is filled, what is asked (slot), since and until when (ISO local).

    again: the text by which the question was put, where it is not the question's own (the range of what is possible)
    tries: how often it was put in vain
    """

    dialog: str
    filled: Filled
    asked: str
    since: str
    until: str | None = None
    tries: int = 0
    again: Reply | None = None


@dataclass(frozen=True)
class Conversation:
    """Where a conversation stands. Plain names and values only, so that it can be kept as a row.

    waiting: the dialogue below the open one; listed: (block, job) of the jobs last listed, for "job 3"
    lost: how often in a row nothing was understood; handed_on: when a text was said to go
        to a person, and none was understood since (ISO local)
    """

    open: Open | None = None
    waiting: Open | None = None
    more: tuple[Reply, ...] = ()
    why: Reply | None = None
    lost: int = 0
    listed: tuple[tuple[str, str], ...] = ()
    told_stopped: str | None = None
    handed_on: str | None = None

    def closed(self) -> Conversation:
        """Without the open dialogue; the one below it comes up."""
        return replace(self, open=self.waiting, waiting=None)

    def to_json(self) -> dict[str, Any]:
        return {
            "open": _open_json(self.open),
            "waiting": _open_json(self.waiting),
            "more": [_reply_json(reply) for reply in self.more],
            "why": _reply_json(self.why) if self.why else None,
            "lost": self.lost,
            "listed": [list(pair) for pair in self.listed],
            "told_stopped": self.told_stopped,
            "handed_on": self.handed_on,
        }

    @staticmethod
    def from_json(row: Mapping[str, Any]) -> Conversation:
        """The conversation of a row. What is missing or of another shape is left out: a dialogue that no longer
        exists is closed by the turn that meets it."""
        why = row.get("why")
        return Conversation(
            _open(row.get("open")),
            _open(row.get("waiting")),
            tuple(_reply(reply) for reply in row.get("more", ())),
            _reply(why) if why else None,
            int(row.get("lost", 0)),
            tuple((str(block), str(job)) for block, job in row.get("listed", ())),
            row.get("told_stopped"),
            row.get("handed_on"),
        )


@dataclass(frozen=True)
class Turn:
    """Everything that one text changes. `progress` is False where nothing was understood."""

    conversation: Conversation
    replies: tuple[Reply, ...] = ()
    entries: tuple[NewEntry, ...] = ()
    voids: tuple[int, ...] = ()
    grower: Mapping[str, Any] = field(default_factory=dict)
    matter: Matter | None = None
    erase: bool = False
    progress: bool = True


def _open_json(dialog: Open | None) -> dict[str, Any] | None:
    if dialog is None:
        return None
    return {
        "dialog": dialog.dialog,
        "filled": dict(dialog.filled),
        "asked": dialog.asked,
        "since": dialog.since,
        "until": dialog.until,
        "tries": dialog.tries,
        "again": _reply_json(dialog.again) if dialog.again else None,
    }


def _open(row: Any) -> Open | None:
    if not isinstance(row, Mapping) or not isinstance(row.get("filled"), Mapping):
        return None
    until, again = row.get("until"), row.get("again")
    try:
        for at in (row["since"], until):
            if at is not None:
                datetime.fromisoformat(at)
        return Open(
            str(row["dialog"]),
            row["filled"],
            str(row["asked"]),
            row["since"],
            until,
            int(row.get("tries", 0)),
            _reply(again) if again else None,
        )
    except (KeyError, TypeError, ValueError):
        return None


def _reply_json(reply: Reply) -> dict[str, Any]:
    return {"key": reply.key, "values": dict(reply.values), "items": [dict(item) for item in reply.items]}


def _reply(row: Mapping[str, Any]) -> Reply:
    return Reply(str(row["key"]), row.get("values", {}), tuple(row.get("items", ())))
