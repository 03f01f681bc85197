"""Values in the words of each language."""

from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from babel import Locale

from service.wording import Catalogue, NoText, Wording, spoken, translations

TODAY = date(2026, 1, 9)  # a Friday


@pytest.fixture(scope="module", params=spoken())
def catalogue(request: pytest.FixtureRequest) -> Catalogue:
    return Catalogue(translations(request.param))


def worded(language: str, template: str, **values: Any) -> str:
    return Catalogue(translations(language)).filled(template, values, TODAY)


@pytest.mark.parametrize(
    ("language", "text"), [("en", "Fri 9 Jan"), ("hi", "शुक्र 9 जनवरी"), ("hi_Latn", "Shukra 9 Jan")]
)
def test_day(language: str, text: str) -> None:
    assert worded(language, "{date}", date="2026-01-09") == text


@pytest.mark.parametrize(
    ("day", "text"),
    [
        ("2026-07-11", "Sat 11 Jul"),  # 183 days on
        ("2026-07-12", "Sun 12 Jul 2026"),  # half a year and a day
        ("2025-12-31", "Wed 31 Dec"),  # another year, near
        ("2025-10-11", "Sat 11 Oct"),  # another year, 90 days back
        ("2025-10-10", "Fri 10 Oct 2025"),  # another year, 91 days back
        ("2028-02-29", "Tue 29 Feb 2028"),  # leap day
    ],
)
def test_year_only_where_it_is_in_doubt(day: str, text: str) -> None:
    """The year stands more than half a year away, and in another year more than 90 days away."""
    assert worded("en", "{date}", date=day) == text


def test_month() -> None:
    assert worded("en", "{planted}", planted="2021-07") == "Jul 2021"


@pytest.mark.parametrize("text", ["2026-02-30", "2026-13", "2026-1-9", "0000-00-00", "२०२६-०१-०९"])
def test_what_only_looks_like_a_date_stays_as_it_is(text: str) -> None:
    """A grower's own text may be a value; it never breaks a reply."""
    assert worded("en", "{text}", text=text) == text


def test_names_are_those_of_the_language(catalogue: Catalogue, request: pytest.FixtureRequest) -> None:
    """Weekdays and months are CLDR's short or full names, or their first letters: none is misspelt or out of order."""
    locale = Locale.parse(request.node.callspec.params["catalogue"])

    def plain(name: str) -> str:
        # without CLDR's mark of a clipped word, the nukta, and the one accent of Spanish names outside the GSM alphabet
        return name.rstrip("॰.").replace("\u093c", "").replace("á", "a")

    for position, name in enumerate(catalogue.weekdays):
        assert plain(locale.days["format"]["wide"][position]).startswith(name)
    for position, name in enumerate(catalogue.months, 1):
        assert plain(locale.months["format"]["wide"][position]).startswith(name)
    assert (len(catalogue.weekdays), len(catalogue.months)) == (7, 12)


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (12, "12"),
        (12.0, "12"),
        (12.5, "12.5"),
        (0.1 + 0.2, "0.3"),
        (2.005, "2.01"),
        (1_000_000, "1000000"),
        (100.0, "100"),
        (0, "0"),
        (-0.001, "0"),
        (Decimal("943.60"), "943.6"),
        (Decimal("1E+3"), "1000"),
    ],
)
def test_number(value: float | Decimal, text: str) -> None:
    """Whole numbers plain; else at most two decimals, the half rounded up, no zero at the end."""
    assert worded("en", "{mm}", mm=value) == text


@pytest.mark.parametrize(
    ("blocks", "english", "hindi"),
    [
        ("2", "block 2", "प्लॉट 2"),
        (["2"], "block 2", "प्लॉट 2"),
        (["1", "2"], "blocks 1 and 2", "प्लॉट 1 और 2"),
        (["1", "2", "3"], "blocks 1, 2 and 3", "प्लॉट 1, 2 और 3"),
        (["1", "2", "3", "4", "5"], "blocks 1, 2, 3 and 2 more", "प्लॉट 1, 2, 3 (2 और)"),
        ("all", "all blocks", "सब प्लॉट"),
    ],
)
def test_blocks(blocks: Any, english: str, hindi: str) -> None:
    """At most three are named."""
    assert worded("en", "{block:blocks}", block=blocks) == english
    assert worded("hi", "{block:blocks}", block=blocks) == hindi


def test_plain_name_without_an_entry_stays_as_it_is() -> None:
    """A village or a block's own name is the grower's word; braces in it are no placeholders."""
    assert worded("en", "{village}", village="Upper {Neem}") == "Upper {Neem}"


def test_missing_value_is_an_error() -> None:
    with pytest.raises(NoText, match="mm"):
        worded("en", "{mm} mm", date="2026-01-09")


@pytest.mark.parametrize("value", [True, {"a": 1}, object()])
def test_value_without_a_wording_is_an_error(value: Any) -> None:
    with pytest.raises(TypeError, match="mm"):
        worded("en", "{mm} mm", mm=value)


def test_key_is_never_sent_in_place_of_its_text() -> None:
    with pytest.raises(NoText, match="no_such"):
        Wording(["en"]).text("en", "no_such.key", {}, today=TODAY)


def test_items_share_what_is_common(monkeypatch: pytest.MonkeyPatch) -> None:
    """Each item is worded by <key>.item from its own values and the common ones; past three they are counted."""
    wording = Wording(["en"])
    entries = {"shown": "{date}: {items}.", "shown.item": "block {block} {mm} mm"}
    found = wording.catalogues["en"].find
    monkeypatch.setattr(wording.catalogues["en"], "find", lambda key: entries.get(key) or found(key))

    def text(*blocks: str) -> str:
        items = [{"block": block} for block in blocks]
        return wording.text("en", "shown", {"date": "2026-01-09", "mm": 5}, items, today=TODAY)

    assert text("1") == "Fri 9 Jan: block 1 5 mm."
    assert text("1", "2") == "Fri 9 Jan: block 1 5 mm; block 2 5 mm."
    assert text("1", "2", "3", "4").endswith("block 3 5 mm. 1 more: text MORE.")


def test_part_that_is_an_entry_of_its_own() -> None:
    value = {"key": "form.blocks", "n": "7"}

    assert worded("en", "On {where}.", where=value) == "On block 7."


@pytest.mark.parametrize(
    ("language", "one"), [("en", [1]), ("hi", [0, 1]), ("hi_Latn", [0, 1])], ids=["en", "hi", "hi_Latn"]
)
def test_what_counts_as_one(language: str, one: list[int]) -> None:
    """CLDR's plural rules: English has 1 alone as singular, Hindi 0 too."""
    plural = translations(language).plural

    assert [count for count in (0, 1, 2, 3, 11, 100) if plural(count) == 0] == one
