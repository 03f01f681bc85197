"""Texts never tuned on: the share right whole, and no call for help missed."""

import hashlib
import json
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from dialogs.language import load_languages
from dialogs.understanding import understand

LANGUAGES = load_languages()
CORPUS = Path(__file__).parents[1] / "corpus" / "dev.jsonl"


def held_out(lang: str) -> list[dict[str, Any]]:
    """The texts of the half that was only ever counted (the same half as in tests/bench/understanding.py)."""
    texts = [json.loads(line) for line in CORPUS.read_text(encoding="utf-8").splitlines()]
    return [t for t in texts if t["lang"] == lang and hashlib.sha256(t["id"].encode()).digest()[0] % 2]


def alike(a: Any, b: Any) -> bool:
    """Equal as the corpus counts it: numbers to 2 %."""
    if isinstance(a, list) and isinstance(b, list):
        return len(a) == len(b) and all(alike(x, y) for x, y in zip(a, b, strict=True))
    if isinstance(a, int | float) and isinstance(b, int | float):
        return abs(a - b) <= 0.02 * max(abs(a), abs(b))
    return bool(a == b)


@pytest.mark.parametrize(("lang", "least"), [("en", 0.94), ("hi", 0.97), ("hi_Latn", 0.95)])
def test_unseen_texts_are_right_whole(lang: str, least: float) -> None:
    """Task and every slot right; the floors are what was reached, so that nothing is lost unnoticed."""
    texts = held_out(lang)

    right = 0
    for text in texts:
        meaning = understand(text["text"], lang, date.fromisoformat(text["today"]), text["asking"], LANGUAGES)
        right += (
            meaning.task == text["task"]
            and meaning.slots.keys() == text["slots"].keys()
            and all(alike(value, text["slots"][slot]) for slot, value in meaning.slots.items())
        )

    assert right / len(texts) >= least


def test_no_call_for_help_is_missed() -> None:
    """`hurt` is heard in every labelled text of the three languages."""
    for path in sorted(CORPUS.parent.glob("*.jsonl")):
        for line in path.read_text(encoding="utf-8").splitlines():
            text = json.loads(line)
            if text["task"] == "hurt" and text["lang"] in ("en", "hi", "hi_Latn"):
                meaning = understand(
                    text["text"], text["lang"], date.fromisoformat(text["today"]), text["asking"], LANGUAGES
                )
                assert meaning.task == "hurt", text["text"]
