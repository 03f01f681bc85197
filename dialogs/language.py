"""A language as the dialogues see it: what `locales/<tag>/` holds, read once into frozen values.

The word lists of a language stand in `locales/<tag>/words*.toml`; `locales/en/words.toml` opens with a description
of the format. A new language is a new folder there.
"""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from importlib.resources import files
from types import MappingProxyType
from typing import Any

from dialogs.lexicon import Lexicon, Lexicons, WordLists


@dataclass(frozen=True)
class Language:
    """One language pack.

    tag: the name of its folder, one of the corpus's language tags
    """

    tag: str
    lexicons: Lexicons

    @property
    def lexicon(self) -> Lexicon:
        """Every word known to a grower whose phone is set to this language, own words first."""
        return self.lexicons.of(self.tag)


def load_languages() -> Mapping[str, Language]:
    """Read every folder of `locales/` that holds word lists; by tag, in the order of the tags."""
    lists: dict[str, WordLists] = {}
    for folder in sorted(files("locales").iterdir(), key=lambda entry: entry.name):
        if not folder.is_dir():
            continue
        tables: list[Mapping[str, Any]] = [
            tomllib.loads(entry.read_text(encoding="utf-8"))
            for entry in sorted(folder.iterdir(), key=lambda entry: entry.name)
            if entry.name.startswith("words") and entry.name.endswith(".toml")
        ]
        if tables:
            lists[folder.name] = WordLists.merged(tables)
    lexicons = Lexicons(lists)
    return MappingProxyType({tag: Language(tag, lexicons) for tag in lists})
