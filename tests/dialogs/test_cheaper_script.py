"""Hindi is offered in Latin letters once, where nothing is under way."""

from dataclasses import replace
from typing import Any

import pytest

from dialogs.cheaper_script import in_latin_letters
from service.segments import segments
from service.wording import Wording, spoken

OFFER = "cheaper_script.offer"


@pytest.fixture
def hindi(talk: Any) -> Any:
    talk.grower = replace(talk.grower, language="hi")
    return talk.has_block()


def keys(turn: Any) -> list[str]:
    return [reply.key for reply in turn.replies]


def test_which_languages_can_be_had_in_latin_letters() -> None:
    """The folders of `locales/` say it: a language of its own and one in Latin letters."""
    found = {tag: in_latin_letters(tag, spoken()) for tag in spoken()}

    assert {tag: latin for tag, latin in found.items() if latin} == {"hi": "hi_Latn"}
    assert in_latin_letters("kn", ("kn", "kn_Latn")) == "kn_Latn"


@pytest.mark.parametrize("language", [tag for tag in spoken() if in_latin_letters(tag, spoken())])
def test_it_costs_one_part(language: str) -> None:
    text = Wording([language]).catalogues[language].entry(OFFER)

    assert segments(text).segments == 1


def test_offered_once(hindi: Any) -> None:
    assert keys(hindi.means("plan")) == ["plan.none", OFFER]
    assert hindi.grower.script_offered
    assert keys(hindi.means("plan")) == ["plan.none"]
    assert hindi.grower.language == "hi"  # never switched by itself


def test_offered_to_thanks_and_after_the_language_was_chosen(talk: Any) -> None:
    assert keys(talk.means("language", language="hi")) == ["change_language.done", OFFER]
    talk.grower = replace(talk.grower, script_offered=False)
    assert keys(talk.means("unclear", word="thanks")) == ["thanks", OFFER]


def test_not_offered_to_a_language_without_it(talk: Any) -> None:
    assert keys(talk.has_block().means("plan")) == ["plan.none"]
    assert keys(talk.means("language", language="hi_Latn")) == ["change_language.done"]


def test_who_leaves_latin_letters_knows_of_them(hindi: Any) -> None:
    hindi.grower = replace(hindi.grower, language="hi_Latn")

    assert keys(hindi.means("language", language="hi")) == ["change_language.done"]


def test_not_offered_before_consent_nor_after_stop(hindi: Any) -> None:
    for state in ({"joined": False}, {"stopped": True}):
        hindi.grower = replace(hindi.grower, **{"joined": True, "stopped": False, **state})
        assert OFFER not in keys(hindi.means("language", language="hi"))


def test_not_offered_where_something_is_asked_or_written(hindi: Any) -> None:
    assert OFFER not in keys(hindi.means("set_cut_day"))
    assert OFFER not in keys(hindi.means("plan"))  # the question for the cut day waits
    hindi.means("cancel")
    assert OFFER not in keys(hindi.means("log_rain", amount_mm=12))
