"""A conversation with one grower's farm as plain values: what `service` does with a turn, without database or clock."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from dialogs.conversation import asking, turn
from dialogs.dialog import Conversation, Reply, Turn
from dialogs.farm import Farm, Grower, Writing
from dialogs.understanding import Meaning
from service.orchard.block import Normal, Place
from service.orchard.diary import Entry
from service.orchard.settings import Settings
from service.wording import Wording

# A dry upland place: the same mild month all year, so that dates hang on the diary alone.
PLACE = Place("Upper Neem", 17.5, 75.0, 550.0, (Normal(16.0, 31.0, 5.0, 1.0),) * 12)
WORDING = Wording(["en"])


class Talk:
    """means() a text, then look at texts, written, conversation. Every reply is worded: none may lack a value."""

    def __init__(self) -> None:
        self.now = datetime.fromisoformat("2026-10-23T18:40")
        self.conversation = Conversation()
        self.entries: list[Entry] = []
        self.writings: list[Writing] = []
        self.grower = Grower(1, "+91700000001", "Sunanda", "Upper Neem", "en", joined=True, stopped=False)
        self.settings = Settings.of({})
        self.last = Turn(self.conversation)
        self._ids = 0

    @property
    def farm(self) -> Farm:
        return Farm(
            today=self.now.date(),
            now=self.now,
            sent_on=self.now.date(),
            grower=self.grower,
            entries=tuple(self.entries),
            places={"": PLACE},
            weather={},
            settings=self.settings,
            emergency_number="112",
            writings=tuple(self.writings),
            languages=("en", "hi", "hi_Latn"),
        )

    def at(self, iso: str) -> "Talk":
        self.now = datetime.fromisoformat(iso)
        return self

    def later(self, **span: int) -> "Talk":
        self.now += timedelta(**span)
        return self

    def has(self, kind: str, block: str | None = "1", day: str | None = None, **values: Any) -> "Talk":
        """A diary entry that was written earlier."""
        self._write(kind, block, day or self.now.date().isoformat(), values)
        return self

    def has_block(self, number: str = "1", **facts: Any) -> "Talk":
        return self.has(
            "block",
            number,
            **{
                "plants": 240,
                "spacing_m": [3.7, 2.4],
                "spacing_ft": [12.0, 8.0],
                "planted": "2021-07",
                "soil": "black",
                "water_source": "drip",
                **facts,
            },
        )

    def means(self, task: str, *, word: str | None = None, clarify: bool = False, **slots: Any) -> Turn:
        """A text understood as this task with these slots; `extra` holds what is no slot of the corpus."""
        extra: Mapping[str, Any] = slots.pop("extra", {})
        readings = slots.pop("readings", ())
        return self.hears(Meaning(task, slots, clarify=clarify, readings=readings, extra=extra), word)

    def hears(self, meaning: Meaning, word: str | None = None) -> Turn:
        self.last = turn(self.conversation, meaning, word, "", self.farm)
        self.conversation = Conversation.from_json(self.last.conversation.to_json())
        assert self.conversation == self.last.conversation, "the row does not keep the conversation"
        asking(self.conversation)
        written = [self._write(new.kind, new.block, new.day.isoformat(), new.values) for new in self.last.entries]
        self.entries = [entry for entry in self.entries if entry.id not in self.last.voids]
        self.writings = [one for one in self.writings if not set(one.entries) & set(self.last.voids)]
        if written:
            self.writings.insert(0, Writing(tuple(written), self.now))
        self.grower = replace(self.grower, **self.last.grower)
        self.texts = [self.worded(reply) for reply in self.last.replies]
        for reply in (*self.last.conversation.more, *filter(None, [self.last.conversation.why])):
            self.worded(reply)
        return self.last

    def worded(self, reply: Reply) -> str:
        return WORDING.text("en", reply.key, reply.values, reply.items, today=self.now.date())

    @property
    def keys(self) -> list[str]:
        return [reply.key for reply in self.last.replies]

    @property
    def values(self) -> Mapping[str, Any]:
        return self.last.replies[0].values

    @property
    def written(self) -> Sequence[tuple[str, str | None, str, Mapping[str, Any]]]:
        """What the last text wrote: kind, block, day, values."""
        return [(new.kind, new.block, new.day.isoformat(), dict(new.values)) for new in self.last.entries]

    @property
    def asked(self) -> str | None:
        """The dialogue and slot of the open question, as "dialogue.slot"."""
        put = self.conversation.open
        return None if put is None else f"{put.dialog}.{put.asked}"

    def _write(self, kind: str, block: str | None, day: str, values: Mapping[str, Any]) -> int:
        self._ids += 1
        at = self.now.replace(tzinfo=UTC)
        self.entries.append(Entry(self._ids, kind, block, datetime.fromisoformat(day).date(), dict(values), at))
        return self._ids


@pytest.fixture
def talk() -> Talk:
    return Talk()


@pytest.fixture(scope="session")
def new_talk() -> type[Talk]:
    """For tests that need many: new_talk() begins one."""
    return Talk
