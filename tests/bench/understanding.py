"""How well texts are understood and what it costs, beside what needs no work: a classifier by letters, and dateparser.

    python tests/bench/understanding.py [FILE...] [--counts] [--half tune|held] [--langs en,hi]

Without a file: the half of `tests/corpus/dev.jsonl` that tuning never saw, beside the baselines. With files: these
texts alone; without --counts each miss is printed. --half takes half of the texts, told by a hash of the id: one is
for tuning, the other is only ever counted.

whole: task and every slot right. wrong write: something written, without asking back, that is not what the text says.
avoidable: asked back, although it was understood. clarifies: all that was asked back, beside what always is.
"""

import argparse
import gc
import hashlib
import json
import sys
import time
import tomllib
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from math import sqrt
from pathlib import Path
from typing import Any, TypeVar

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from dialogs.language import Language, load_languages
from dialogs.understanding import Meaning, understand
from locales import word_lists
from tests.bench.baselines import day_alone, days_within, letters_classifier

ROOT = Path(__file__).resolve().parents[2]
CORPUS = ROOT / "tests" / "corpus"
T = TypeVar("T")
HELD = CORPUS / "dev.jsonl"
PHRASES = Path(__file__).parent / "date_phrases.toml"
WEDNESDAY = date(2026, 8, 12)
WRITES = {
    "log_rain", "log_watering", "log_leaf_drop", "log_spray", "log_flowering", "log_shoots", "log_harvest",
    "report_done", "set_cut_day", "register_block", "stop", "delete_me",
}  # fmt: skip
ALWAYS_ASKED = ("unclear", "stop", "delete_me")
DAY_COLUMNS = (("alone", "alone"), ("alone", "theirs"), ("within", "within"), ("within", "theirs_within"))


def half_of(identifier: str) -> str:
    """The half a text belongs to."""
    return "tune" if hashlib.sha256(identifier.encode()).digest()[0] % 2 == 0 else "held"


def read(paths: Iterable[Path]) -> Iterator[dict[str, Any]]:
    """The labelled texts of some files."""
    for path in paths:
        for line in path.read_text(encoding="utf-8").splitlines():
            if line.strip():
                yield json.loads(line)


def same(a: Any, b: Any) -> bool:
    """Equal as the corpus counts it: numbers to 2 %, lists in order."""
    if isinstance(a, list) and isinstance(b, list):
        return len(a) == len(b) and all(same(x, y) for x, y in zip(a, b, strict=True))
    numbers = (int, float)
    if isinstance(a, numbers) and isinstance(b, numbers):
        return abs(a - b) <= 0.02 * max(abs(a), abs(b))
    return bool(a == b)


def right(task: str, slots: Mapping[str, Any], truth: dict[str, Any]) -> bool:
    """Whether task and every slot are right."""
    return (
        task == truth["task"]
        and slots.keys() == truth["slots"].keys()
        and all(same(value, truth["slots"][slot]) for slot, value in slots.items())
    )


@dataclass
class Timed:
    """How long calls took [s] on one core, whatever else the machine did."""

    taken: list[float] = field(default_factory=list)

    def __call__(self, work: Callable[[], T]) -> T:
        start = time.thread_time()
        result = work()
        self.taken.append(time.thread_time() - start)
        return result

    def __str__(self) -> str:
        taken = sorted(self.taken)
        median, late = (1000 * taken[int(len(taken) * share)] for share in (0.5, 0.99))
        return f"median {median:.3f} ms, p99 {late:.3f} ms"


def interval(hits: int, of: int) -> tuple[float, float]:
    """Between what shares the true one lies, for 95 of 100 such counts (Wilson's score interval)."""
    z = 1.96
    middle, spread = hits + z * z / 2, z * sqrt(hits * (of - hits) / of + z * z / 4)
    return (middle - spread) / (of + z * z), (middle + spread) / (of + z * z)


COLUMNS = ("whole", "task", "wrong_writes", "clarifies", "avoidable", "missed_hurt", "false_hurt")


def show(tally: Mapping[str, Mapping[str, int]], others: Sequence[str] = ()) -> None:
    """One line a language, counts with their share; others: baselines, of which the tasks told rightly are counted."""
    columns = (*COLUMNS, *others)
    print(f"{'':8}{'texts':>6}{'whole %, 95 in 100':>20}" + "".join(f"{name + ' %':>15}" for name in columns))
    for lang, row in tally.items():
        texts = row["texts"]
        low, high = interval(row["whole"], texts)
        span = f"{100 * low:.1f}-{100 * high:.1f}"
        print(f"{lang:8}{texts:>6}{span:>20}" + "".join(f"{row[n]:>9}{100 * row[n] / texts:>6.1f}" for n in columns))


def count(
    truths: Iterable[dict[str, Any]], languages: Mapping[str, Language], misses: bool, timed: Timed
) -> dict[str, dict[str, int]]:
    """What was told of labelled texts, by language and together; misses: print each text not understood whole."""
    tally: dict[str, dict[str, int]] = defaultdict(lambda: defaultdict(int))
    for truth in truths:
        lang, day = truth["lang"], date.fromisoformat(truth["today"])
        meaning = timed(lambda: understand(truth["text"], lang, day, truth["asking"], languages))  # noqa: B023
        whole = right(meaning.task, meaning.slots, truth)
        for row in (tally[lang], tally["all"]):
            row["texts"] += 1
            row["whole"] += whole
            row["task"] += meaning.task == truth["task"]
            row["wrong_writes"] += meaning.task in WRITES and not meaning.clarify and not whole
            row["clarifies"] += meaning.clarify and truth["task"] not in ALWAYS_ASKED
            row["avoidable"] += meaning.clarify and whole and truth["task"] not in ALWAYS_ASKED
            row["missed_hurt"] += truth["task"] == "hurt" and meaning.task != "hurt"
            row["false_hurt"] += truth["task"] != "hurt" and meaning.task == "hurt"
        if misses and not whole:
            miss(truth, meaning)
    return {**{lang: tally[lang] for lang in tally if lang != "all"}, "all": tally["all"]}


def miss(truth: dict[str, Any], meaning: Meaning) -> None:
    """Print what was wanted and what was read."""
    mark = "W" if meaning.task in WRITES and not meaning.clarify else " "
    print(f"{mark} {truth['lang']} {truth['today'][2:]} {truth['asking'] or '-'} | {truth['text']}")
    print(f"      want {truth['task']} {json.dumps(truth['slots'], ensure_ascii=False)}")
    print(f"      got  {meaning.task} {json.dumps(dict(meaning.slots), ensure_ascii=False)} clarify={meaning.clarify}")


def show_texts(languages: Mapping[str, Language], wanted: list[str], told: Mapping[str, list[str]]) -> None:
    """The held-out texts beside two classifiers by letters, and what a text costs beside dateparser.

    told: the languages that dateparser is told, by ours
    """
    every = list(read([HELD]))
    held = [text for text in every if half_of(text["id"]) == "held" and text["lang"] in wanted]
    tune = [text for text in every if half_of(text["id"]) == "tune"]
    unseen = {(text["lang"], text["asking"], text["text"]) for text in held}
    files = sorted([*CORPUS.glob("*.jsonl"), *(ROOT / "locales").glob("*/examples*.jsonl")])
    rest = [text for text in read(path for path in files if path != HELD) if _key(text) not in unseen]
    timed, bare, search = Timed(), Timed(), Timed()
    tally = count(held, languages, False, timed)
    for name, texts in (("letters", tune), ("letters_all", tune + rest)):
        for truth, task in zip(held, letters_classifier(texts)(held), strict=True):
            for row in (tally[truth["lang"]], tally["all"]):
                row[name] += task == truth["task"]
    print(f"Texts that tuning never saw ({HELD.name}, held half). letters: tasks told by runs of 2 to 4 letters,")
    print(f"learned from the other {len(tune)} texts; letters_all: from {len(tune) + len(rest)}, all that ours had")
    show(tally, ("letters", "letters_all"))
    for truth in held:
        lang, today = told[truth["lang"]], date.fromisoformat(truth["today"])
        for timing, reading in ((bare, day_alone), (search, days_within)):
            if not timing.taken:
                reading("5 august", lang, today)  # what it loads is no part of a text's cost
            timing(lambda: reading(truth["text"], lang, today))  # noqa: B023
    print(f"one text: ours {timed}; dateparser.parse {bare}; its search_dates {search}\n")


def _key(text: Mapping[str, Any]) -> tuple[str, str | None, str]:
    return text["lang"], text["asking"], text["text"]


def show_days(languages: Mapping[str, Language], phrases: Mapping[str, Any]) -> None:
    """Days named in phrases, alone and within a sentence, beside dateparser."""
    print(f"Days named in phrases ({PHRASES.name}), in texts of {WEDNESDAY}: right, and %; alone: as a bare answer")
    print(f"{'':8}" + "".join(f"{head:>18}" for head in ("alone", "dateparser", "in a sentence", "dateparser")))
    ours, theirs = Timed(), Timed()
    total: dict[str, int] = defaultdict(int)
    for lang, about in phrases.items():
        told = about["dateparser"]
        row: dict[str, int] = defaultdict(int)
        for day, phrase, only_within in named_days(about):
            wants = date.fromisoformat(day)
            ahead = wants > WEDNESDAY
            sentence = about["plan" if ahead else "log"].format(phrase)
            row["within_of"] += 1
            row["within"] += understand(sentence, lang, WEDNESDAY, None, languages).slots.get("date") == day
            row["theirs_within"] += days_within(sentence, told, WEDNESDAY, ahead) == [wants]
            if not only_within:
                row["alone_of"] += 1
                answer = ours(lambda: understand(phrase, lang, WEDNESDAY, "date", languages))  # noqa: B023
                row["alone"] += answer.slots.get("date") == day
                row["theirs"] += theirs(lambda: day_alone(phrase, told, WEDNESDAY, ahead)) == wants  # noqa: B023
        show_days_of(lang, row)
        for name, hits in row.items():
            total[name] += hits
    show_days_of("all", total)
    print(f"one phrase: ours {ours}; dateparser.parse {theirs}")


def named_days(about: Mapping[str, Any]) -> Iterator[tuple[str, str, bool]]:
    """The phrases of one language: the day meant, the phrase, and whether only a sentence tells which way it looks."""
    for kind in ("days", "either_way"):
        for day, listed in about.get(kind, {}).items():
            for phrase in listed:
                yield day, phrase, kind == "either_way"


def show_days_of(lang: str, row: Mapping[str, int]) -> None:
    """One line of the table of days."""
    cells = ((row[name], row[f"{where}_of"]) for where, name in DAY_COLUMNS)
    print(f"{lang:8}" + "".join(f"{f'{hits} of {of}':>14}{100 * hits / of:>4.0f}" for hits, of in cells))


def main() -> None:
    """Print the tables, and the misses unless only counts are wanted."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("files", nargs="*", type=Path)
    parser.add_argument("--counts", action="store_true")
    parser.add_argument("--half", choices=("tune", "held"))
    parser.add_argument("--langs")
    options = parser.parse_args()
    if word_lists.is_stale():
        sys.exit(f"{word_lists.INDEX} is stale: run python -m locales.compile")
    languages = load_languages()
    wanted = options.langs.split(",") if options.langs else list(languages)
    for lang in wanted:  # now, so that the times are those after start-up
        if lang in languages:
            understand("rain 12 mm yesterday", lang, WEDNESDAY, None, languages)
    gc.freeze()
    if not options.files:
        phrases = tomllib.loads(PHRASES.read_text(encoding="utf-8"))
        show_texts(languages, wanted, {lang: about["dateparser"] for lang, about in phrases.items()})
        show_days(languages, {lang: phrases[lang] for lang in wanted if lang in phrases})
        return
    timed = Timed()
    truths = [
        truth
        for truth in read(options.files)
        if truth["lang"] in wanted
        and truth["lang"] in languages
        and (not options.half or half_of(truth["id"]) == options.half)
    ]
    if truths:
        show(count(truths, languages, not options.counts, timed))
        print(timed)


if __name__ == "__main__":
    main()
