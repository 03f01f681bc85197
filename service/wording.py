"""Texts for people: a key and values in, the sentence in a grower's language out.

Sentences stand in `locales/<language>/texts.po`, whose English file opens with a description of the form. Code holds
keys and values only: dates as ISO strings, numbers as numbers, words (a job, a soil) as the plain names that the diary
keeps.
"""

import gettext
import re
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from functools import cache, lru_cache
from importlib.resources import files
from string import Formatter
from typing import Any

NAMED_AT_MOST = 3  # of blocks or items in one text; the rest is counted

DAY = re.compile(r"\d{4}-\d\d-\d\d", re.ASCII)
MONTH = re.compile(r"\d{4}-(0[1-9]|1[0-2])", re.ASCII)

HALF_A_YEAR = 183  # days
A_QUARTER = 90


class NoText(LookupError):
    """The catalogue has no such entry, or an entry names a value that was not given."""


@cache
def pieces(template: str) -> tuple[tuple[str, str | None, str], ...]:
    """A template as (literal, value's name, form) in order: 'for {block:blocks}' is (('for ', 'block', 'blocks'),)."""
    return tuple((literal, name, form or "") for literal, name, form, _ in Formatter().parse(template))


def iso_day(text: str) -> date | None:
    """The day that an ISO date names; None for any other text, also for one that only looks like a date."""
    if not DAY.fullmatch(text):
        return None
    try:
        return date.fromisoformat(text)
    except ValueError:
        return None


class Catalogue:
    """One language's entries."""

    def __init__(self, translations: gettext.GNUTranslations) -> None:
        self.translations = translations
        self.weekdays = self.entry("date.weekdays").split()
        self.months = self.entry("date.months").split()
        self.decimal = self.entry("number.decimal")
        self.digits = str.maketrans("0123456789", self.entry("number.digits"))
        self.day = lru_cache(maxsize=2048)(self._day)

    def find(self, key: str) -> str | None:
        text = self.translations.gettext(key)
        return None if text == key else text

    def entry(self, key: str) -> str:
        text = self.find(key)
        if text is None:
            raise NoText(f"no entry {key!r}")
        return text

    def counted(self, key: str, count: int) -> str:
        """The plural form of an entry for a count."""
        text = self.translations.ngettext(key, key, count)
        return self.entry(key) if text == key else text

    def _day(self, day: date, with_year: bool) -> str:
        return self.fill(
            "date.day_of_year" if with_year else "date.day",
            {
                "weekday": self.weekdays[day.weekday()],
                "day": day.day,
                "month": self.months[day.month - 1],
                "year": day.year,
            },
            day,
        )

    def number(self, value: float | Decimal) -> str:
        """At most two decimals, none that is a trailing zero, no grouping."""
        if isinstance(value, int):
            return str(value).translate(self.digits)
        rounded = Decimal(str(value)).quantize(Decimal("0.01"), ROUND_HALF_UP)
        whole, _, fraction = str(rounded).partition(".")
        fraction = fraction.rstrip("0")
        if not fraction:
            return ("0" if whole == "-0" else whole).translate(self.digits)
        return whole.translate(self.digits) + self.decimal + fraction.translate(self.digits)

    def fill(self, key: str, values: Mapping[str, Any], today: date) -> str:
        return self.filled(self.entry(key), values, today)

    def filled(self, template: str, values: Mapping[str, Any], today: date) -> str:
        parts: list[str] = []
        for literal, name, form in pieces(template):
            parts.append(literal)
            if name is not None:
                value = values.get(name)
                if value is None:
                    raise NoText(f"no value {name!r} for {template!r}")
                parts.append(self.in_form(form, name, value, today) if form else self.value(name, value, today))
        return "".join(parts)

    def in_form(self, form: str, name: str, value: Any, today: date) -> str:
        """A value put into the entry form.<form>, in the plural that it asks for."""
        if isinstance(value, str):
            whole = self.find(f"form.{form}.{value}")
            if whole is not None:
                return whole
            count = 1
        elif isinstance(value, (list, tuple)):
            count = len(value)
        else:
            count = int(value) if value == int(value) else 2  # a fraction reads as several: 1.5 days
        worded = self.value(name, value, today)
        if isinstance(value, (list, tuple)) and self.find(f"list.{form}") is not None:  # a choice: 1, 2 or 3
            worded = self.listed([self.value(name, one, today) for one in value], today, f"list.{form}")
        return self.filled(self.counted(f"form.{form}", count), {"n": worded}, today)

    def value(self, name: str, value: Any, today: date) -> str:
        if isinstance(value, str):
            if (day := iso_day(value)) is not None:
                away = (day - today).days
                return self.day(day, abs(away) > HALF_A_YEAR or (day.year < today.year and away < -A_QUARTER))
            if MONTH.fullmatch(value):
                year, month = value.split("-")
                return self.fill("date.month", {"month": self.months[int(month) - 1], "year": int(year)}, today)
            return self.find(f"{name}.{value}") or value
        if isinstance(value, Mapping) and "key" in value:
            return self.fill(str(value["key"]), value, today)
        if isinstance(value, (list, tuple)):
            return self.listed([self.value(name, one, today) for one in value], today)
        if isinstance(value, bool) or not isinstance(value, (int, float, Decimal)):
            raise TypeError(f"{name}: no way to write {value!r}")
        return self.number(value)

    def listed(self, words: Sequence[str], today: date, last_by: str = "list.last") -> str:
        """'1', '1 and 2', '1, 2 and 3', '1, 2, 3 and 2 more'. last_by: the entry that joins the last."""
        if not words:
            raise NoText("nothing to list")
        named = words[:NAMED_AT_MOST]
        rest = len(words) - len(named)
        text, last = named[0], len(named) - 1
        for position, word in enumerate(named[1:], 1):
            key = last_by if position == last and not rest else "list.next"
            text = self.fill(key, {"list": text, "next": word}, today)
        if rest:
            text = self.fill("list.others", {"list": text, "count": rest}, today)
        return text

    def itemised(self, key: str, values: Mapping[str, Any], items: Sequence[Mapping[str, Any]], today: date) -> str:
        """`key`, or an item's own, filled for each of the items, with what is common to all beside their own values."""
        words = [self.fill(str(item.get("key", key)), {**values, **item}, today) for item in items[:NAMED_AT_MOST]]
        text = words[0]
        for word in words[1:]:
            text = self.fill("list.items", {"items": text, "next": word}, today)
        if len(items) > NAMED_AT_MOST:
            text = self.fill("list.items_others", {"items": text, "count": len(items) - NAMED_AT_MOST}, today)
        return text


class Wording:
    """The catalogues of some languages, read once."""

    def __init__(self, languages: Iterable[str]) -> None:
        self.catalogues = {language: Catalogue(translations(language)) for language in languages}

    def text(
        self,
        language: str,
        key: str,
        values: Mapping[str, Any],
        items: Sequence[Mapping[str, Any]] = (),
        *,
        today: date,
    ) -> str:
        """Word one text.

        values: by placeholder: ISO days ("2026-01-09") and months ("2026-01"), numbers, plain names, lists of these;
            a part that is an entry of its own is a mapping with its "key": {"key": "rain.mm", "mm": 12}
        items: what differs block by block; each is worded by the entry `<key>.item` or by its own "key", together they
            fill {items}
        today: the grower's local day; it decides whether a date needs its year
        Raises NoText where there is no such entry, or a value that it names is missing.
        """
        catalogue = self.catalogues[language]
        if items and "{items}" in catalogue.entry(key):
            values = {**values, "items": catalogue.itemised(f"{key}.item", values, items, today)}
        return catalogue.fill(key, values, today)


def translations(language: str) -> gettext.GNUTranslations:
    """The compiled catalogue `locales/<language>/texts.mo`."""
    with (files("locales") / language / "texts.mo").open("rb") as file:
        return gettext.GNUTranslations(file)


def spoken() -> tuple[str, ...]:
    """The languages that have texts, by their tags in order."""
    return tuple(
        sorted(
            folder.name for folder in files("locales").iterdir() if folder.is_dir() and (folder / "texts.mo").is_file()
        )
    )
