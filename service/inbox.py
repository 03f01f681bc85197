"""One text, one transaction: keep it, understand it, take the turn, write the diary, make reminders, queue the replies.

Texts that have queued up commit together; if that fails each is handled by itself, and one that cannot be handled is
kept as it came, tried once more, and then put before a person. Nothing that was accepted is lost.
"""

from __future__ import annotations

import hashlib
import logging
import re
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from enum import Enum
from typing import Any

import phonenumbers
from babel.core import get_global
from sqlalchemy import Connection

from dialogs.conversation import heard, turn
from dialogs.dialog import Conversation, Turn
from dialogs.first_language import first_language
from dialogs.language import Language
from dialogs.understanding import KnownBlock, Meaning, keyword, understand
from service import farms
from service.channels.channel import InboundText
from service.clock import Clock, local
from service.farms import Cooperatives
from service.reminders import refresh
from service.store import conversations, cooperatives, diary, erasure, growers, matters, messages
from service.store.cooperatives import Cooperative
from service.store.growers import Person
from service.store.messages import NewText
from service.store.session import Database

log = logging.getLogger(__name__)

LONGEST_TEXT = 1600  # characters, ten parts; what lies beyond is kept and not read
WITHOUT_ID = timedelta(seconds=10)  # the same text from the same number is one where the gateway gives no id
REPLY_OF_USE = timedelta(days=1)
OLDEST_SENDING = timedelta(days=14)  # a sending time further back is a gateway's wrong clock
TRIES = 2  # by itself, after the batch; then a person
# Two machines that answer each other.
ASTRAY_IN_TWO_MINUTES, ASTRAY_A_DAY = 3, 10
OURS_REMEMBERED, SHORTEST_ECHO = 20, 20
NUMBER = re.compile(r"\+[1-9][0-9]{7,14}")
# Answered past every limit: nobody hurt is left waiting, nobody who wants to stop is kept.
PAST_LIMITS = {"hurt", "stop"}
OF_A_PLAN = {"joined", "stopped", "evenings_only", "village"}


class NoSuchLine(LookupError):
    """A text came in on a line that no cooperative has."""


class Received(Enum):
    """What became of a text."""

    HANDLED = "handled"
    AGAIN = "again"  # delivered before: no effect
    IGNORED = "ignored"  # kept, not answered
    SET_ASIDE = "set_aside"


@dataclass(frozen=True)
class Waiting:
    """A text and when it came."""

    text: InboundText
    received_at: datetime


class Inbox:
    """The entrance for texts, whatever channel they come by."""

    def __init__(self, database: Database, clock: Clock, languages: Mapping[str, Language]) -> None:
        self.database = database
        self.clock = clock
        self.languages = languages
        self.cooperatives = Cooperatives()

    def receive_together(self, texts: Sequence[InboundText]) -> list[Received]:
        """Take texts in, in this order, and answer them: all committed once this returns, or none."""
        now = self.clock.now()
        return self._together([Waiting(text, now) for text in texts])

    def receive(self, text: InboundText) -> Received:
        """Take one text in; where it cannot be answered it is set aside as it came.

        Raises what the database raised where not even that succeeded, and NoSuchLine for a text on an unknown line:
        then the gateway is to bring it again.
        """
        one = Waiting(text, self.clock.now())
        try:
            return self._together([one])[0]
        except NoSuchLine:
            raise
        except Exception as error:  # whatever it was, the text is not to be lost
            log.exception("a text failed: set aside")
            reason = _reason(error)
        with self.database.writing() as connection:
            line_id, cooperative_id, _ = self._line(connection, one.text.line)
            row = self._row(one, line_id, cooperative_id, "set_aside")
            kept = messages.take_in(connection, {**row, "reason": reason, "tries": 1})
            return Received.AGAIN if kept is None else Received.SET_ASIDE

    def set_aside(self, line: str, raw: str, reason: str) -> None:
        """Keep a request of the gateway that cannot be read, for a person. Raises NoSuchLine."""
        with self.database.writing() as connection:
            _, cooperative_id, _ = self._line(connection, line)
            matters.raise_matter(
                connection, cooperative_id, None, "", "unreadable", f"{storable(reason)}\n{storable(raw)}",
                self.clock.now(),
            )  # fmt: skip

    def try_again(self) -> None:
        """Give each text that was set aside its second try."""
        with self.database.reading() as connection:
            aside = messages.set_aside(connection, TRIES)
            lines = cooperatives.all_lines(connection) if aside else {}
        for row in aside:
            text = InboundText(lines[row.line_id], row.message_id, row.sender, row.text, row.sent_at, row.raw)
            try:
                with self.database.writing() as connection:
                    self._handle(connection, Waiting(text, row.received_at), row.id)
            except Exception as error:
                log.exception("text %d failed again: to a person", row.id)
                with self.database.writing() as connection:
                    messages.tried_again(connection, row.id, _reason(error))
                    matters.raise_matter(
                        connection, row.cooperative_id, None, row.sender, "set_aside", row.text, self.clock.now(),
                        text_in_id=row.id,
                    )  # fmt: skip

    def _together(self, waiting: Sequence[Waiting]) -> list[Received]:
        with self.database.writing() as connection:
            self._meet(connection, waiting)
            return [self._take(connection, one) for one in waiting]

    def _line(self, connection: Connection, name: str) -> tuple[int, int, int]:
        line = cooperatives.by_line(connection, name)
        if line is None:
            raise NoSuchLine(name)
        return line

    def _meet(self, connection: Connection, waiting: Sequence[Waiting]) -> None:
        """Make the growers of numbers never seen, and lock all whose texts these are, in id order."""
        by_cooperative: dict[int, dict[str, tuple[int, Waiting]]] = {}
        for one in waiting:
            line_id, cooperative_id, version = self._line(connection, one.text.line)
            cooperative = self.cooperatives.get(connection, cooperative_id, version)
            number = phone_number(one.text.sender, cooperative.timezone)
            if number is not None:
                by_cooperative.setdefault(cooperative_id, {}).setdefault(number, (line_id, one))
        met: set[int] = set()
        for cooperative_id, numbers in sorted(by_cooperative.items()):
            known = growers.by_numbers(connection, cooperative_id, numbers)
            strangers = sorted(numbers.keys() - known.keys())
            otherwise = self.cooperatives.get(connection, cooperative_id).language if strangers else ""
            for number in strangers:
                line_id, one = numbers[number]
                language = first_language(one.text.text, self.languages, otherwise)
                growers.meet(connection, cooperative_id, line_id, number, language, one.received_at)
            if strangers:
                known = growers.by_numbers(connection, cooperative_id, numbers)
            met |= {person.grower_id for person in known.values()}
        growers.lock(connection, met)

    def _row(self, one: Waiting, line_id: int, cooperative_id: int, state: str) -> dict[str, Any]:
        text = one.text
        fingerprint = None
        if not text.message_id:
            second = (text.sent_at or one.received_at).replace(microsecond=0)
            whole = "\0".join((text.sender, text.text, second.isoformat()))
            fingerprint = hashlib.sha256(whole.encode("utf-8", "replace")).hexdigest()
        return {
            "cooperative_id": cooperative_id, "line_id": line_id, "message_id": text.message_id or None,
            "fingerprint": fingerprint, "sender": storable(text.sender)[:64], "text": storable(text.text),
            "raw": storable(text.raw), "sent_at": text.sent_at, "received_at": one.received_at, "state": state,
            "tries": 0,
        }  # fmt: skip

    def _take(self, connection: Connection, one: Waiting) -> Received:
        line_id, cooperative_id, _ = self._line(connection, one.text.line)
        row = self._row(one, line_id, cooperative_id, "received")
        if row["message_id"] is None and messages.said_just_now(
            connection, line_id, row["sender"], row["text"], one.received_at - WITHOUT_ID
        ):
            return Received.AGAIN
        text_in_id = messages.take_in(connection, row)
        if text_in_id is None:
            return Received.AGAIN
        return self._handle(connection, one, text_in_id)

    def _handle(self, connection: Connection, one: Waiting, text_in_id: int) -> Received:
        """Answer a text that is kept."""
        line_id, cooperative_id, version = self._line(connection, one.text.line)
        cooperative = self.cooperatives.get(connection, cooperative_id, version)
        number = phone_number(one.text.sender, cooperative.timezone)
        if number is None or number == phone_number(one.text.line, cooperative.timezone):
            return _ignored(connection, text_in_id, None, "no number that can be answered")
        person = growers.by_number(connection, cooperative_id, number)
        if person is None:
            language = first_language(one.text.text, self.languages, cooperative.language)
            growers.meet(connection, cooperative_id, line_id, number, language, one.received_at)
            person = growers.by_number(connection, cooperative_id, number)
            if person is None:
                raise LookupError(f"number of text {text_in_id} could not be made")
        growers.seen_on(connection, person, line_id)
        return Answer(self, connection, cooperative, replace(person, line_id=line_id), one, text_in_id).give()


class Answer:
    """The answer to one text: everything that it changes, in the transaction that it is given."""

    def __init__(
        self, inbox: Inbox, connection: Connection, cooperative: Cooperative, person: Person, one: Waiting,
        text_in_id: int,
    ) -> None:  # fmt: skip
        self.inbox = inbox
        self.connection = connection
        self.cooperative = cooperative
        self.person = person
        self.text_in_id = text_in_id
        self.text = storable(one.text.text)[:LONGEST_TEXT]
        self.now = inbox.clock.now()
        sent_at = one.text.sent_at
        if sent_at is None or not one.received_at - OLDEST_SENDING <= sent_at <= one.received_at:
            sent_at = one.received_at
        self.kept = diary.live(connection, person.grower_id)
        tags = (person.language, cooperative.language)
        self.language = next((tag for tag in tags if tag in inbox.languages), "en")
        self.farm = farms.farm(
            cooperative, person, self.kept, self.now, tuple(inbox.languages), local(sent_at, cooperative.zone).date()
        )

    def give(self) -> Received:
        if self._is_echo():
            return _ignored(self.connection, self.text_in_id, self.person, "our own text came back")
        conversation = Conversation.from_json(self.person.conversation or {})
        meaning, word = self._understood(conversation)
        recent = messages.recent(self.connection, self.person.number_id, self.now)
        settings = self.farm.settings
        urgent = meaning.task == "hurt" or (meaning.task in PAST_LIMITS and not meaning.clarify)
        if not urgent and (recent.hour >= settings.texts_an_hour or recent.day >= settings.texts_a_day):
            return self._too_many()
        taken = turn(conversation, meaning, word, self.text, self.farm)
        astray = not taken.progress and meaning.task not in PAST_LIMITS
        if astray and (recent.astray_two_minutes >= ASTRAY_IN_TWO_MINUTES or recent.astray_day >= ASTRAY_A_DAY):
            return self._going_round()
        self._write(taken)
        self._queue(taken)
        messages.settle(
            self.connection, self.text_in_id, "handled", number_id=self.person.number_id, task=meaning.task,
            progress=taken.progress,
        )  # fmt: skip
        if taken.erase:
            erasure.erase(self.connection, self.person, self.text_in_id, self.now)
        return Received.HANDLED

    def _understood(self, conversation: Conversation) -> tuple[Meaning, str | None]:
        languages = self.inbox.languages
        blocks = tuple(KnownBlock(block.number, block.name) for block in self.farm.blocks.values())
        villages = tuple(name for name in self.cooperative.places if name)
        meaning = heard(
            conversation,
            self.farm,
            lambda asked: understand(self.text, self.language, self.farm.sent_on, asked, languages, blocks, villages),
        )
        return meaning, keyword(self.text, self.language, languages)

    def _write(self, taken: Turn) -> None:
        """The diary, the grower, the conversation and the reminders that follow from them."""
        changes = dict(taken.grower)
        if changes.get("village"):
            changes["village"] = self.cooperative.village(changes["village"])
        touched = self._write_diary(taken)
        if changes:
            growers.change(self.connection, self.person, changes, self.text_in_id, self.now)
            self.person = replace(self.person, **changes)
            if changes.get("stopped"):
                messages.cancel_unsent(
                    self.connection, self.person.number, self.person.cooperative_id, ("reminder", "broadcast"),
                    "stopped", self.now,
                )  # fmt: skip
        if taken.conversation.to_json() != (self.person.conversation or {}):
            conversations.save(self.connection, self.person, taken.conversation.to_json())
        if touched or changes.keys() & OF_A_PLAN:
            after = farms.farm(self.cooperative, self.person, self.kept, self.now, self.farm.languages)
            if changes.keys() & OF_A_PLAN or None in touched:
                blocks = {*after.every_block, *self.farm.every_block}
            else:
                blocks = {block for block in touched if block is not None}
            refresh(self.connection, self.cooperative, after, blocks, self.now)
        if taken.matter is not None:
            matters.raise_matter(
                self.connection, self.cooperative.id, self.person.grower_id, self.person.number, taken.matter.kind,
                self.text, self.now, block=taken.matter.block, text_in_id=self.text_in_id,
            )  # fmt: skip

    def _write_diary(self, taken: Turn) -> set[str | None]:
        """Append and take back entries; the blocks that they are about (None: all of them)."""
        touched: set[str | None] = set()
        if taken.voids:
            diary.void(self.connection, self.person.grower_id, taken.voids, self.text_in_id, self.now)
            touched |= {one.entry.block for one in self.kept if one.entry.id in taken.voids}
            self.kept = [one for one in self.kept if one.entry.id not in taken.voids]
        if taken.entries:
            new = [(entry.kind, entry.block, entry.day, self._placed(entry.values)) for entry in taken.entries]
            added = diary.append(
                self.connection, self.cooperative.id, self.person.grower_id, self.text_in_id, "grower", self.now, new
            )
            self.kept = [*self.kept, *added]
            touched |= {one.entry.block for one in added}
        return touched

    def _placed(self, values: Mapping[str, Any]) -> Mapping[str, Any]:
        """Villages by the name that the cooperative knows them by."""
        village = values.get("village")
        return {**values, "village": self.cooperative.village(village)} if village else values

    def _queue(self, taken: Turn) -> None:
        for reply in taken.replies:
            self._reply(reply.key, reply.values, reply.items)
        duty = self.farm.settings.duty_number
        if taken.matter is not None and taken.matter.kind == "hurt" and duty:
            self._text(duty, "hurt.duty", {"number": self.person.number}, (), self.cooperative.language, None)

    def _reply(self, key: str, values: Mapping[str, Any], items: Sequence[Mapping[str, Any]] = ()) -> None:
        self._text(self.person.number, key, values, items, self.person.language, self.person.grower_id)

    def _text(
        self, number: str, key: str, values: Mapping[str, Any], items: Sequence[Mapping[str, Any]], language: str,
        grower_id: int | None,
    ) -> None:  # fmt: skip
        messages.queue(
            self.connection, self.cooperative.id, grower_id,
            NewText(
                number, self.person.line_id, "reply", key, values, items, language, self.now,
                self.now + REPLY_OF_USE, self.text_in_id,
            ),
            self.now,
        )  # fmt: skip

    def _is_echo(self) -> bool:
        text = _folded(self.text)
        if len(text) < SHORTEST_ECHO:
            return False
        ours = messages.last_said(self.connection, self.person.number, OURS_REMEMBERED)
        return any(_folded(said) == text for said in ours)

    def _too_many(self) -> Received:
        """Past the limits of a number: one notice an hour, and a person sees it; the text is kept."""
        told = messages.refused_since(
            self.connection, self.person.number_id, "too many texts", self.now - timedelta(hours=1)
        )
        if not told:
            self._reply("limit.too_many", {"emergency_number": self.farm.emergency_number})
            self._raise_once("too_many_texts")
        return _ignored(self.connection, self.text_in_id, self.person, "too many texts")

    def _going_round(self) -> Received:
        """Answering once more what was not understood would only feed another machine."""
        self._raise_once("not_understood")
        return _ignored(self.connection, self.text_in_id, self.person, "not understood again and again")

    def _raise_once(self, kind: str) -> None:
        if not matters.is_open(self.connection, self.cooperative.id, self.person.number, kind):
            matters.raise_matter(
                self.connection, self.cooperative.id, self.person.grower_id, self.person.number, kind, self.text,
                self.now, text_in_id=self.text_in_id,
            )  # fmt: skip


def _ignored(connection: Connection, text_in_id: int, person: Person | None, reason: str) -> Received:
    messages.settle(
        connection, text_in_id, "ignored", reason=reason, number_id=None if person is None else person.number_id
    )
    return Received.IGNORED


def phone_number(sender: str, timezone: str) -> str | None:
    """A sender's number as +digits; None for names, short codes and what is no number: these are never answered.

    timezone: the cooperative's, whose country a number without its code is taken to be of
    """
    if NUMBER.fullmatch(sender):
        return sender
    if any(character.isalpha() for character in sender):
        return None
    try:
        parsed = phonenumbers.parse(sender, get_global("zone_territories").get(timezone))
    except phonenumbers.NumberParseException:
        return None
    if not phonenumbers.is_possible_number(parsed):
        return None
    return phonenumbers.format_number(parsed, phonenumbers.PhoneNumberFormat.E164)


def storable(text: str) -> str:
    """A text that every database keeps and every page shows: no NUL, no half characters."""
    return text.replace("\0", "").encode("utf-8", "replace").decode("utf-8")


def _folded(text: str) -> str:
    return " ".join(unicodedata.normalize("NFKC", text).casefold().split())


def _reason(error: Exception) -> str:
    return f"{type(error).__name__}: {error}"[:500]
