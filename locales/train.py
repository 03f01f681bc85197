"""Train the model of tasks on each language's examples and phrasings, and write `tasks.model`.

    python -m locales.train            train and write
    python -m locales.train --check    train nothing; exit 1 if the weights are stale

`<lang>/examples.jsonl`: labelled texts, one JSON object a line: lang, today, asking, text, task.
`<lang>/phrasings.txt`: ways of asking for a task, with choices: `(stop|end) (the|) messages`. A line `[task]` opens
those of a task. Lines before the first task say what stands for a name in capitals (`DAY = monday | 5/6`), and with
`LATIN = tag` that the texts are also learned in Latin letters, for growers of that language.

The weights are committed with a hash of these files and of the code that reads them. Word lists are not in it: a word
added to a concept leaves what the concept says as it was. The same files and word lists give the same bytes.
"""

import argparse
import hashlib
import json
import random
import re
import sys
import unicodedata
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from dialogs import task_model
from dialogs.language import load_lexicons
from dialogs.lexicon import Lexicons
from dialogs.task_model import BUCKETS, TaskModel
from dialogs.understanding.reading import read_facts
from dialogs.understanding.tasks import task_table
from dialogs.understanding.tokens import items_of, normalise

LOCALES = Path(__file__).parent
WEIGHTS = LOCALES / "tasks.model"
DRAWS = 12  # texts made of one phrasing
MADE_WEIGHT = 0.4  # of a text made of a phrasing, beside one that a person wrote
LEAST_SEEN = 6  # texts that a pair of concepts, or one with a slot asked for, must stand in to be learned
STRENGTH = 30.0  # of the texts against the wish for small weights (1 / L2 penalty)
ROUNDS = 140
SHARPNESS = 1.5  # found on texts by authors left out of the training
MADE_ON = date(2025, 6, 10)


@dataclass(frozen=True)
class Example:
    """One text to learn from."""

    lang: str
    today: date
    asking: str | None
    text: str
    task: str
    weight: float = 1.0


def sources() -> list[Path]:
    """All files that the weights are made from, in order."""
    return [*sorted(LOCALES.glob("*/examples*.jsonl")), *sorted(LOCALES.glob("*/phrasings.txt"))]


def fingerprint(paths: Sequence[Path]) -> str:
    """SHA-256 over the files and the code that reads them."""
    digest = hashlib.sha256()
    for path in [*paths, Path(__file__), Path(task_model.__file__)]:
        content = path.read_bytes()
        digest.update(f"{path.parent.name}/{path.name} {len(content)}\n".encode() + content)
    return digest.hexdigest()


def read_examples(paths: Sequence[Path]) -> list[Example]:
    """What the files hold: written texts, texts made of phrasings, both also in Latin letters where that is wanted."""
    examples: dict[tuple[str, str | None, str], Example] = {}
    latin = {path.parent.name: tag for path in paths if path.suffix == ".txt" and (tag := _headers(path).get("LATIN"))}
    for path in paths:
        for example in _written(path) if path.suffix == ".jsonl" else _made(path):
            examples.setdefault((example.lang, example.asking, example.text), example)
    for example in list(examples.values()):
        tag = latin.get(example.lang)
        if tag and not example.text.isascii():
            text = romanised(example.text, random.Random(example.text))  # noqa: S311
            copy = Example(tag, example.today, example.asking, text, example.task, MADE_WEIGHT)
            examples.setdefault((tag, copy.asking, text), copy)
    return list(examples.values())


def _written(path: Path) -> Iterator[Example]:
    for line in path.read_text(encoding="utf-8").splitlines():
        each = json.loads(line)
        yield Example(
            each["lang"], date.fromisoformat(each["today"]), each["asking"], normalise(each["text"]), each["task"]
        )


def _headers(path: Path) -> dict[str, str]:
    head = path.read_text(encoding="utf-8").partition("\n[")[0]
    return {
        name.strip(): value.strip() for name, equals, value in (line.partition(" = ") for line in head.splitlines())
        if equals
    }  # fmt: skip


def _made(path: Path) -> Iterator[Example]:
    fillers = {name: value.split(" | ") for name, value in _headers(path).items()}
    stands_for = re.compile(rf"(?<![A-Za-z])({'|'.join(fillers)})(?![A-Za-z])")
    task = ""
    for line in path.read_text(encoding="utf-8").splitlines():
        if line.startswith("["):
            task = line[1:-1]
        elif task and line and not line.startswith("#"):
            chance = random.Random(f"{path.parent.name} {task} {line}")  # noqa: S311
            drawn = (stands_for.sub(lambda name: chance.choice(fillers[name[0]]), _draw(line, chance))  # noqa: B023
                     for _ in range(3 * DRAWS))  # fmt: skip
            texts = dict.fromkeys(" ".join(text.split()).replace(" ,", ",") for text in drawn)
            for text in list(texts)[:DRAWS]:
                if text:
                    yield Example(path.parent.name, MADE_ON, None, normalise(text), task, MADE_WEIGHT)


_CHOICE = re.compile(r"\(([^()]*)\)")


def _draw(phrasing: str, chance: random.Random) -> str:
    """One text of a phrasing; choices may stand in choices."""
    while "(" in phrasing:
        phrasing = _CHOICE.sub(lambda choice: chance.choice(choice[1].split("|")), phrasing, count=1)
    return phrasing


_SPELT = {"CA": "ch", "CHA": "chh", "SSA": "sh"}


@lru_cache(maxsize=1024)
def _syllable(char: str) -> tuple[str, str]:
    """How a character of an Indic script sounds: a consonant, and the vowel after it unless another is written."""
    name = unicodedata.name(char, "").split(" ")
    if name[-1] in ("ANUSVARA", "CANDRABINDU"):
        return "n", ""
    if "VOWEL" in name or ("LETTER" in name and name[-1][0] in "AEIOU"):
        return "", {"VOCALIC": "ri"}.get(name[-2], name[-1].lower())
    if "LETTER" in name and name[-1].endswith("A"):
        sound = _SPELT.get(name[-1], name[-1][:-1].lower())
        return (sound[1:] if len(sound) > 1 and sound[0] == sound[1] else sound), "a"
    return "", ""


def romanised(text: str, chance: random.Random) -> str:
    """A text of an Indic script as it might be typed in Latin letters."""
    silent = "DEVANAGARI" in "".join(unicodedata.name(char, "") for char in text)
    return re.sub(r"[\u0900-\u0963\u0970-\u0dff]+", lambda word: _romanised_word(word[0], silent, chance), text)


def _romanised_word(word: str, silent: bool, chance: random.Random) -> str:
    """silent: an unwritten a at the end, or between two syllables, is not spoken."""
    parts: list[list[str]] = []
    for char in word:
        consonant, vowel = _syllable(char)
        if consonant or (vowel and "VOWEL SIGN" not in unicodedata.name(char)):
            parts.append([consonant, vowel])
        elif vowel and parts:
            parts[-1][1] = vowel
        elif "VIRAMA" in unicodedata.name(char, "") and parts:
            parts[-1][1] = ""
    if silent and len(parts) > 1:
        if parts[-1][1] == "a" and parts[-1][0]:
            parts[-1][1] = ""
        for at in range(len(parts) - 2, 0, -1):
            if parts[at][1] == "a" and parts[at][0] and parts[at - 1][1] and parts[at + 1][0] and parts[at + 1][1]:
                parts[at][1] = ""
    spelt = "".join(consonant + vowel for consonant, vowel in parts)
    for long, short, how_often in (("aa", "a", 0.8), ("ii", "i", 0.8), ("ii", "ee", 1.0), ("uu", "u", 0.8),
                                   ("uu", "oo", 1.0), ("v", "w", 0.3), ("ph", "f", 0.3)):  # fmt: skip
        if chance.random() < how_often:
            spelt = spelt.replace(long, short)
    return spelt


class Sparse:
    """A sparse matrix of one value a place: its product, and that of its transpose, with a dense one."""

    def __init__(self, places: Sequence[tuple[int, int, float]], shape: tuple[int, int]) -> None:
        """places: row, column and value of each."""
        self.shape = shape
        rows, columns, values = zip(*places, strict=True)
        self._forth = _ordered(np.asarray(rows), np.asarray(columns), np.asarray(values, float))
        self._back = _ordered(np.asarray(columns), np.asarray(rows), np.asarray(values, float))

    def dot(self, dense: NDArray[np.float64]) -> NDArray[np.float64]:
        """The matrix times `dense`."""
        return _summed(self._forth, dense, self.shape[0])

    def transposed_dot(self, dense: NDArray[np.float64]) -> NDArray[np.float64]:
        """The transposed matrix times `dense`."""
        return _summed(self._back, dense, self.shape[1])


_Ordered = tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64], NDArray[np.float64]]
AT_ONCE = 4096  # values summed at once, so that they stay in the processor's cache


def _ordered(rows: NDArray[np.int64], columns: NDArray[np.int64], values: NDArray[np.float64]) -> _Ordered:
    order = np.argsort(rows, kind="stable")
    present, starts = np.unique(rows[order], return_index=True)
    return present, np.append(starts, len(rows)), columns[order], values[order, None]


def _summed(ordered: _Ordered, dense: NDArray[np.float64], rows: int) -> NDArray[np.float64]:
    present, starts, columns, values = ordered
    total = np.zeros((rows, dense.shape[1]))
    at = 0
    while at < len(present):
        to = max(at + 1, int(np.searchsorted(starts, starts[at] + AT_ONCE, side="right")) - 1)
        part = slice(starts[at], starts[to])
        total[present[at:to]] = np.add.reduceat(values[part] * dense[columns[part]], starts[at:to] - starts[at], axis=0)
        at = to
    return total


@dataclass(frozen=True)
class Table:
    """Examples as numbers: texts = (of_words x letters + named) / size.

    A word's runs of letters are the same in every text: they are summed once a word.
    """

    of_words: Sparse
    letters: Sparse
    named: Sparse
    size: NDArray[np.float64]
    names: tuple[str, ...]

    def dot(self, letters: NDArray[np.float64], named: NDArray[np.float64]) -> NDArray[np.float64]:
        """The sums for each text and task."""
        sums = self.of_words.dot(self.letters.dot(letters)) + self.named.dot(named)
        return sums / self.size

    def transposed_dot(self, dense: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """What each weight adds, over all texts."""
        dense = dense / self.size
        of_letters = self.letters.transposed_dot(self.of_words.transposed_dot(dense))
        return of_letters, self.named.transposed_dot(dense)


def table_of(examples: Sequence[Example], lexicons: Lexicons) -> Table:
    """The features of all examples, as the model takes them."""
    rules = task_table()
    named_of = []
    for example in examples:
        lexicon = lexicons.of(example.lang)
        items = items_of(example.text, lexicon)
        present = read_facts(items, example.today, example.asking, (), rules, lexicon).present
        words = len(task_model.words_of(example.text))
        named_of.append([
            *map(task_model.feature_name, task_model.concept_features(present, example.asking)),
            *task_model.context_features(words, example.asking, example.lang),
        ])  # fmt: skip
    seen = Counter(name for names in named_of for name in names)
    often = sorted(
        name for name, times in seen.items() if times >= LEAST_SEEN or not name.startswith(("pair", "asked "))
    )
    name_at = {name: at for at, name in enumerate(often)}
    word_at: dict[str, int] = {}
    of_words: list[tuple[int, int, float]] = []
    letters: list[tuple[int, int, float]] = []
    named: list[tuple[int, int, float]] = []
    sizes: list[float] = []
    for row, (example, names) in enumerate(zip(examples, named_of, strict=True)):
        size = 0.0
        for word in task_model.words_of(example.text):
            if word not in word_at:
                word_at[word] = len(word_at)
                letters += [(word_at[word], bucket, 1.0) for bucket in task_model.word_features(word)]
            of_words.append((row, word_at[word], 1.0))
            size += len(task_model.word_features(word))
        for name in names:
            if name in name_at:
                value = task_model.weight_of(name)
                named.append((row, name_at[name], value))
                size += value * value
        sizes.append(size)
    texts = len(examples)
    return Table(
        Sparse(of_words, (texts, len(word_at))),
        Sparse(letters, (len(word_at), BUCKETS)),
        Sparse(named, (texts, len(name_at))),
        np.sqrt(np.asarray(sizes))[:, None],
        tuple(name_at),
    )


def train(examples: Sequence[Example], lexicons: Lexicons, made_from: str, rounds: int = ROUNDS) -> bytes:
    """The bytes of the model's file."""
    table = table_of(examples, lexicons)
    tasks = sorted({example.task for example in examples})
    truth = np.zeros((len(examples), len(tasks)))
    truth[np.arange(len(examples)), [tasks.index(example.task) for example in examples]] = 1
    weight = np.asarray([example.weight for example in examples])[:, None]
    width = len(tasks)
    split = BUCKETS * width, (BUCKETS + len(table.names)) * width

    def parts(flat: NDArray[np.float64]) -> list[NDArray[np.float64]]:
        return [part.reshape(-1, width) for part in np.split(flat, split)]

    def loss(flat: NDArray[np.float64]) -> tuple[float, NDArray[np.float64]]:
        letters, named, bias = parts(flat)
        scores = table.dot(letters, named) + bias
        scores -= scores.max(axis=1, keepdims=True)
        logs = scores - np.log(np.exp(scores).sum(axis=1, keepdims=True))
        wrong = weight * (np.exp(logs) - truth)
        slopes = np.concatenate([each.ravel() for each in (*table.transposed_dot(wrong), wrong.sum(axis=0))])
        held = flat.copy()
        held[split[1] :] = 0
        return (
            float(-(weight * truth * logs).sum() + (held @ held) / (2 * STRENGTH)),
            slopes + held / STRENGTH,
        )

    flat = lowest(loss, np.zeros(split[1] + width), rounds)
    letters, named, bias = parts(flat)
    return TaskModel.packed(made_from, tasks, letters, dict(zip(table.names, named, strict=True)), bias[0], SHARPNESS)


def lowest(
    loss: Callable[[NDArray[np.float64]], tuple[float, NDArray[np.float64]]],
    at: NDArray[np.float64],
    rounds: int,
    kept: int = 8,
) -> NDArray[np.float64]:
    """Where a convex function of many values is lowest: L-BFGS (Nocedal and Wright, Numerical Optimization, 7.4)."""
    value, slope = loss(at)
    moves: list[tuple[NDArray[np.float64], NDArray[np.float64], float]] = []
    for _ in range(rounds):
        step, seen = -slope, []
        for moved, turned, inverse in reversed(moves):
            share = inverse * float(moved @ step)
            seen.append(share)
            step = step - share * turned
        if moves:
            moved, turned, inverse = moves[-1]
            step = step / (inverse * (turned @ turned))
        else:
            step = step / np.sqrt(slope @ slope)
        for (moved, turned, inverse), share in zip(moves, reversed(seen), strict=True):
            step = step + (share - inverse * (turned @ step)) * moved
        length = 1.0
        while True:
            there = at + length * step
            new_value, new_slope = loss(there)
            if new_value <= value + 1e-4 * length * (slope @ step) or length < 1e-6:
                break
            length /= 2
        moved, turned = there - at, new_slope - slope
        if moved @ turned > 0:
            moves = [*moves[-(kept - 1) :], (moved, turned, 1 / float(moved @ turned))]
        if value - new_value < 1e-5 * abs(value):
            return there
        at, value, slope = there, new_value, new_slope
    return at


def is_stale() -> bool:
    """Whether the weights were made from other files than those that are here."""
    return not WEIGHTS.exists() or TaskModel.read(WEIGHTS.read_bytes()).made_from != fingerprint(sources())


def main() -> int:
    """Train, or only tell whether to."""
    parser = argparse.ArgumentParser(prog="python -m locales.train", description="Train the model of tasks.")
    parser.add_argument("--check", action="store_true", help="train nothing; exit 1 if the weights are stale")
    if parser.parse_args().check:
        if is_stale():
            print(f"{WEIGHTS} is stale: run python -m locales.train", file=sys.stderr)
            return 1
        return 0
    examples = read_examples(sources())
    WEIGHTS.write_bytes(train(examples, load_lexicons(), fingerprint(sources())))
    print(f"trained on {len(examples)} texts: {WEIGHTS}, {WEIGHTS.stat().st_size} bytes")
    return 0


if __name__ == "__main__":
    sys.exit(main())
