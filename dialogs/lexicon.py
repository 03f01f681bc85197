"""Words to concepts: what each word or phrase of the word lists means, and which word a misspelt one was meant to be.

A concept is a plain name ("rain", "yesterday", "litre"); the concepts of a text are the bits of one integer.
"""

import re
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from types import MappingProxyType
from typing import Any

from dialogs.devanagari import is_devanagari, romanised

# A word needs this many letters before another one letter away from it is taken for a misspelling of it.
SHORTEST_TYPO = 5
SHORTEST_SWAP = 4
# Words of [exact] that may be misspelt all the same: what is measured is a number, its unit only names it; and ethephon
# is spelt as it is heard (ethion, which is another thing, is listed).
UNITS = (
    "mm cm inch litre millilitre gram kilo quintal tonne acre hectare guntha feet metre hour minute percent ppm plant "
    "lang_en lang_hi lang_mr lang_kn lang_es lang_ar ethephon"
).split()
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
_NUMBER_TABLES = ("numbers", "multipliers", "ordinals", "fractions", "plus_before", "minus_before", "plus_after")
DUAL = "dual"


def plain(word: str) -> str:
    """Lower case without accents, each Arabic letter in one form: how words are listed and looked up."""
    word = word.lower()
    if word.isascii():
        return word
    return unicodedata.normalize("NFC", unicodedata.normalize("NFD", word).translate(_ACCENTS))


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

    def take(self, other: "Table", script_of_its_own: bool) -> None:
        """Add what another language has and this one has not.

        script_of_its_own: take only words in a script of their own; words in Latin letters would be mistaken for words
        of the grower's (Spanish "no me" for "number, in")
        """
        for word, entry in other.words.items():
            if script_of_its_own and word.isascii():
                continue
            present = self.words.get(word)
            if present is None or not (present.mask or present.number):
                self.words[word] = entry
        if script_of_its_own:
            fresh = {key: entry for key, entry in other.phrases.items() if not key[0].isascii()}
        else:
            fresh = other.phrases
            own = {key: entry for key, entry in self.sounds.items() if entry.mask or key not in other.sounds}
            self.sounds = {**other.sounds, **own}
        self.phrases = {**fresh, **self.phrases}
        for first, length in other.longest.items():
            if length > self.longest.get(first, 0):
                self.longest[first] = length


class Lexicon:
    """All words a grower of one language may use, looked up exactly, by sound, by stem and by near spelling."""

    def __init__(
        self,
        tag: str,
        lists: Mapping[str, WordLists],
        tables: Mapping[str, Table],
        sounds: "Sounds",
        typos: "Typos",
    ) -> None:
        own = lists[tag]
        near = [tag, *(name for name in own.reads if name in lists)]
        self.tag = tag
        self.letter_digits = own.letter_digits
        self.joined = own.joined
        self._affixes = tuple((bit(concept), pair) for concept, pairs in own.affixes.items() for pair in pairs)
        self.decimal_comma = own.decimal_comma
        self._sounds = sounds
        self._typos = typos
        table = Table()
        for name in near:
            table.take(tables[name], script_of_its_own=False)
        for name in tables:
            if name not in near:
                table.take(tables[name], script_of_its_own=True)
        self._exact = table.words
        self._sound = table.sounds
        self._phrases = table.phrases
        self._longest = table.longest
        self.keywords = _keywords(lists, near)
        self._endings = tuple(sorted({e for name in near for e in lists[name].endings}, key=len, reverse=True))
        self._beginnings = tuple(sorted({e for name in near for e in lists[name].beginnings}, key=len, reverse=True))
        self.resolve = lru_cache(maxsize=20_000)(self._resolve)

    def phrase(self, sounds: Sequence[str], at: int) -> tuple[int, Entry | None]:
        """The longest phrase that starts at a place in the sounds of a text, and how many words it has."""
        longest = self._longest.get(sounds[at], 0)
        for length in range(min(longest, len(sounds) - at), 1, -1):
            entry = self._phrases.get(tuple(sounds[at : at + length]))
            if entry is not None:
                return length, entry
        return 1, None

    def sound(self, word: str) -> str:
        """The key under which spellings of one spoken word meet."""
        return self._sounds.key(word)

    def known(self, word: str) -> Entry | None:
        """The entry of a word spelt exactly as listed."""
        return self._exact.get(word)

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
        """What is left of a word without one of the listed endings or beginnings."""
        for ending in self._endings:
            if word.endswith(ending) and len(word) - len(ending) >= 3:
                yield word[: -len(ending)]
        for beginning in self._beginnings:
            if word.startswith(beginning) and len(word) - len(beginning) >= 3:
                yield word[len(beginning) :]


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


_NO_SOUNDS = Sounds(())


class Typos:
    """Listed words by their two first and by their two last letters: one slip leaves one of these pairs whole.

    Words of `[words]` and of units are in it; numbers, products and stop words are never guessed at.
    """

    def __init__(self, words: Iterable[str]) -> None:
        self._by_edge: dict[tuple[str, int], list[str]] = {}
        self._by_consonants: dict[str, list[str]] = {}
        for word in words:
            if len(word) >= SHORTEST_SWAP:
                self._by_edge.setdefault((word[:2], len(word)), []).append(word)
                self._by_edge.setdefault((word[-2:] + " ", len(word)), []).append(word)
            if len(word) == SHORTEST_SWAP:  # two letters swapped in its middle leave neither pair whole
                self._by_edge.setdefault((word[0] + word[-1] + " ", len(word)), []).append(word)
            if word.isascii() and word.isalpha() and len(word) >= 3:
                self._by_consonants.setdefault(_consonants(word), []).append(word)

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
        edges = (word[:2], word[-2:] + " ", *([word[0] + word[-1] + " "] if len(word) == SHORTEST_SWAP else []))
        for edge in edges:
            for length in range(len(word) - 1, len(word) + 2):
                for candidate in self._by_edge.get((edge, length), ()):
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
        skeleton = _consonants(word)
        short = len(skeleton) < 3
        if len(skeleton) < 2 or (short and word[-1] not in _VOWELS):
            return None
        shortest, nearest = LONGEST_WORD, list[str]()
        for candidate in self._by_consonants.get(skeleton, ()):
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


def _consonants(word: str) -> str:
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


def _keywords(lists: Mapping[str, WordLists], near: Sequence[str]) -> dict[str, str]:
    """Whole texts that are commands, by their words joined with one space; the grower's own language first."""
    keywords: dict[str, str] = {}
    for name in [*near, *(name for name in lists if name not in near)]:
        for task, listed in lists[name].keywords.items():
            for phrase in listed:
                keywords.setdefault(" ".join(split_words(phrase, lists[name].letter_digits)), task)
    return keywords


class Lexicons:
    """The lexicon of each language, made when it is first asked for.

    Only the sounds of the languages that its growers use count in a lexicon: what sounds alike in one language does
    not in another.
    """

    def __init__(self, lists: Mapping[str, WordLists]) -> None:
        self._lists = lists
        self._sounds: dict[tuple[str, ...], Sounds] = {}
        self._tables: dict[tuple[str, Sounds], Table] = {}
        self._lexicons: dict[str, Lexicon] = {}
        self._typos: dict[frozenset[str], Typos] = {}
        self._spelt: dict[str, frozenset[str]] = {}

    @property
    def tags(self) -> tuple[str, ...]:
        """The languages."""
        return tuple(self._lists)

    def reads(self, tag: str) -> tuple[str, ...]:
        """The languages whose words a language's growers mix in: its own lists hold many of them."""
        return self._lists[tag].reads

    def spelt(self, tag: str) -> frozenset[str]:
        """Every word that a language's own lists hold, alone or in a phrase."""
        if tag not in self._spelt:
            lists = self._lists[tag]
            listed = (phrase for table in (lists.words, lists.exact, lists.keywords) for each in table.values()
                      for phrase in each)  # fmt: skip
            numbers = (word for table in lists.numbers.values() for word in table)
            self._spelt[tag] = frozenset(
                part
                for phrase in (*listed, *numbers)
                for part in split_words(phrase, lists.letter_digits)
                if not part.isdigit()
            )
        return self._spelt[tag]

    def knows(self, tag: str, word: str) -> bool:
        """Whether a language's own lists hold a plain word, spelt so."""
        return spelt(word, self._lists[tag].letter_digits) in self.spelt(tag)

    def of(self, tag: str) -> Lexicon:
        """The lexicon for growers of a language."""
        if tag not in self._lexicons:
            near = sorted({tag, *self._lists[tag].reads} & self._lists.keys())
            if not any(tag in self._lists[other].reads for other in near):  # its own sounds before those of others
                near = [tag, *(other for other in near if other != tag)]
            sounds = self._sounds.setdefault(
                tuple(near), Sounds(dict.fromkeys(pair for name in near for pair in self._lists[name].sounds))
            )
            tables = {name: self._table(name, sounds if name in near else _NO_SOUNDS) for name in self._lists}
            self._lexicons[tag] = Lexicon(tag, self._lists, tables, sounds, self._typos_of(frozenset(near)))
        return self._lexicons[tag]

    def _typos_of(self, near: frozenset[str]) -> "Typos":
        if near not in self._typos:
            self._typos[near] = Typos(
                dict.fromkeys(
                    word
                    for name, each in self._lists.items()
                    for listed in (*each.words.values(), *(each.exact.get(unit, ()) for unit in UNITS))
                    for word in listed
                    if " " not in word and "." not in word and (name in near or not word.isascii())
                )
            )
        return self._typos[near]

    def _table(self, tag: str, sounds: "Sounds") -> Table:
        if (tag, sounds) not in self._tables:
            self._tables[tag, sounds] = Table.of(self._lists[tag], sounds)
        return self._tables[tag, sounds]
