"""How likely each task is, told from the letters of a text, what was asked for and the concepts found in it.

A linear model (multinomial logistic regression) that stands beside the rules of `tasks.toml`: the rules know what
they were told, the model what texts of that task look like. Features: words, pairs of words and runs of letters, hashed;
each word's consonants, by which spellings, scripts and vowel-less writing meet; the concepts; the slot asked for.
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
SHORTEST_RUN, LONGEST_RUN = 2, 4
# What one concept, and one thing known about the text as a whole, weigh beside one run of letters.
CONCEPT, CONTEXT = math.sqrt(6), math.sqrt(2)

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
    if word[0] in "<%?":
        return [_bucket("w" + word)]
    framed = f"^{word}$"
    features = ["w" + word]
    for length in range(SHORTEST_RUN, LONGEST_RUN + 1):
        features += ["c" + framed[at : at + length] for at in range(len(framed) - length + 1)]
    bones = consonants(word)
    if len(bones) > 1:
        features.append("s" + bones)
        framed = f"^{bones}$"
        features += ["k" + framed[at : at + 3] for at in range(len(framed) - 2)]
    return [_bucket(feature) for feature in features]


def pair_features(words: Sequence[str]) -> list[int]:
    """The buckets of each two words that stand together, with the text's two ends."""
    return [_bucket(f"b{a} {b}") for a, b in zip(("^", *words), (*words, "$"), strict=True)]


def context_features(words: int, asking: str | None, lang: str) -> list[str]:
    """What is known about the text as a whole."""
    features = [f"lang {lang}", f"length {min(words, 8)}", f"asking {asking}"]
    if asking is not None:
        features += ["asked", f"asking {asking} length {min(words, 5)}"]
    return features


def _bucket(feature: str) -> int:
    return zlib.crc32(feature.encode("utf-8", "replace")) % BUCKETS


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
    _words: dict[str, tuple[int, NDArray[np.int32]]] = field(default_factory=dict, repr=False, compare=False)

    @classmethod
    def read(cls, packed: bytes) -> "TaskModel":
        """The model from the bytes of its file."""
        head, _, body = packed.partition(b"\n")
        about: dict[str, Any] = json.loads(head)
        rows = np.frombuffer(zlib.decompress(body), np.int8).reshape(-1, len(about["tasks"]))
        step = np.asarray(about["step"], np.float32)
        return cls(
            about["made_from"],
            tuple(about["tasks"]),
            rows[:BUCKETS],
            {name: row * step for name, row in zip(about["named"], rows[BUCKETS:], strict=True)},
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
        """The bytes of a model's file: one line about it, then the weights in 255 steps a task, compressed."""
        rows = np.concatenate([letters, np.stack(list(named.values()))])
        step = np.maximum(np.abs(rows).max(axis=0) / 127, 1e-9)
        about = {
            "made_from": made_from, "tasks": list(tasks), "named": list(named),
            "step": [float(f"{value:.6g}") for value in step], "bias": [float(f"{value:.6g}") for value in bias],
            "sharpness": sharpness,
        }  # fmt: skip
        body = zlib.compress(np.rint(rows / step).astype(np.int8).tobytes(), 9)
        return json.dumps(about, ensure_ascii=False).encode() + b"\n" + body

    def shares(self, text: str, present: int, asking: str | None, lang: str) -> dict[str, float]:
        """How likely each task is, together 1.

        text: normalised; present: the concepts found in it
        """
        words = words_of(text)
        pairs = pair_features(words)
        total = self.letters[pairs].sum(axis=0, dtype=np.int32)
        size = float(len(pairs))
        for word in words:
            count, weights = self._words.get(word) or self._word(word)
            total += weights
            size += count
        matrix, bits = self._concepts
        found = np.unpackbits(
            np.frombuffer((present & bits).to_bytes(len(matrix) // 8, "little"), np.uint8), bitorder="little"
        ).astype(np.float32)
        sums = total * self.step + CONCEPT * (found @ matrix)
        size += CONCEPT**2 * float(found.sum())
        for name in context_features(len(words), asking, lang):
            row = self.named.get(name)
            if row is not None:
                sums += CONTEXT * row
                size += CONTEXT**2
        scores = self.sharpness * (sums / math.sqrt(size) + self.bias)
        odds = np.exp(scores - scores.max())
        return dict(zip(self.tasks, (odds / odds.sum()).tolist(), strict=True))

    def _word(self, word: str) -> tuple[int, NDArray[np.int32]]:
        buckets = word_features(word)
        found = len(buckets), self.letters[buckets].sum(axis=0, dtype=np.int32)
        if len(self._words) < 20_000:
            self._words[word] = found
        return found

    @cached_property
    def _concepts(self) -> tuple[NDArray[np.float32], int]:
        """The concepts' weights by the place of their bit, and all their bits."""
        places = {name: bit(name[8:]).bit_length() - 1 for name in self.named if name.startswith("concept ")}
        matrix = np.zeros((-(-(max(places.values()) + 1) // 8) * 8, len(self.tasks)), np.float32)
        for name, place in places.items():
            matrix[place] = self.named[name]
        return matrix, sum(1 << place for place in places.values())


def concept_features(present: int) -> list[str]:
    """The names of concepts as the model lists them."""
    return [f"concept {name}" for name in CONCEPTS.names(present)]
