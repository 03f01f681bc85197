"""A language as the dialogues see it: what `locales/<tag>/` holds, read once into frozen values.

The word lists of a language stand in `locales/<tag>/words*.toml`; `locales/en/words.toml` opens with a description
of the format. A new language is a new folder there. `locales/tasks.model` is made by `python -m locales.train`.
"""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from importlib.resources import files
from types import MappingProxyType
from typing import Any

from dialogs.lexicon import Lexicon, Lexicons, WordLists
from dialogs.task_model import TaskModel


@dataclass(frozen=True)
class Language:
    """One language pack.

    tag: the name of its folder, one of the corpus's language tags
    model: how likely each task is, told from the letters of a text; one for all languages
    """

    tag: str
    lexicons: Lexicons
    model: TaskModel

    @property
    def lexicon(self) -> Lexicon:
        """Every word known to a grower whose phone is set to this language, own words first."""
        return self.lexicons.of(self.tag)


def load_languages() -> Mapping[str, Language]:
    """Read every folder of `locales/` that holds word lists; by tag, in the order of the tags."""
    lexicons = load_lexicons()
    model = TaskModel.read(files("locales").joinpath("tasks.model").read_bytes())
    return MappingProxyType({tag: Language(tag, lexicons, model) for tag in lexicons.tags})


def load_lexicons() -> Lexicons:
    """The words alone."""
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
    return Lexicons(lists)
