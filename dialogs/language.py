"""A language as the dialogues see it: what `locales/<tag>/` holds, read once into frozen values.

The word lists of a language stand in `locales/<tag>/words*.toml`; `locales/en/words.toml` opens with a description
of the format. A new language is a new folder there. What is read at run time is made from them: `locales/words.index`
by `python -m locales.compile`, `locales/tasks.model` by `python -m locales.train`.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from importlib.resources import files
from types import MappingProxyType

from dialogs.lexicon import Lexicon, Lexicons
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
    """All languages that have word lists; by tag, in the order of the tags."""
    lexicons = load_lexicons()
    model = TaskModel.read(files("locales").joinpath("tasks.model").read_bytes())
    return MappingProxyType({tag: Language(tag, lexicons, model) for tag in lexicons.tags})


def load_lexicons() -> Lexicons:
    """The words alone."""
    return Lexicons(files("locales").joinpath("words.index").read_bytes())
