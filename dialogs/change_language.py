"""Change the language of the texts (the corpus's task `language`).

grower   change to hindi
cutday   (in Hindi) From now on we text in Hindi. ...
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from dialogs.answers import listed
from dialogs.dialog import Ask, AskAgain, Dialog, Filled, Outcome, Reply
from dialogs.farm import Farm


def _spoken(value: Any, filled: Filled, farm: Farm) -> str:
    said = [tag for tag in listed(value) if tag in farm.languages]
    if len(said) != 1:
        raise AskAgain("change_language.which", **_all(filled, farm))
    return str(said[0])


def _all(filled: Filled, farm: Farm) -> Mapping[str, Any]:
    """Every language by its name: a list value would name three and count the others."""
    first, *others = ({"key": f"language.{tag}"} for tag in farm.languages)
    names: Mapping[str, Any] = first
    for position, name in enumerate(others, 1):
        names = {"key": "list.or" if position == len(others) else "list.next", "list": names, "next": name}
    return {"languages": names}


def _change(filled: Filled, farm: Farm) -> Outcome:
    return Outcome((Reply("change_language.done"),), grower={"language": filled["language"]})


CHANGE_LANGUAGE = Dialog(
    "language",
    asks=(Ask("language", "change_language.which", _spoken, values=_all, waits=False),),
    finish=_change,
)
