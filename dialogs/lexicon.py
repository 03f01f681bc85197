"""Words to concepts: what each word or phrase of the word lists means, and which word a misspelt one was meant to be.

A concept is a plain name ("rain", "yesterday", "litre"); the concepts of a text are the bits of one integer.
"""

import json
import re
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from itertools import zip_longest
from types import MappingProxyType
from typing import Any

import numpy as np

from dialogs.devanagari import is_devanagari, romanised

# A word needs this many letters before another one letter away from it is taken for a misspelling of it.
SHORTEST_TYPO = 5
SHORTEST_SWAP = 4
LONGEST_WORD = 40
MOST_KEPT = 50_000
SHORTEST_SOUND = 3  # shorter words that sound alike are too many

_ACCENTS: dict[int, str | None] = {code: None for code in range(0x0300, 0x0370)}
# Arabic: short vowels, and letters written for one another (alef with and without signs, final ya, ta marbuta).
_ACCENTS.update(dict.fromkeys((*range(0x064B, 0x0660), 0x0670)))
_ACCENTS.update(
    {0x0671: "\u0627", 0x0649: "\u064a", 0x06CC: "\u064a", 0x0629: "\u0647", 0x06A9: "\u0643", 0x06A4: "\u0641"}
)
_PARTS = re.compile(r"\d+|[^\W\d]\S*?(?=\d|\s|$)|[^\s\d]+")
_DOUBLED = re.compile(r"(.)\1+")
_DOUBLED_CONSONANT = re.compile(r"([^aeiou\d])\1+")
DUAL = "dual"


def plain(word: str) -> str:
    """Lower case without accents, each Arabic letter in one form: how words are listed and looked up."""
    word = word.lower()
    if word.isascii():
        return word
    return unicodedata.normalize("NFC", unicodedata.normalize("NFD", word).translate(_ACCENTS))


class Concepts:
    """The names of all concepts in use and the bit of each."""

    def __init__(self) -> None:
        self._bits: dict[str, int] = {}

    def bit(self, name: str) -> int:
        """The bit of a concept, given out at first use."""
        return self._bits.setdefault(name, 1 << len(self._bits))

    def names(self, mask: int) -> list[str]:
        """The names in a mask, for explanations."""
        return [name for name, bit in self._bits.items() if mask & bit]


CONCEPTS = Concepts()
bit = CONCEPTS.bit


@dataclass(frozen=True)
class NumberWord:
    """What a word does in a number: its table ("numbers", "multipliers" ...) and value."""

    table: str
    value: float
    only_before_unit: bool


@dataclass
class Entry:
    """What one word or phrase means."""

    mask: int = 0
    number: NumberWord | None = None


class Index:
    """The word lists of all languages as `python -m locales.compile` leaves them (`locales/word_lists.py`).

    One line names what it was made from, one of JSON says what is where; then sections: columns of strings, and where
    each string has a meaning the numbers of its entries. A section is read when it is first asked for.
    """

    def __init__(self, packed: bytes) -> None:
        _, head, self._body = packed.split(b"\n", 2)
        about: dict[str, Any] = json.loads(head)
        self.languages: Mapping[str, Mapping[str, Any]] = about["languages"]
        self.sounds = {group: Sounds([(old, new) for old, new in pairs]) for group, pairs in about["sounds"].items()}
        self._sections: Mapping[str, tuple[int, int, int]] = about["sections"]
        bits = [bit(name) for name in about["concepts"]]
        self._entries = [
            Entry(sum(bits[place] for place in places), NumberWord(*number) if number else None)
            for places, number in about["entries"]
        ]
        self._columns: dict[str, list[list[str]]] = {}
        self._meanings: dict[str, list[Entry]] = {}

    def columns(self, name: str) -> list[list[str]]:
        """The strings of a section."""
        columns = self._columns.get(name)
        if columns is None:
            start, length, _ = self._sections[name]
            text = self._body[start : start + length].decode()
            columns = self._columns[name] = [column.split("\n") if column else [] for column in text.split("\0")]
        return columns

    def meanings(self, name: str) -> Iterable[tuple[str, Entry]]:
        """The strings of a section, each with its entry."""
        entries = self._meanings.get(name)
        if entries is None:
            start, length, size = self._sections[name]
            numbers = np.frombuffer(self._body, "<u2", size // 2, start + length)
            entries = self._meanings[name] = [self._entries[number] for number in numbers.tolist()]
        return zip(self.columns(name)[0], entries, strict=True)


_BLANK = Entry()


class Lexicon:
    """All words a grower of one language may use, looked up exactly, by sound, by stem and by near spelling.

    Of the languages whose words he also uses all words and sounds count, of others the words in a script of their own;
    where two say different things of a word, the nearer language is believed.
    """

    def __init__(self, tag: str, index: Index) -> None:
        own = index.languages[tag]
        near, group = own["near"], own["group"]
        far = [name for name in index.languages if name not in near]
        heard = [f"{group}/{name}" for name in near]
        self.tag = tag
        self.letter_digits: Mapping[str, str] = own["letter_digits"]
        self.joined: Sequence[str] = own["joined"]
        self.decimal_comma: bool = own["decimal_comma"]
        self.keywords: Mapping[str, str] = own["keywords"]
        self._endings = _by_length(own["endings"])
        self._beginnings = _by_length(own["beginnings"])
        self._affixes = tuple((bit(concept), (before, after)) for concept, (before, after) in own["affixes"])
        self._sounds = index.sounds[group]
        self._typos = Typos(index, group)
        kinds = ("words", "latin words")
        self._exact = _merged(
            index,
            [f"{name}/{kind}" for name in near for kind in kinds] + [f"{name}/words" for name in far],
            [f"{name}/blank {kind}" for name in near for kind in kinds] + [f"{name}/blank words" for name in far],
        )
        self._sound = _merged(index, [f"{name}/sounds" for name in heard], [f"{name}/blank sounds" for name in heard])
        self._phrases = _merged(index, [f"{name}/phrases" for name in (*heard, *far)], ())
        self._longest: dict[str, int] = {}
        firsts = [index.columns(f"{name}/firsts") for name in (*heard, *far)]
        for length, columns in enumerate(zip_longest(*firsts, fillvalue=()), 2):
            for column in columns:
                self._longest.update(dict.fromkeys(column, length))
        self.known = self._exact.get  # the entry of a word spelt exactly as listed, or None
        self.resolve = lru_cache(maxsize=20_000)(self._resolve)

    def phrase(self, sounds: Sequence[str], at: int) -> tuple[int, Entry | None]:
        """The longest phrase that starts at a place in the sounds of a text, and how many words it has."""
        longest = self._longest.get(sounds[at], 0)
        for length in range(min(longest, len(sounds) - at), 1, -1):
            entry = self._phrases.get(" ".join(sounds[at : at + length]))
            if entry is not None:
                return length, entry
        return 1, None

    def sound(self, word: str) -> str:
        """The key under which spellings of one spoken word meet."""
        return self._sounds.key(word)

    def _resolve(self, word: str) -> tuple[Entry | None, str]:
        """What a word means, and the sound of the listed word it was taken for."""
        word = word[:LONGEST_WORD]
        key = self.sound(word)
        entry = self._exact.get(word)
        if entry is not None:
            return (entry if entry.mask or entry.number else self._alone(word) or entry), key
        if len(word) >= SHORTEST_SOUND and len(key) >= SHORTEST_SOUND:
            entry = self._sound.get(key)
            if entry is not None:
                return (entry if entry.mask or entry.number else self._alone(word) or entry), key
        for once in (_DOUBLED_CONSONANT.sub(r"\1", word), _DOUBLED.sub(r"\1", word)):
            entry = self._exact.get(once) if once != word else None
            if entry is not None and len(once) >= 3:
                return entry, self.sound(once)
        if _split_known(word, self._exact):
            return None, key  # two words run together: the tokeniser parts them
        for stem in self.stems(word):
            entry = self._exact.get(stem) or self._sound.get(self.sound(stem))
            if entry is not None:
                return entry, self.sound(stem)
        affixed = self._affixed(word)
        if affixed is not None:
            return affixed, key
        if is_devanagari(word):
            latin = romanised(word)
            entry = self._exact.get(latin)
            if entry is not None and len(latin) >= SHORTEST_SOUND:
                return entry, key
            meant = self._typos.meant(word, self._exact)
            if meant is None and latin:
                meant = self._typos.meant(latin, self._exact)
        else:
            meant = self._typos.meant(word, self._exact)
        if meant is not None:
            return self._exact[meant], self.sound(meant)
        return None, key

    def _alone(self, word: str) -> Entry | None:
        """What a word of a phrase means when it stands alone: that of the word without its article or case ending."""
        for stem in self.stems(word):
            entry = self._exact.get(stem)
            if entry is not None and (entry.mask or entry.number):
                return entry
        return None

    def _affixed(self, word: str) -> Entry | None:
        """A listed word between letters that say more of it: that it is not so ("ma...sh"), or is to come ("ha...")."""
        for mask, (before, after) in self._affixes:
            inner = word[len(before) : len(word) - len(after)]
            if len(inner) >= 3 and word.startswith(before) and word.endswith(after):
                for stem in (inner, *self.stems(inner)):
                    entry = self._exact.get(stem) or self._sound.get(self.sound(stem))
                    if entry is not None and entry.mask:
                        return Entry(entry.mask | mask)
        return None

    def parted(self, word: str) -> tuple[str, str] | None:
        """A particle and the word it is written together with ("wa" and a listed word), where the whole is no word."""
        if self._exact.get(word) is None:
            for particle in self.joined:
                rest = word[len(particle) :]
                if word.startswith(particle) and len(rest) >= 2:
                    found = (self._exact.get(stem) for stem in (rest, *self.stems(rest)))
                    if any(entry is not None and (entry.mask or entry.number) for entry in found):
                        return particle, rest
        return None

    def stems(self, word: str) -> Iterable[str]:
        """A word without its ending, the longest first, then without its beginning; three letters must be left."""
        for length, endings in self._endings:
            if len(word) - length >= 3 and word[-length:] in endings:
                yield word[:-length]
        for length, beginnings in self._beginnings:
            if len(word) - length >= 3 and word[:length] in beginnings:
                yield word[length:]


def _by_length(affixes: Sequence[str]) -> list[tuple[int, frozenset[str]]]:
    """Affixes of one length together, the longest first."""
    lengths = sorted({len(affix) for affix in affixes}, reverse=True)
    return [(length, frozenset(affix for affix in affixes if len(affix) == length)) for length in lengths]


def _split_known(word: str, known: Mapping[str, Entry]) -> bool:
    """Whether a word is two listed ones run together, one of four letters or more."""
    if len(word) < 6:
        return False
    for at in range(2, len(word) - 1):
        if max(at, len(word) - at) >= 4:
            left, right = known.get(word[:at]), known.get(word[at:])
            if left and right and (left.mask or left.number) and (right.mask or right.number):
                return True
    return False


def split_words(phrase: str, letter_digits: Mapping[str, str] = MappingProxyType({})) -> list[str]:
    """The words of a listed phrase, as the tokeniser would part them; "2day" is one word."""
    words = phrase.replace(".", " ").replace("'", "").replace("-", " ").split()
    if letter_digits:
        words = [spelt(word, letter_digits) for word in words]
    if len(words) == 1 and words[0].isalnum() and not words[0].isdigit():
        return words
    return [part for word in words for part in _PARTS.findall(word)]


def spelt(word: str, letter_digits: Mapping[str, str]) -> str:
    """A word with digits for sounds ("2et3a"), with a capital for each such digit; other words as they are."""
    if not letter_digits or word.isalpha() or not any(char.isalpha() for char in word):
        return word
    if any(char.isdigit() and char not in letter_digits for char in word):
        return word
    return "".join(letter_digits.get(char, char) for char in word)


class Sounds:
    """How spellings of one spoken word meet: replacements by which words that sound alike get one key.

    pairs: [from, to], replaced in turn; "^" before a spelling means at the beginning of a word only, "=" the whole word
    """

    def __init__(self, pairs: Iterable[tuple[str, str]]) -> None:
        self._whole: dict[str, str] = {}
        for old, new in pairs:
            if old[0] == "=":
                self._whole.setdefault(old[1:], new)
        self._parts = tuple((old, new) for old, new in pairs if old[0] != "=")
        self._keys: dict[str, str] = {}

    def __bool__(self) -> bool:
        return bool(self._parts)

    def key(self, word: str) -> str:
        """The key of a word; doubled letters count once, Devanagari sounds like its spelling in Latin letters."""
        key = self._keys.get(word)
        if key is None:
            key = word if word.isdigit() else self._made(word)
            if len(self._keys) < MOST_KEPT:
                self._keys[word] = key
        return key

    def _made(self, word: str) -> str:
        if self and is_devanagari(word):
            word = romanised(word)
        word = _DOUBLED_CONSONANT.sub(r"\1", self._whole.get(word, word))
        for old, new in self._parts:
            if old[0] == "^":  # at the beginning of a word of which enough is left
                if word.startswith(old[1:]) and len(word) >= len(old) + 2:
                    word = new + word[len(old) - 1 :]
            elif old in word:
                word = word.replace(old, new)
        return _DOUBLED.sub(r"\1", word)


def _merged(index: Index, sections: Sequence[str], blanks: Sequence[str]) -> dict[str, Entry]:
    """What each string of some sections means; the first section that has it is believed.

    blanks: sections of words that mean nothing alone, but are spelt right
    """
    found: dict[str, Entry] = {}
    for name in blanks:
        found.update(dict.fromkeys(index.columns(name)[0], _BLANK))
    for name in reversed(sections):
        found.update(index.meanings(name))
    return found


def _listed(index: Index, name: str) -> dict[str, str]:
    keys, words = index.columns(name)
    return dict(zip(keys, words, strict=True))


class Typos:
    """Listed words by their first and by their last letters: one slip leaves one or the other whole.

    Words in Latin letters are those that growers of a group of languages use, words in other scripts those of all
    languages; of the former it is also known which consonants they have.
    """

    def __init__(self, index: Index, group: str) -> None:
        self._index = index
        self._group = group

    @cached_property
    def _latin(self) -> dict[str, str]:
        return _listed(self._index, f"{self._group}/edges")

    @cached_property
    def _others(self) -> dict[str, str]:
        return _listed(self._index, "/edges")

    @cached_property
    def _consonants(self) -> dict[str, str]:
        return _listed(self._index, f"{self._group}/consonants")

    def meant(self, word: str, known: Mapping[str, Entry]) -> str | None:
        """The one listed word at one slip from this one, if there is one: letters swapped, left out, put in or changed.

        A word from which only vowels were dropped may stand for the listed word with its consonants.
        """
        if word.isascii():
            full = self._full(word, known)
            if full is not None:
                return full
        if not SHORTEST_SWAP <= len(word) <= LONGEST_WORD // 2:
            return None
        least, nearest = 9, list[str]()
        for length in range(max(len(word) - 1, SHORTEST_SWAP), len(word) + 2):
            for edge in edges(word, length):
                by_edge = self._latin if edge.isascii() else self._others
                for candidate in by_edge.get(edge, "").split():
                    cost = _slip(word, candidate)
                    if cost > least or cost == 9 or candidate not in known or candidate in nearest:
                        continue
                    if cost < least:
                        least, nearest = cost, [candidate]
                    else:
                        nearest.append(candidate)
        return _agreed(nearest, known)

    def _full(self, word: str, known: Mapping[str, Entry]) -> str | None:
        """The one listed word that this one is short for: the same consonants, some vowels left out."""
        if len(word) < 3:
            return None
        skeleton = consonants(word)
        short = len(skeleton) < 3
        if len(skeleton) < 2 or (short and word[-1] not in _VOWELS):
            return None
        shortest, nearest = LONGEST_WORD, list[str]()
        for candidate in self._consonants.get(skeleton, "").split():
            if candidate not in known or (short and candidate[-1] != word[-1]) or not _within(word, candidate):
                continue
            if len(candidate) < shortest:
                shortest, nearest = len(candidate), [candidate]
            elif len(candidate) == shortest:
                nearest.append(candidate)
        return _agreed(nearest, known)


def _within(word: str, longer: str) -> bool:
    """Whether the letters of a word stand in a longer one in this order; a doubled letter counts once."""
    rest = iter(longer)
    return all(letter in rest for letter in _DOUBLED.sub(r"\1", word))


def _agreed(candidates: Sequence[str], known: Mapping[str, Entry]) -> str | None:
    """The first of some words if they have a meaning in common."""
    shared = -1
    for candidate in candidates:
        shared &= known[candidate].mask
    return candidates[0] if candidates and shared else None


_VOWELS = frozenset("aeiou")
_VOWEL = re.compile("[aeiou]")


def edges(word: str, length: int) -> list[str]:
    """Where a listed word of so many letters stands, told from itself or from a slip of it.

    One slip leaves its first letters whole or its last, of four letters perhaps only the first and the last.
    """
    whole = min(4, max(2, (length - 1) // 2))
    found = [f"{length}{word[:whole]}", f"{word[-whole:]}{length}"]
    if len(word) == length == SHORTEST_SWAP:
        found.append(f"{word[0]}{length}{word[-1]}")
    return found


def consonants(word: str) -> str:
    """The letters of a word without its vowels but the first; doubled ones count once."""
    return _DOUBLED.sub(r"\1", word[0] + _VOWEL.sub("", word[1:]))


def _slip(typed: str, listed: str) -> int:
    """How far one word is from the other: 1 two letters swapped, 2 one left out or put in, 3 one changed, 9 more.

    A first letter is not mistyped in a short word, and only a swap is believed in a word of four letters.
    """
    if typed[0] != listed[0] and len(listed) < 8:
        return 9
    short = min(len(typed), len(listed)) < SHORTEST_TYPO
    at = 0
    for one, other in zip(typed, listed, strict=False):
        if one != other:
            break
        at += 1
    if len(typed) == len(listed):
        if typed[at + 1 :] == listed[at + 1 :]:
            return 9 if short or at == len(typed) else 3
        swapped = typed[at + 1] + typed[at]
        return 1 if listed[at : at + 2] == swapped and typed[at + 2 :] == listed[at + 2 :] else 9
    if short:
        return 9
    if len(typed) < len(listed):
        return 2 if typed[at:] == listed[at + 1 :] else 9
    return 2 if typed[at + 1 :] == listed[at:] else 9


class Lexicons:
    """The lexicon of each language, made when it is first asked for."""

    def __init__(self, packed: bytes) -> None:
        self._index = Index(packed)
        self._lexicons: dict[str, Lexicon] = {}
        self._spelt: dict[str, frozenset[str]] = {}

    @property
    def tags(self) -> tuple[str, ...]:
        """The languages."""
        return tuple(self._index.languages)

    def reads(self, tag: str) -> tuple[str, ...]:
        """The languages whose words a language's growers mix in: its own lists hold many of them."""
        near: list[str] = self._index.languages[tag]["near"]
        return tuple(near[1:])

    def spelt(self, tag: str) -> frozenset[str]:
        """Every word that a language's own lists hold, alone or in a phrase."""
        if tag not in self._spelt:
            kinds = ("latin words", "words", "blank latin words", "blank words")
            listed = (word for kind in kinds for word in self._index.columns(f"{tag}/{kind}")[0])
            self._spelt[tag] = frozenset(word for word in listed if not word.isdigit())
        return self._spelt[tag]

    def knows(self, tag: str, word: str) -> bool:
        """Whether a language's own lists hold a plain word, spelt so."""
        return spelt(word, self._index.languages[tag]["letter_digits"]) in self.spelt(tag)

    def of(self, tag: str) -> Lexicon:
        """The lexicon for growers of a language."""
        if tag not in self._lexicons:
            self._lexicons[tag] = Lexicon(tag, self._index)
        return self._lexicons[tag]
