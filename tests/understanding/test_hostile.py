"""Hostile texts: never an error, always a task and slots of the list, and no dearer than a long honest text.

The cost is counted in calls of functions, so that a busy machine changes nothing; `tests/bench/hostile.py` takes the
time, which also tells what regular expressions and copies cost.
"""

import json
import sys
from collections.abc import Callable
from datetime import date
from types import FrameType
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dialogs.language import load_languages
from dialogs.understanding import Meaning, keyword, understand
from tests.understanding.hostile import (
    ASKED,
    BLOCKS,
    CORPUS,
    HOSTILE,
    LENGTH,
    TODAY,
    VILLAGES,
    forget,
    honest,
    ill_formed,
)

LANGUAGES = load_languages()
HONEST = honest()


def read(text: str, lang: str, asking: str | None = None) -> Meaning:
    return understand(text, lang, TODAY, asking, LANGUAGES, BLOCKS, VILLAGES)


def calls(work: Callable[[], object]) -> int:
    """How many functions are called, Python's own among them."""
    count = 0

    def counted(frame: FrameType, event: str, argument: Any) -> None:
        nonlocal count
        count += event in ("call", "c_call")

    sys.setprofile(counted)
    try:
        work()
    finally:
        sys.setprofile(None)
    return count


def unremembered(text: str, lang: str) -> None:
    forget(LANGUAGES[lang])
    read(text, lang)


@pytest.mark.parametrize("lang", LANGUAGES)
def test_a_hostile_text_costs_no_more_than_an_honest_one(lang: str) -> None:
    """Thrice at most: words that are none are looked for in every way before they are given up."""
    limit = 3 * calls(lambda: unremembered(HONEST[lang], lang))

    dearer = {name: n for name, text in HOSTILE.items() if (n := calls(lambda: unremembered(text, lang))) > limit}  # noqa: B023

    assert dearer == {}, f"an honest text: {limit // 3}"


def test_hostile_texts_are_as_long_as_they_should_be() -> None:
    assert {name for name, text in HOSTILE.items() if not 0.95 * LENGTH <= len(text) <= LENGTH} == set()
    assert {len(text) for text in HONEST.values()} == {LENGTH}


@pytest.mark.parametrize("lang", LANGUAGES)
def test_what_is_made_of_a_hostile_text_is_well_formed(lang: str) -> None:
    """No error, and tasks and slots of the list, for each text whole, its end, and its beginning as any answer."""
    for name, text in HOSTILE.items():
        assert ill_formed(read(text, lang)) is None, name
        assert ill_formed(read(text[-160:], lang, "confirm")) is None, name
        for asking in ASKED:
            assert ill_formed(read(text[:40], lang, asking)) is None, (name, asking)


@pytest.mark.parametrize(
    ("lang", "asking", "text"),
    [
        ("es", "ppm", "3.51,51%mine."),
        ("es", "weight_kg", "1.200,50 kg"),
        ("en", None, "watered block 1,6:30 am"),
        ("ar", None, "𑁒"),
        ("hi_Latn", "percent", "24586014 din pehle"),
        ("kn", "spacing_m", "15621693 سنة"),
        ("ar", None, "۱۲۸۲ वर्षांच्या"),
        ("en", "plants", "half"),
        ("ar", None, "سقيت 0 ساعة إلا ربع"),
        ("ar", "area_ha", "0 فدان الا ربع"),
        ("hi", "area_ha", "पौने 0 एकड़"),
    ],
)
def test_what_generated_texts_once_broke(lang: str, asking: str | None, text: str) -> None:
    """Each was an error, or gave what is no value of its slot."""
    assert ill_formed(read(text, lang, asking)) is None


def _fragments() -> list[str]:
    """Texts of the corpus and their words."""
    texts = [
        json.loads(line)["text"]
        for path in sorted(CORPUS.glob("*.jsonl"))
        for line in path.read_text(encoding="utf-8").splitlines()
    ]
    return sorted({*texts, *(word for text in texts for word in text.split())})


WHOLE_TEXTS = st.lists(
    st.one_of(
        st.sampled_from(_fragments()),
        st.text(max_size=12),  # every script, marks and controls
        st.text(st.characters(codec=None, categories=("Cs", "Cf", "Mn", "Nd", "No")), max_size=6),
        st.integers(0, 10**12).map(str),
        st.floats(0, 10_000).map(lambda value: f"{value:.4g}"),
        st.sampled_from("mm % / - . , : ? x acre din दिन দিন ೩ ٣ ½ \u200d \ud800 \u202e 31/2 29/2/25 00 1e9 ²".split()),
    ),
    max_size=14,
).flatmap(lambda parts: st.sampled_from(["", " ", "\n"]).map(lambda between: between.join(parts)))

DAYS = st.dates(date(1990, 1, 1), date(2090, 1, 1))


@given(text=WHOLE_TEXTS, lang=st.sampled_from(list(LANGUAGES)), asking=st.sampled_from(ASKED), today=DAYS)
def test_any_text_gets_a_task_and_slots_of_the_list(text: str, lang: str, asking: str | None, today: date) -> None:
    """Whatever is mixed, on any day; and to explain it never fails either."""
    meaning = understand(text, lang, today, asking, LANGUAGES, BLOCKS, VILLAGES, explain=True)

    assert ill_formed(meaning) is None
    assert meaning.task != "answer" or asking is not None
    command = keyword(text, lang, LANGUAGES)
    assert command is None or isinstance(command, str)
