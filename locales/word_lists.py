"""The word lists of all languages, made ready for looking up: from `<lang>/words*.toml` to the bytes of `words.index`.

`dialogs/lexicon.py` reads them. All work that can be done before a text comes is done here: the sound of each word,
which words stand near which, what each entry means. `locales/en/words.toml` opens with a description of the lists.
"""

import hashlib
import json
import re
import tomllib
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import chain
from pathlib import Path
from typing import Any

import numpy as np

from dialogs import devanagari, lexicon
from dialogs.lexicon import (
    CONCEPTS,
    DUAL,
    SHORTEST_SOUND,
    SHORTEST_SWAP,
    Entry,
    NumberWord,
    Sounds,
    bit,
    consonants,
    edges,
    plain,
    split_words,
)

LOCALES = Path(__file__).parent
INDEX = LOCALES / "words.index"
# Words of [exact] that may be misspelt all the same: what is measured is a number, its unit only names it; and ethephon
# is spelt as it is heard (ethion, which is another thing, is listed).
UNITS = (
    "mm cm inch litre millilitre gram kilo quintal tonne acre hectare guntha feet metre hour minute percent ppm plant "
    "lang_en lang_hi lang_mr lang_kn lang_es lang_ar ethephon"
).split()
_NUMBER_TABLES = ("numbers", "multipliers", "ordinals", "fractions", "plus_before", "minus_before", "plus_after")
_NO_SOUNDS = Sounds(())


def sources() -> list[Path]:
    """All files that the index is made from, in order."""
    return sorted(LOCALES.glob("*/words*.toml"))


def fingerprint(paths: Sequence[Path]) -> str:
    """SHA-256 over the files and the code that reads them."""
    digest = hashlib.sha256()
    for path in [*paths, Path(__file__), Path(lexicon.__file__), Path(devanagari.__file__)]:
        content = path.read_bytes()
        digest.update(f"{path.parent.name}/{path.name} {len(content)}\n".encode() + content)
    return digest.hexdigest()


def is_stale() -> bool:
    """Whether the index was made from other files than those that are here."""
    if not INDEX.exists():
        return True
    with INDEX.open("rb") as file:
        return bool(json.loads(file.readline())["made_from"] != fingerprint(sources()))


def compiled() -> bytes:
    """The bytes of the index that the files make. Raises ValueError for an entry that cannot be listed."""
    paths = sources()
    return packed(read_lists(paths), fingerprint(paths))


def read_lists(paths: Iterable[Path]) -> dict[str, "WordLists"]:
    """The word lists by language, which is the name of the folder that a file stands in."""
    tables: dict[str, list[Mapping[str, Any]]] = {}
    for path in paths:
        tables.setdefault(path.parent.name, []).append(tomllib.loads(path.read_text(encoding="utf-8")))
    return {tag: WordLists.merged(tables[tag]) for tag in sorted(tables)}


@dataclass(frozen=True)
class WordLists:
    """The word lists of one language, as its TOML files have them (format: `locales/en/words.toml`)."""

    reads: tuple[str, ...] = ()
    words: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    exact: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    keywords: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    numbers: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    sounds: tuple[tuple[str, str], ...] = ()
    endings: tuple[str, ...] = ()
    beginnings: tuple[str, ...] = ()
    number_only_before_unit: tuple[str, ...] = ()
    letter_digits: Mapping[str, str] = field(default_factory=dict)
    joined: tuple[str, ...] = ()
    duals: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    affixes: Mapping[str, tuple[tuple[str, str], ...]] = field(default_factory=dict)
    decimal_comma: bool = False

    @classmethod
    def merged(cls, tables: Iterable[Mapping[str, Any]]) -> "WordLists":
        """One value from the files of a language: lists of the same name are joined."""
        words: dict[str, tuple[str, ...]] = {}
        exact: dict[str, tuple[str, ...]] = {}
        keywords: dict[str, tuple[str, ...]] = {}
        numbers: dict[str, dict[str, float]] = {name: {} for name in _NUMBER_TABLES}
        reads: list[str] = []
        sounds: list[tuple[str, str]] = []
        endings: list[str] = []
        beginnings: list[str] = []
        only_before_unit: list[str] = []
        letter_digits: dict[str, str] = {}
        joined: list[str] = []
        duals: dict[str, tuple[str, ...]] = {}
        affixes: dict[str, tuple[tuple[str, str], ...]] = {}
        decimal_comma = False
        for table in tables:
            for name, target in (("words", words), ("exact", exact), ("keywords", keywords), ("duals", duals)):
                for concept, listed in table.get(name, {}).items():
                    target[concept] = (*target.get(concept, ()), *_split(listed))
            for name in _NUMBER_TABLES:
                for value, listed in table.get(name, {}).items():
                    numbers[name].update({word: float(value) for word in _split(listed)})
            reads += table.get("reads", [])
            sounds += [(old, new) for old, new in table.get("sounds", [])]
            endings += _split(table.get("endings", ""))
            beginnings += _split(table.get("beginnings", ""))
            only_before_unit += _split(table.get("number_only_before_unit", ""))
            letter_digits.update(table.get("letter_digits", {}))
            joined += _split(table.get("joined", ""))
            for concept, pairs in table.get("affixes", {}).items():
                affixes[concept] = (*affixes.get(concept, ()), *((before, after) for before, after in pairs))
            decimal_comma = decimal_comma or table.get("decimal_comma", False)
        return cls(
            tuple(reads), words, exact, keywords, numbers, tuple(sounds), tuple(endings), tuple(beginnings),
            tuple(only_before_unit), letter_digits, tuple(joined), duals, affixes, decimal_comma,
        )  # fmt: skip


def _split(listed: str | Sequence[str]) -> tuple[str, ...]:
    """The entries of a list: a TOML string of entries parted by commas or new lines, or a TOML array."""
    entries = re.split(r"[,\n]", listed) if isinstance(listed, str) else listed
    return tuple(plain(unicodedata.normalize("NFC", entry.strip())) for entry in entries if entry.strip())


@dataclass
class Table:
    """The word lists of one language, made ready for looking up.

    words: by spelling; sounds: by sound, of the words for which other spellings are taken; phrases: by the sounds of
    their words; longest: by the first of these sounds, how many words the longest phrase has
    """

    words: dict[str, Entry] = field(default_factory=dict)
    sounds: dict[str, Entry] = field(default_factory=dict)
    phrases: dict[tuple[str, ...], Entry] = field(default_factory=dict)
    longest: dict[str, int] = field(default_factory=dict)

    @classmethod
    def of(cls, lists: WordLists, sounds: "Sounds") -> "Table":
        """Sort the entries of all lists into words and phrases."""
        table = cls()
        parts_of_phrases: dict[str, None] = {}
        for tolerant, concepts in ((True, lists.words), (False, lists.exact)):
            for concept, listed in concepts.items():
                mask = bit(concept)
                for phrase in listed:
                    parts = split_words(phrase, lists.letter_digits)
                    if len(parts) > 1:
                        table._phrase(parts, sounds).mask |= mask
                        parts_of_phrases.update(dict.fromkeys(parts))
                    elif parts:
                        table.words.setdefault(parts[0], Entry()).mask |= mask
                        key = sounds.key(parts[0])
                        if tolerant and len(key) >= SHORTEST_SOUND:
                            table.sounds.setdefault(key, Entry()).mask |= mask
        only_before_unit = set(lists.number_only_before_unit)
        for name, values in lists.numbers.items():
            for word, value in values.items():
                parts = split_words(word, lists.letter_digits)
                parts_of_phrases.update(dict.fromkeys(parts if len(parts) > 1 else ()))
                entry = table._phrase(parts, sounds) if len(parts) > 1 else table.words.setdefault(parts[0], Entry())
                entry.number = NumberWord(name, value, word in only_before_unit)
        for concept, listed in lists.duals.items():
            for word in listed:
                key = split_words(word, lists.letter_digits)[0]
                table.words[key] = table.sounds[sounds.key(key)] = Entry(bit(concept), NumberWord(DUAL, 2.0, False))
        for part in parts_of_phrases:  # spelt right, though they mean nothing alone: not to be taken for slips
            table.words.setdefault(part, Entry())
            table.sounds.setdefault(sounds.key(part), Entry())
        return table

    def _phrase(self, parts: Sequence[str], sounds: "Sounds") -> Entry:
        key = tuple(sounds.key(part) for part in parts)
        self.longest[key[0]] = max(self.longest.get(key[0], 0), len(key))
        return self.phrases.setdefault(key, Entry())


class Index:
    """The index as it is made: named sections of text and numbers, and a head that says what is where.

    A section is columns of strings; where each string of the first has a meaning, so many numbers of entries.
    """

    def __init__(self) -> None:
        self._entries: dict[tuple[int, NumberWord | None], int] = {}
        self._sections: dict[str, tuple[bytes, bytes]] = {}

    def add(self, name: str, *columns: Iterable[str], entries: Iterable[Entry] = ()) -> None:
        """Add a section. Raises ValueError for a string with a mark in it that parts strings."""
        listed = [list(column) for column in columns]
        for key in chain(*listed):
            if "\n" in key or "\0" in key:
                raise ValueError(f"{name}: {key!r}")
        numbers = np.asarray([self._entry(entry) for entry in entries], "<u2")
        text = "\0".join("\n".join(column) for column in listed)
        self._sections[name] = text.encode(), numbers.tobytes()

    def _entry(self, entry: Entry) -> int:
        return self._entries.setdefault((entry.mask, entry.number), len(self._entries))

    def packed(self, made_from: str, about: Mapping[str, Any]) -> bytes:
        """The bytes: one line that names what it was made from, one line of JSON about all else, the sections."""
        meanings = [(CONCEPTS.names(mask), number) for mask, number in self._entries]
        names = sorted({concept for concepts, _ in meanings for concept in concepts})
        places = {name: place for place, name in enumerate(names)}
        entries = [
            [
                sorted(places[concept] for concept in concepts),
                number and [number.table, number.value, number.only_before_unit],
            ]
            for concepts, number in meanings
        ]
        sections, at = {}, 0
        for name, (text, numbers) in self._sections.items():
            sections[name] = [at, len(text), len(numbers)]
            at += len(text) + len(numbers)
        head = {**about, "concepts": names, "entries": entries, "sections": sections}
        lines = [json.dumps(each, ensure_ascii=False).encode() for each in ({"made_from": made_from}, head)]
        return b"\n".join([*lines, b"".join(chain.from_iterable(self._sections.values()))])


def packed(lists: Mapping[str, WordLists], made_from: str) -> bytes:
    """The bytes of the index: for each language, what growers who have set it use first, and all the other words.

    Only the sounds of the languages that its growers use count in a language: what sounds alike in one does not in
    another. Languages that hear the same make one group.
    """
    index = Index()
    about: dict[str, Any] = {"languages": {}, "sounds": {}}
    for tag, own in lists.items():
        _add_words(index, tag, Table.of(own, _NO_SOUNDS))
    _add_edges(index, "", (word for word in _guessable(lists, lists) if not word.isascii()))
    for tag, own in lists.items():
        near = [tag, *(name for name in own.reads if name in lists)]
        heard = sorted(near)
        if not any(tag in lists[other].reads for other in near):  # its own sounds before those of others
            heard = [tag, *(other for other in heard if other != tag)]
        group = " ".join(heard)
        if group not in about["sounds"]:
            pairs = list(dict.fromkeys(pair for name in heard for pair in lists[name].sounds))
            about["sounds"][group] = pairs
            sounds = Sounds(pairs)
            for name in heard:
                _add_sounds(index, f"{group}/{name}", Table.of(lists[name], sounds))
            guessable = [word for word in _guessable(lists, heard) if word.isascii()]
            _add_edges(index, group, guessable)
            _add_bones(index, group, guessable)
        about["languages"][tag] = {
            "near": near,
            "group": group,
            "letter_digits": own.letter_digits,
            "joined": own.joined,
            "affixes": [[concept, pair] for concept, pairs in own.affixes.items() for pair in pairs],
            "decimal_comma": own.decimal_comma,
            "endings": sorted(set(chain.from_iterable(lists[name].endings for name in near))),
            "beginnings": sorted(set(chain.from_iterable(lists[name].beginnings for name in near))),
            "keywords": _keywords(lists, near),
        }
    return index.packed(made_from, about)


def _add_words(index: Index, tag: str, table: Table) -> None:
    """The words of a language, and its phrases as they are heard in languages whose growers do not use it.

    Of those only phrases in a script of their own count: words in Latin letters would be mistaken for words of the
    grower's (Spanish "no me" for "number, in").
    """
    for kind, wanted in (("latin words", True), ("words", False)):
        listed = {word: entry for word, entry in table.words.items() if word.isascii() == wanted}
        meaning = {word: entry for word, entry in listed.items() if entry.mask or entry.number}
        index.add(f"{tag}/{kind}", meaning, entries=meaning.values())
        index.add(f"{tag}/blank {kind}", (word for word in listed if word not in meaning))
    _add_phrases(index, tag, {key: entry for key, entry in table.phrases.items() if not key[0].isascii()})


def _add_sounds(index: Index, name: str, table: Table) -> None:
    meaning = {sound: entry for sound, entry in table.sounds.items() if entry.mask}
    index.add(f"{name}/sounds", meaning, entries=meaning.values())
    index.add(f"{name}/blank sounds", (sound for sound in table.sounds if sound not in meaning))
    _add_phrases(index, name, table.phrases)


def _add_phrases(index: Index, name: str, phrases: Mapping[tuple[str, ...], Entry]) -> None:
    """Phrases, and by the length of the longest phrase that begins with them, from two, the sounds they begin with."""
    if any(" " in sound for key in phrases for sound in key):
        raise ValueError(f"{name}: a space within a word")
    index.add(f"{name}/phrases", (" ".join(key) for key in phrases), entries=phrases.values())
    longest: dict[str, int] = {}
    for key in phrases:
        longest[key[0]] = max(longest.get(key[0], 0), len(key))
    lengths = range(2, max(longest.values(), default=1) + 1)
    index.add(f"{name}/firsts", *([first for first, most in longest.items() if most == length] for length in lengths))


def _guessable(lists: Mapping[str, WordLists], near: Iterable[str]) -> dict[str, None]:
    """Words for which others are taken that are spelt nearly so: of `[words]` and of units; those of one word.

    Numbers, products and stop words are never guessed at.
    """
    return dict.fromkeys(
        word
        for name in lists
        if name in near
        for listed in (*lists[name].words.values(), *(lists[name].exact.get(unit, ()) for unit in UNITS))
        for word in listed
        if " " not in word and "." not in word
    )


def _add_edges(index: Index, group: str, words: Iterable[str]) -> None:
    """Words by what one slip leaves whole of them."""
    by_edge: dict[str, list[str]] = {}
    for word in words:
        if len(word) >= SHORTEST_SWAP:
            for edge in edges(word, len(word)):
                by_edge.setdefault(edge, []).append(word)
    index.add(f"{group}/edges", by_edge, map(" ".join, by_edge.values()))


def _add_bones(index: Index, group: str, words: Iterable[str]) -> None:
    """Words by their consonants."""
    by_consonants: dict[str, list[str]] = {}
    for word in words:
        if word.isalpha() and len(word) >= 3:
            by_consonants.setdefault(consonants(word), []).append(word)
    index.add(f"{group}/consonants", by_consonants, map(" ".join, by_consonants.values()))


def _keywords(lists: Mapping[str, WordLists], near: Sequence[str]) -> dict[str, str]:
    """Whole texts that are commands, by their words joined with one space; the grower's own language first."""
    keywords: dict[str, str] = {}
    for name in [*near, *(name for name in lists if name not in near)]:
        for task, listed in lists[name].keywords.items():
            for phrase in listed:
                keywords.setdefault(" ".join(split_words(phrase, lists[name].letter_digits)), task)
    return keywords
