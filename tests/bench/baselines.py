"""What ours is compared with: a classifier by runs of letters, and dateparser by itself."""

from collections.abc import Callable, Sequence
from datetime import date, datetime, time
from typing import Any

import dateparser
from dateparser.search import search_dates


def letters_classifier(texts: Sequence[dict[str, Any]]) -> Callable[[Sequence[dict[str, Any]]], list[str]]:
    """Tells the task from runs of two to four letters (TF-IDF) and the slot asked for; learned from labelled texts."""
    from sklearn.feature_extraction.text import TfidfVectorizer  # here: it takes a second that not every run needs
    from sklearn.pipeline import make_pipeline
    from sklearn.svm import LinearSVC

    model = make_pipeline(TfidfVectorizer(analyzer="char_wb", ngram_range=(2, 4), sublinear_tf=True), LinearSVC())
    model.fit([_seen(text) for text in texts], [text["task"] for text in texts])
    return lambda others: list(model.predict([_seen(text) for text in others]))


def _seen(text: dict[str, Any]) -> str:
    return f"{text['asking']}: {text['text']}"


def _settings(today: date, ahead: bool) -> dict[str, Any]:
    return {
        "RELATIVE_BASE": datetime.combine(today, time(12)),
        "DATE_ORDER": "DMY",
        "PREFER_DATES_FROM": "future" if ahead else "past",
    }


def day_alone(phrase: str, languages: list[str], today: date, ahead: bool = False) -> date | None:
    """The day that dateparser reads in a phrase, told its language."""
    found = dateparser.parse(phrase, languages=languages, settings=_settings(today, ahead))
    return found.date() if found else None


def days_within(text: str, languages: list[str], today: date, ahead: bool = False) -> list[date]:
    """The days that dateparser finds in a text, told its language."""
    found = search_dates(text, languages=languages, settings=_settings(today, ahead)) or []
    return [moment.date() for _, moment in found]
