"""Catalogues tested as code: keys, placeholders, notes, characters, length in parts."""

import ast
import io
import re
import tomllib
import unicodedata
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from babel.messages.catalog import Catalog, Message
from babel.messages.pofile import read_po

from locales.compile import catalogues, is_stale
from service.segments import segments
from service.templates import Templates, is_outgoing, longest_values
from service.wording import pieces, spoken

HERE = Path(__file__).parent
ROOT = HERE.parent.parent
NEVER = tomllib.loads((HERE / "never.toml").read_text(encoding="utf-8"))
BUDGETS = tomllib.loads((HERE / "budgets.toml").read_text(encoding="utf-8"))
LONGER: dict[str, dict[str, Any]] = BUDGETS["longer"]


def read(po: Path) -> Catalog:
    return read_po(io.StringIO(po.read_text(encoding="utf-8")), abort_invalid=True)


def key_of(message: Message) -> str:
    return message.id if isinstance(message.id, str) else message.id[0]


def texts_of(message: Message) -> tuple[str, ...]:
    return (message.string,) if isinstance(message.string, str) else tuple(message.string)


def entries(catalogue: Catalog) -> dict[str, Message]:
    return {key_of(message): message for message in catalogue if message.id}


ENTRIES = {po.parent.name: entries(read(po)) for po in catalogues()}
ENGLISH = ENTRIES["en"]
LANGUAGES = sorted(ENTRIES)

each_language = pytest.mark.parametrize("language", LANGUAGES)


def all_texts(language: str) -> Iterator[tuple[str, str]]:
    for key, message in ENTRIES[language].items():
        for text in texts_of(message):
            yield key, text


def placeholders(text: str) -> set[str]:
    return {name for _, name, _ in pieces(text) if name is not None}


def forms(text: str) -> set[str]:
    return {form for _, _, form in pieces(text) if form}


# The catalogue itself


def test_every_catalogue_is_compiled() -> None:
    stale = [str(po) for po in catalogues() if is_stale(po)]

    assert not stale, "run python -m locales.compile"
    assert list(spoken()) == LANGUAGES


@each_language
def test_every_language_has_every_entry(language: str) -> None:
    assert set(ENGLISH) ^ set(ENTRIES[language]) == set()


@each_language
def test_nothing_is_left_untranslated_or_in_doubt(language: str) -> None:
    """gettext would show the key, or a doubtful (fuzzy) text would be left out of the .mo without a word."""
    poor = [
        key
        for key, message in ENTRIES[language].items()
        if message.fuzzy or not all(texts_of(message)) or message.context
    ]

    assert poor == []
    assert not read(ROOT / "locales" / language / "texts.po").obsolete


@each_language
def test_same_placeholders_in_every_language(language: str) -> None:
    different = {
        key: placeholders(text) ^ expected
        for key, text in all_texts(language)
        for expected in [placeholders(texts_of(ENGLISH[key])[0])]
        if placeholders(text) != expected and not (key.startswith("form.") and placeholders(text) < expected)
    }  # one plural form of a form may leave the number out: a dual

    assert different == {}


@each_language
def test_forms_exist(language: str) -> None:
    missing = {
        (key, form)
        for key, text in all_texts(language)
        for form in forms(text)
        if f"form.{form}" not in ENTRIES[language]
    }

    assert missing == set()


@each_language
def test_only_forms_have_plurals(language: str) -> None:
    catalogue = read(ROOT / "locales" / language / "texts.po")

    for key, message in ENTRIES[language].items():
        if message.pluralizable:
            assert key.startswith("form."), key
            assert message.id == (key, key)
            assert len(message.string) == catalogue.num_plurals, key


def test_every_entry_has_a_note_for_translators() -> None:
    assert [key for key, message in ENGLISH.items() if not message.auto_comments] == []


# What may stand in a text


@each_language
def test_characters(language: str) -> None:
    """No control, direction or invisible character, no space too many; one way of writing each letter (NFC)."""
    for key, text in all_texts(language):
        assert not [c for c in text if unicodedata.category(c) in {"Cc", "Cf", "Co", "Zl", "Zp"} and c != "\n"], key
        assert text == text.strip(), key
        assert "  " not in text, key
        assert text == unicodedata.normalize("NFC", text), key


@pytest.mark.parametrize("language", [language for language, parts in BUDGETS["parts"].items() if parts == 1])
def test_latin_texts_stay_in_the_gsm_alphabet(language: str) -> None:
    """One curly quote more than doubles what a text costs."""
    culprits = {key: found for key, text in all_texts(language) if (found := segments(text).culprits)}

    assert culprits == {}


@each_language
def test_words_never_written(language: str) -> None:
    def apart(text: str) -> str:
        return f" {''.join(c if unicodedata.category(c)[0] in 'LMN' else ' ' for c in text.casefold())} "

    found = {(key, word) for key, text in all_texts(language) for word in NEVER[language] if apart(word) in apart(text)}

    assert found == set()


# Length


@each_language
def test_parts(language: str) -> None:
    """Each text with the longest values that can occur keeps to its language's number of parts."""
    over = {}
    for template in Templates(language).outgoing.values():
        usual = BUDGETS["parts"][language]
        row = LONGER.get(template.key, {})
        allowed = row.get(language, row.get("parts" if usual == 1 else "ucs2", usual))
        if template.segments > allowed:
            over[template.key] = f"{template.segments} parts {template.encoding}; {allowed} allowed"

    assert over == {}


def test_what_may_be_longer_exists_and_says_why() -> None:
    assert set(LONGER) <= set(ENGLISH)
    assert all(row["reason"] for row in LONGER.values())


def test_what_is_sent_by_itself_is_known() -> None:
    """What code hands on as a reply or a question is a template; what it hands on within a value is none."""
    sent, within = keys_passed("Reply", "AskAgain", "Refused", "Ask"), keys_passed()

    assert [key for key in sent if not is_outgoing(key)] == []
    assert [key for key in within - sent if is_outgoing(key)] == []
    assert set(longest_values()["parts"].split()) <= {key.split(".")[0] for key in ENGLISH} | set(ENGLISH)


# Keys in code


@cache
def trees() -> list[ast.AST]:
    """The code that gives keys: not the orchard, which knows no texts."""
    paths = [path for folder in ("service", "dialogs") for path in sorted((ROOT / folder).rglob("*.py"))]
    return [
        ast.parse(path.read_text(encoding="utf-8"), str(path))
        for path in paths
        if not path.is_relative_to(ROOT / "service" / "orchard")
    ]


def literals() -> set[str]:
    """Every whole string in code."""
    pieces_of_others = {
        id(piece)
        for tree in trees()
        for node in ast.walk(tree)
        if isinstance(node, ast.JoinedStr)
        for piece in node.values
    }
    return {
        node.value
        for tree in trees()
        for node in ast.walk(tree)
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in pieces_of_others
    }


def openings() -> tuple[str, ...]:
    """What code puts together keys from: "reminder.item_" + job, or the same as an f-string."""
    begun: list[ast.expr] = []
    for tree in trees():
        for node in ast.walk(tree):
            if isinstance(node, ast.JoinedStr):
                begun.append(node.values[0])
            elif isinstance(node, ast.BinOp) and isinstance(node.op, ast.Add):
                begun.append(node.left)
    texts = {one.value for one in begun if isinstance(one, ast.Constant) and isinstance(one.value, str)}
    texts |= {text for text in literals() if text.endswith("_")}
    known = {key.split(".")[0] for key in ENGLISH}
    return tuple(text for text in texts if re.fullmatch(r"[a-z_]+\.[a-z0-9_.]*", text) and text.split(".")[0] in known)


PLACE = {"Reply": 0, "AskAgain": 0, "Refused": 0, "Ask": 1}


def keys_passed(*calls: str) -> set[str]:
    """What code hands on as the key of a text: to these calls, or without any as the "key" of a value or an item."""
    place = {call: PLACE[call] for call in calls}
    passed = set()
    for tree in trees():
        for node in ast.walk(tree):
            keys: list[ast.expr] = []
            if isinstance(node, ast.Call):
                called = node.func.id if isinstance(node.func, ast.Name) else getattr(node.func, "attr", "")
                if called in place:
                    keys = node.args[place[called] : place[called] + 1]
                    keys += [keyword.value for keyword in node.keywords if keyword.arg == "key"]
            elif isinstance(node, ast.Dict) and not calls:
                named = zip(node.keys, node.values, strict=True)
                keys = [value for name, value in named if isinstance(name, ast.Constant) and name.value == "key"]
            passed |= {key.value for key in keys if isinstance(key, ast.Constant) and isinstance(key.value, str)}
    return passed - {""}


def test_every_key_in_code_has_its_text() -> None:
    known = {key.split(".")[0] for key in ENGLISH}
    looks_like_one = {
        text
        for text in literals()
        if re.fullmatch(r"[a-z_]+(\.[a-z0-9_]*[a-z0-9])+", text) and text.split(".")[0] in known
    }

    assert (keys_passed() | keys_passed(*PLACE) | looks_like_one) - set(ENGLISH) == set()
    assert [opening for opening in openings() if not any(key.startswith(opening) for key in ENGLISH)] == []


def test_every_text_is_used() -> None:
    """By its whole key in code, by a key that code puts together, or by another text.

    One block's text and its form among several (cut, several.item_cut) are used together.
    """
    said, begun = literals(), openings()
    templates = [text for language in LANGUAGES for _, text in all_texts(language)]
    names = {name for text in templates for name in placeholders(text)}
    in_forms = {form for text in templates for form in forms(text)}

    def is_used(key: str) -> bool:
        if key in said or key.startswith(begun):
            return True
        first, _, rest = key.partition(".")
        if first == "form":
            return rest.split(".")[0] in in_forms
        if f"{first}.several.item_{rest}" in ENGLISH and is_used(f"{first}.several.item_{rest}"):
            return True
        return first in names or (key.endswith(".item") and is_used(key.removesuffix(".item")))

    assert [key for key in ENGLISH if not is_used(key)] == []
