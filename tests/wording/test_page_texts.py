"""The texts of the web pages: every language has every one, with the same placeholders."""

import io
import re
import unicodedata

import pytest
from babel.messages.catalog import Catalog
from babel.messages.pofile import read_po

from locales.compile import is_stale, page_catalogues
from locales.extract import messages
from service.wording import spoken

CATALOGUES = {
    po.parent.name: read_po(io.StringIO(po.read_text(encoding="utf-8")), abort_invalid=True) for po in page_catalogues()
}
each_language = pytest.mark.parametrize("language", sorted(CATALOGUES))
PLACEHOLDER = re.compile(r"%(?:\(\w+\)s|%)")


def ids(catalogue: Catalog) -> set[object]:
    return {one.id for one in catalogue if one.id}


def placeholders(text: str) -> list[str]:
    return sorted(PLACEHOLDER.findall(text))


def test_every_language_but_english_has_a_compiled_catalogue() -> None:
    assert set(CATALOGUES) == set(spoken()) - {"en"}
    assert [po for po in page_catalogues() if is_stale(po)] == [], "run python -m locales.compile"


@each_language
def test_every_text_of_the_pages_is_there_and_no_other(language: str) -> None:
    assert ids(messages()) ^ ids(CATALOGUES[language]) == set(), "run python -m locales.extract, then translate"


@each_language
def test_nothing_is_missing_and_placeholders_are_the_same(language: str) -> None:
    """A plural form for one or two may say it without the figure; none may name what is not given."""
    catalogue, wrong = CATALOGUES[language], []
    for one in catalogue:
        if not one.id:
            continue
        if isinstance(one.id, str):
            if not one.string or placeholders(one.id) != placeholders(one.string):
                wrong.append(one.id)
            continue
        if len(one.string) != catalogue.num_plurals or not all(one.string):
            wrong.append(one.id)
        most = placeholders(one.id[1])
        wrong += [one.id for text in one.string if placeholders(text) not in (most, [])]
        if catalogue.num_plurals == 2 and placeholders(one.string[1]) != most:
            wrong.append(one.id)

    assert wrong == []


@each_language
def test_no_stray_percent_control_or_double_space(language: str) -> None:
    for one in CATALOGUES[language]:
        for text in (one.string,) if isinstance(one.string, str) else one.string:
            if not one.id:
                continue
            # a % begins a placeholder, or is doubled: gettext's texts are filled with them
            assert "%" not in PLACEHOLDER.sub("", text), text
            joiners = {"\u200c", "\u200d"}
            assert not [c for c in text if unicodedata.category(c) in {"Cc", "Cf"} and c not in joiners], text
            assert text == unicodedata.normalize("NFC", text), text
            assert "  " not in text, text
            assert text == text.strip(), text
