"""The texts that can go out in a language: each as a template, with the longest values that can occur in it.

In some countries a business text goes out only where it matches a template registered beforehand, its variables marked.
The same longest values say what a text costs at worst.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from functools import cache, cached_property
from importlib.resources import files
from typing import Any

from babel.messages.mofile import read_mo

from service.segments import Encoding, segments
from service.wording import NAMED_AT_MOST, Catalogue, pieces, translations

ANY_DAY = date(2026, 1, 9)
# Every weekday and every month, with two digits.
TWO_DIGIT_DAYS = [date(2026, month, day) for month in range(1, 13) for day in range(10, 17)]


@dataclass(frozen=True)
class Variable:
    """A place in a template: its mark as it stands there, and the longest that can stand in its place."""

    mark: str
    longest: str


@dataclass(frozen=True)
class Template:
    """An outgoing text. text: as in the catalogue, variables in braces; encoding, segments: at worst"""

    key: str
    text: str
    variables: tuple[Variable, ...]
    encoding: Encoding
    segments: int


@cache
def longest_values() -> Mapping[str, Any]:
    """`locales/longest.toml`."""
    return tomllib.loads(files("locales").joinpath("longest.toml").read_text(encoding="utf-8"))


class Templates:
    """The templates of one language."""

    def __init__(self, language: str) -> None:
        self.catalogue = Catalogue(translations(language))
        with (files("locales") / language / "texts.mo").open("rb") as file:
            ids = [message.id for message in read_mo(file) if message.id]
        self.keys = sorted(id_ if isinstance(id_, str) else id_[0] for id_ in ids)
        self.rows: Mapping[str, Any] = longest_values()["values"]

    @cached_property
    def outgoing(self) -> Mapping[str, Template]:
        """Every text that can be sent, by its key."""
        return {key: self.template(key) for key in self.keys if is_outgoing(key)}

    def template(self, key: str) -> Template:
        """One text with the longest values that can occur."""
        text = self.catalogue.entry(key)
        counted = segments(self.longest(key))
        named = [(name, form) for _, name, form in pieces(text) if name is not None]
        variables = tuple(
            Variable(f"{{{name}:{form}}}" if form else f"{{{name}}}", _widest(self._values(key, name, form)))
            for name, form in dict.fromkeys(named)
        )
        return Template(key, text, variables, counted.encoding, counted.segments)

    def longest(self, key: str) -> str:
        """An entry filled with the longest values."""
        return "".join(
            literal + (_widest(self._values(key, name, form)) if name is not None else "")
            for literal, name, form in pieces(self.catalogue.entry(key))
        )

    def _values(self, key: str, name: str, form: str) -> list[str]:
        """What could stand at one placeholder, among it the longest. LookupError where longest.toml does not say."""
        if name == "items":
            item = _widest([self.longest(one) for one in self.keys if one.startswith(f"{key}.item")])
            return [self._joined([item] * NAMED_AT_MOST, "items", "list.items", "list.items")]
        row = self.rows.get(f"{key} {name}", self.rows.get(f"{name}:{form}", self.rows.get(name)))
        if row in ("a day", "a far day"):
            return [self.catalogue.day(day, row == "a far day") for day in TWO_DIGIT_DAYS]
        if row == "a month":
            return [self.catalogue.value(name, f"2021-{month:02}", ANY_DAY) for month in range(1, 13)]
        if isinstance(row, Mapping) and "every" in row:
            words = [self.catalogue.entry(one) for one in self._under(row["every"])]
            return [self._joined(words, "list", "list.next", "list.last")]
        values = [row] if row is not None else [one.partition(".")[2] for one in self._under(name)]
        if not values:
            raise LookupError(f"{key}: neither a row nor entries for {name!r} in locales/longest.toml")
        template = f"{{{name}:{form}}}" if form else f"{{{name}}}"
        whole = [self.catalogue.entry(one) for one in self._under(f"form.{form}")] if form else []
        return whole + [self.catalogue.filled(template, {name: value}, ANY_DAY) for value in values]

    def _under(self, name: str) -> list[str]:
        return [key for key in self.keys if key.startswith(f"{name}.")]

    def _joined(self, words: list[str], list_: str, next_: str, last: str) -> str:
        """Words joined by the entry next_, the last one by the entry last; what stands before it is its {list_}."""
        text = words[0]
        for position, word in enumerate(words[1:], 1):
            key = last if position == len(words) - 1 else next_
            text = self.catalogue.fill(key, {list_: text, "next": word}, ANY_DAY)
        return text


def is_outgoing(key: str) -> bool:
    """Whether a text is sent by this key; else it is a part of others."""
    parts = _parts()
    names = key.split(".")
    return key not in parts and names[0] not in parts and not any(name.startswith("item") for name in names[1:])


@cache
def _parts() -> frozenset[str]:
    return frozenset(longest_values()["parts"].split())


def _widest(texts: list[str]) -> str:
    return max(texts, key=lambda text: segments(text).units)
