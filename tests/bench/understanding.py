"""How well texts are understood: by language, how many are right whole, and how many would have been written wrongly.

    python tests/bench/understanding.py FILE... [--counts] [--half tune|held] [--langs en,hi]

Without --counts each miss is printed. --half takes half of the texts, told by a hash of the id: one is for tuning,
the other is only ever counted.
"""

import argparse
import hashlib
import json
import sys
import time
from collections import defaultdict
from collections.abc import Iterable, Iterator
from datetime import date
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from dialogs.language import load_languages
from dialogs.understanding import understand

WRITES = {
    "log_rain", "log_watering", "log_leaf_drop", "log_spray", "log_flowering", "log_shoots", "log_harvest",
    "report_done", "set_cut_day", "register_block", "stop", "delete_me",
}  # fmt: skip


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


def right(task: str, slots: dict[str, Any], truth: dict[str, Any]) -> bool:
    """Whether task and every slot are right."""
    return (
        task == truth["task"]
        and slots.keys() == truth["slots"].keys()
        and all(same(value, truth["slots"][slot]) for slot, value in slots.items())
    )


def main() -> None:
    """Print the table, and the misses unless only counts are wanted."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("files", nargs="+", type=Path)
    parser.add_argument("--counts", action="store_true")
    parser.add_argument("--half", choices=("tune", "held"))
    parser.add_argument("--langs", default="en,hi,hi_Latn")
    options = parser.parse_args()
    languages = load_languages()
    wanted = options.langs.split(",")
    for lang in wanted:
        if lang in languages:
            languages[lang].lexicon  # noqa: B018  made now, so that the times are those after start-up
    tally: dict[str, dict[str, int]] = defaultdict(lambda: defaultdict(int))
    times = []
    for truth in read(options.files):
        lang = truth["lang"]
        if lang not in wanted or lang not in languages or (options.half and half_of(truth["id"]) != options.half):
            continue
        start = time.perf_counter()
        meaning = understand(truth["text"], lang, date.fromisoformat(truth["today"]), truth["asking"], languages)
        times.append(time.perf_counter() - start)
        slots = dict(meaning.slots)
        whole = right(meaning.task, slots, truth)
        for row in (tally[lang], tally["all"]):
            row["texts"] += 1
            row["whole"] += whole
            row["task"] += meaning.task == truth["task"]
            row["wrong_writes"] += meaning.task in WRITES and not meaning.clarify and not whole
            row["clarifies"] += meaning.clarify and truth["task"] not in ("unclear", "stop", "delete_me")
            row["missed_hurt"] += truth["task"] == "hurt" and meaning.task != "hurt"
            row["false_hurt"] += truth["task"] != "hurt" and meaning.task == "hurt"
        if not whole and not options.counts:
            mark = "W" if meaning.task in WRITES and not meaning.clarify else " "
            print(f"{mark} {lang} {truth['today'][2:]} {truth['asking'] or '-'} | {truth['text']}")
            print(f"      want {truth['task']} {json.dumps(truth['slots'], ensure_ascii=False)}")
            print(f"      got  {meaning.task} {json.dumps(slots, ensure_ascii=False)} clarify={meaning.clarify}")
    columns = ("texts", "whole", "task", "wrong_writes", "clarifies", "missed_hurt", "false_hurt")
    print(f"{'':8}" + "".join(f"{column:>13}" for column in columns) + f"{'whole %':>10}")
    for lang, row in tally.items():
        share = 100 * row["whole"] / max(1, row["texts"])
        print(f"{lang:8}" + "".join(f"{row[column]:>13}" for column in columns) + f"{share:>10.1f}")
    times.sort()
    if times:
        print(f"median {1000 * times[len(times) // 2]:.3f} ms, p99 {1000 * times[int(len(times) * 0.99)]:.3f} ms")


if __name__ == "__main__":
    main()
