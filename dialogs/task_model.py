"""How likely each task is, told from the letters of a text, what was asked for and the concepts found in it.

A linear model (multinomial logistic regression) that stands beside the rules of `tasks.toml`: rules know what they
were told, the model what texts of a task look like. Features: words and runs of letters, hashed; each word's
consonants, by which spellings, scripts and vowel-less writing meet; the concepts, alone, by two, and with the slot
asked for; that slot.
The weights are made by `python -m locales.train`.
"""

import json
import math
import re
import unicodedata
import zlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property, lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from dialogs.lexicon import CONCEPTS, bit

BUCKETS = 1 << 15
LONGEST_READ = 480  # characters; what follows changes no task
MOST_WORDS = 60
LONGEST_WORD = 24
LENGTHS = 8  # a text of more words is as long as one of so many
MOST_KEPT = 20_000  # words looked up once
SHORTEST_RUN, LONGEST_RUN = 2, 4
# What one concept, two of them together, and one thing known about the text as a whole, weigh beside a run of letters.
CONCEPT, PAIR, CONTEXT = math.sqrt(6), 1.0, math.sqrt(2)
MOST_PAIRED = 30  # concepts of one text that are taken by two

_WORDS = re.compile(r"\d[\d.,:/]*|[%?]|[^\s\d.,;:!?/%()\"'\-]+")
_DOUBLED = re.compile(r"(.)\1+")
_ALIKE = str.maketrans({"q": "k", "w": "v", "z": "j", "f": "p", "x": "ks", **dict.fromkeys("aeiouyh0123456789")})


def words_of(text: str) -> list[str]:
    """The words of a normalised text; numbers are only as long as they are."""
    found = _WORDS.findall(text[:LONGEST_READ].lower())[:MOST_WORDS]
    return [_shape(word) if word[0].isdigit() else word[:LONGEST_WORD] for word in found]


def _shape(number: str) -> str:
    kind = "date" if "/" in number or ":" in number else "number"
    return f"<{kind} {min(sum(char.isdigit() for char in number), 4)}>"


@lru_cache(maxsize=4096)
def _latin(char: str) -> str:
    """The consonants that a letter of any script stands for: those its Unicode name begins with (KHA, KHAH: kh)."""
    if char.isascii():
        return char
    name = unicodedata.name(char, "")
    if name.endswith("SIGN ANUSVARA"):
        return "n"
    letter = re.search(r" LETTER ([A-Z]+)", name)
    return re.split("[AEIOU]", letter[1])[0].lower() if letter else ""


def consonants(word: str) -> str:
    """A word's consonants in Latin letters, those that are confused written alike: "phool", "फूल" and "fl" are "pl"."""
    return _DOUBLED.sub(r"\1", "".join(map(_latin, word)).translate(_ALIKE))


def word_features(word: str) -> list[int]:
    """The buckets of one word."""
    buckets = [zlib.crc32(_coded(word)) % BUCKETS]
    if word[0] in "<%?":
        return buckets
    for length in range(SHORTEST_RUN, LONGEST_RUN + 1):
        buckets += _runs(word, length, 1)
    bones = consonants(word)
    if len(bones) > 1:
        buckets.append(zlib.crc32(_coded(bones), 2) % BUCKETS)
        buckets += _runs(bones, 3, 3)
    return buckets


def _runs(word: str, length: int, kind: int) -> list[int]:
    """The buckets of all runs of so many letters, the word's two ends counted as one each."""
    coded = _coded(f"^{word}$")
    return [zlib.crc32(coded[at : at + 2 * length], kind) % BUCKETS for at in range(0, len(coded) - 2 * length + 1, 2)]


def _coded(word: str) -> bytes:
    return word.encode("utf-16-le", "surrogatepass")  # two bytes a letter, so that runs of letters can be cut out


def context_features(words: int, asking: str | None, lang: str) -> list[str]:
    """What is known about the text as a whole."""
    features = [f"lang {lang}", f"length {min(words, LENGTHS)}", f"asking {asking}"]
    if asking is not None:
        features += ["asked", f"asking {asking} length {min(words, 5)}"]
    return features


# One concept by the place of its bit, two of them, or the slot asked for and one.
Feature = int | tuple[int, int] | tuple[str, int]
# How much some features weigh together (the sum of their squares), and what they say for each task.
Sums = tuple[float, NDArray[np.float32]]


@dataclass(frozen=True)
class TaskModel:
    """The trained weights.

    made_from: hash of the files it was trained on
    tasks: the tasks it tells apart
    letters: weights by bucket and task, in steps of `step`; named: the same by concept ("concept rain") or context
    bias: by task; sharpness: what the sums are multiplied with so that the shares are true frequencies
    """

    made_from: str
    tasks: tuple[str, ...]
    letters: NDArray[np.int8]
    named: Mapping[str, NDArray[np.float32]]
    bias: NDArray[np.float32]
    step: NDArray[np.float32]
    sharpness: float
    _words: dict[str, Sums] = field(default_factory=dict, repr=False, compare=False)
    _contexts: dict[tuple[int, str | None, str], Sums] = field(default_factory=dict, repr=False, compare=False)

    @classmethod
    def read(cls, packed: bytes) -> "TaskModel":
        """The model from the bytes of its file."""
        head, _, body = packed.partition(b"\n")
        about: dict[str, Any] = json.loads(head)
        named, _, weights = zlib.decompress(body).partition(b"\n")
        rows = np.frombuffer(weights, np.int8).reshape(-1, len(about["tasks"]))
        step = np.asarray(about["step"], np.float32)
        return cls(
            about["made_from"],
            tuple(about["tasks"]),
            rows[:BUCKETS],
            {name: row * step for name, row in zip(json.loads(named), rows[BUCKETS:], strict=True)},
            np.asarray(about["bias"], np.float32),
            step,
            about["sharpness"],
        )

    @staticmethod
    def packed(
        made_from: str,
        tasks: Sequence[str],
        letters: NDArray[np.float64],
        named: Mapping[str, NDArray[np.float64]],
        bias: NDArray[np.float64],
        sharpness: float,
    ) -> bytes:
        """The bytes of a model's file: a line about it, then, compressed, names and weights in 255 steps a task."""
        rows = np.concatenate([letters, np.stack(list(named.values()))])
        step = np.maximum(np.abs(rows).max(axis=0) / 127, 1e-9)
        about = {
            "made_from": made_from, "tasks": list(tasks),
            "step": [float(f"{value:.6g}") for value in step], "bias": [float(f"{value:.6g}") for value in bias],
            "sharpness": sharpness,
        }  # fmt: skip
        names = json.dumps(list(named)).encode() + b"\n"
        body = zlib.compress(names + np.rint(rows / step).astype(np.int8).tobytes(), 9)
        return json.dumps(about, ensure_ascii=False).encode() + b"\n" + body

    def shares(self, text: str, present: int, asking: str | None, lang: str) -> dict[str, float]:
        """How likely each task is, together 1.

        text: normalised; present: the concepts found in it
        """
        words = words_of(text)
        size, sums = self._context(len(words), asking, lang)
        for word in words:
            count, weights = self._words.get(word) or self._word(word)
            sums = sums + weights
            size += count
        count, weights = self._of_concepts(present, asking)
        sums = sums + weights
        size += count
        scores = self.sharpness * (sums / math.sqrt(size) + self.bias)
        odds = np.exp(scores - scores.max())
        return dict(zip(self.tasks, (odds / odds.sum()).tolist(), strict=True))

    def _word(self, word: str) -> Sums:
        buckets = word_features(word)
        found = float(len(buckets)), self.letters[buckets].sum(axis=0, dtype=np.int32) * self.step
        if len(self._words) < MOST_KEPT:
            self._words[word] = found
        return found

    def _context(self, words: int, asking: str | None, lang: str) -> Sums:
        key = min(words, LENGTHS), asking, lang
        found = self._contexts.get(key)
        if found is None:
            rows = [self.named[name] for name in context_features(*key) if name in self.named]
            found = CONTEXT**2 * len(rows), CONTEXT * np.sum([np.zeros_like(self.bias), *rows], axis=0)
            if len(self._contexts) < MOST_KEPT:
                self._contexts[key] = found
        return found

    def _of_concepts(self, present: int, asking: str | None) -> Sums:
        rows, matrix, squares = self._concepts
        found = [rows[name] for name in concept_features(present, asking) if name in rows]
        return float(squares[found].sum()), matrix[found].sum(axis=0)

    @cached_property
    def _concepts(self) -> tuple[dict[Feature, int], NDArray[np.float32], NDArray[np.float32]]:
        """The row of each feature of concepts; what the rows say; the squares of what they weigh."""
        names = {name: feature for name in self.named if (feature := _feature(name)) is not None}
        weights = np.array([weight_of(name) for name in names], np.float32)
        matrix = np.stack([self.named[name] for name in names]) * weights[:, None]
        return {feature: at for at, feature in enumerate(names.values())}, matrix, weights**2


def concept_features(present: int, asking: str | None) -> list[Feature]:
    """What the concepts of a text give."""
    places = []
    while present:
        lowest = present & -present
        places.append(lowest.bit_length() - 1)
        present ^= lowest
    features: list[Feature] = [*places]
    del places[MOST_PAIRED:]
    for at, second in enumerate(places):
        features += [(first, second) for first in places[:at]]
    if asking is not None:
        features += [(asking, place) for place in places]
    return features


def feature_name(feature: Feature) -> str:
    """A feature of concepts as the model lists it: "concept rain", "pair not rain", "asked percent rain"."""
    if isinstance(feature, int):
        return f"concept {_concept(feature)}"
    first, second = feature
    if isinstance(first, str):
        return f"asked {first} {_concept(second)}"
    return "pair {} {}".format(*sorted((_concept(first), _concept(second))))


def _feature(name: str) -> Feature | None:
    kind, *parts = name.split(" ")
    if kind == "concept":
        return _place(parts[0])
    if kind == "pair":
        first, second = sorted(map(_place, parts))
        return first, second
    return (parts[0], _place(parts[1])) if kind == "asked" and len(parts) == 2 else None


@lru_cache(maxsize=1024)
def _concept(place: int) -> str:
    return CONCEPTS.names(1 << place)[0]


def _place(concept: str) -> int:
    return bit(concept).bit_length() - 1


def weight_of(name: str) -> float:
    """What a named feature weighs."""
    return {"concept": CONCEPT, "pair": PAIR}.get(name.partition(" ")[0], CONTEXT)
