"""What holds for each text of every golden conversation, whatever it is about."""

import re
from collections import Counter
from collections.abc import Iterator
from datetime import datetime, time
from typing import Any

import pytest

from tests.conversations.conversation import files
from tests.conversations.test_conversations import played

ENGLISH = [path for path in files() if ".en." in path.name]
DOSES = {"ml_per_litre", "copper_kg"}
WEEKDAY_AND_DATE = r"(Mon|Tue|Wed|Thu|Fri|Sat|Sun) \d{1,2} [A-Z][a-z]{2}"
QUIET = time(20, 30), time(6)

each = pytest.mark.parametrize("path", ENGLISH, ids=lambda path: path.name)


def texts(path: Any) -> Iterator[dict[str, Any]]:
    yield from played(path).sent


def values(text: dict[str, Any]) -> Iterator[dict[str, Any]]:
    yield text["values"]
    yield from text["values"].get("items", [])


@each
def test_no_decimal_stands_in_a_dose(path: Any) -> None:
    """ "A dose is told in whole millilitres and grams per pump and for the block"; `values` keep the exact figures."""
    doses = [text["text"] for text in texts(path) if any(DOSES & one.keys() for one in values(text))]

    assert [text for text in doses if re.search(r"\d[.,]\d", text)] == []


@each
def test_no_text_says_tomorrow_without_weekday_and_date(path: Any) -> None:
    for text in texts(path):
        for word in re.finditer(r"\b(today|tomorrow)\b", text["text"], re.IGNORECASE):
            assert re.match(f" {WEEKDAY_AND_DATE}", text["text"][word.end() :]), text["text"]


@each
def test_a_number_has_one_meaning(path: Any) -> None:
    """ "Numbered choices only where no block number is shown"."""
    for text in texts(path):
        if text["values"].get("choices"):
            assert not re.search(r"block \d", text["text"]), text["text"]


@each
def test_nothing_unasked_comes_in_quiet_hours_or_too_often(path: Any) -> None:
    """Three reminders a day for a grower, none from 20:30 to 06:00."""
    unasked = [text for text in texts(path) if text["because"] == "reminder"]
    for text in unasked:
        assert QUIET[1] <= datetime.fromisoformat(text["at"]).time() < QUIET[0], text["at"]
    assert max(Counter((text["to"], text["at"][:10]) for text in unasked).values(), default=0) <= 3


@each
def test_a_text_costs_one_part(path: Any) -> None:
    """Two where it tells several things, or days so far off that each bears its year."""
    for text in texts(path):
        longer = text["values"].get("items") or re.search(r" 20\d\d\b", text["text"])
        assert text["segments"] <= (2 if longer else 1), text["text"]
