"""A page's language: its own texts, the growers' words for jobs and soils, dates and figures as they are written there.

The texts of pages stand in `locales/<tag>/desk.po`, by the English sentence; English needs no catalogue. Words that
growers are told too (jobs, soils, days) come from their catalogue, so that desk and phone say the same.
"""

from __future__ import annotations

import gettext
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import cached_property
from importlib.resources import files

from babel import Locale

from service.wording import Catalogue, spoken, translations

NO_BREAK = "\u00a0"


def N_(text: str) -> str:
    """Marks a text for translation that is looked up later."""
    return text


@dataclass(frozen=True)
class PageLanguage:
    """One language of pages, by its tag."""

    tag: str
    texts: gettext.NullTranslations
    words: Catalogue

    @property
    def html(self) -> str:
        """The tag as HTML wants it."""
        return html_tag(self.tag)

    @cached_property
    def direction(self) -> str:
        return direction(self.tag)

    @property
    def own_name(self) -> str:
        """The language's name for itself."""
        return self.words.find(f"language.{self.tag}") or self.tag

    def text(self, message: str, **values: object) -> str:
        found = self.texts.gettext(message)
        return found % values if values else found

    def word(self, kind: str, name: str) -> str:
        """A plain name of the diary as growers are told it: word("job", "cut")."""
        return self.words.find(f"{kind}.{name}") or name.replace("_", " ")

    def day(self, day: date, today: date) -> str:
        """ "Fri 9 Jan", kept together; with its year where it is far from today."""
        return self.words.value("", day.isoformat(), today).replace(" ", NO_BREAK)

    def month(self, month: str) -> str:
        """ "Jul 2019" of "2019-07"; a year alone stays one."""
        year, _, number = month.partition("-")
        return f"{self.words.months[int(number) - 1]}{NO_BREAK}{year}" if number else month

    def clock(self, at: datetime) -> str:
        """ "07:42", local time given."""
        return f"{at:%H:%M}".translate(self.words.digits)

    def figure(self, value: float) -> str:
        return self.words.number(value)

    def since(self, at: datetime, now: datetime) -> str:
        """How long something has waited, short: both instants."""
        waited = max(now - at, timedelta())
        minutes, hours, days = int(waited.total_seconds() // 60), int(waited.total_seconds() // 3600), waited.days
        if minutes < 60:
            text, count = self.texts.ngettext("%(num)s min", "%(num)s min", minutes), minutes
        elif hours < 48:
            text, count = self.texts.ngettext("%(num)s h", "%(num)s h", hours), hours
        else:
            text, count = self.texts.ngettext("%(num)s day", "%(num)s days", days), days
        return text % {"num": self.figure(count)}


def breakable(text: str) -> str:
    """A day as it may stand in a narrow margin, on two lines."""
    return text.replace(NO_BREAK, " ")


def html_tag(tag: str) -> str:
    return tag.replace("_", "-")


def direction(tag: str) -> str:
    return Locale.parse(tag).text_direction


def page_languages() -> Mapping[str, PageLanguage]:
    """All languages that pages can be shown in, by tag."""
    return {tag: PageLanguage(tag, _texts(tag), Catalogue(translations(tag))) for tag in spoken()}


def _texts(tag: str) -> gettext.NullTranslations:
    if tag == "en":
        return gettext.NullTranslations()
    with (files("locales") / tag / "desk.mo").open("rb") as file:
        return gettext.GNUTranslations(file)
