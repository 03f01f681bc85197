"""The model of tasks: fresh weights, the same bytes each time, true shares, and no text that costs much."""

import time
from datetime import date
from pathlib import Path

import pytest

from dialogs.language import load_languages, load_lexicons
from dialogs.task_model import TaskModel, consonants, words_of
from dialogs.understanding.weighing import together, weighed
from locales import train

LANGUAGES = load_languages()
MODEL = LANGUAGES["en"].model
SAMPLE = [
    train.Example("en", date(2025, 6, 10), None, text, task)
    for task, texts in {
        "log_rain": ("it rained last night", "rain 12 mm", "good rain here"),
        "crew": ("need five workers", "send labour for pruning", "how many people for harvest"),
        "stop": ("stop these messages", "no more messages", "end the messages"),
    }.items()
    for text in texts
]


def test_the_weights_were_made_from_the_files_that_are_here() -> None:
    assert not train.is_stale(), "run python -m locales.train"


def test_one_letter_changed_makes_the_weights_stale(tmp_path: Path) -> None:
    """The hash is over all that is in the files."""
    file = tmp_path / "examples.jsonl"
    file.write_text('{"text": "rain 12"}', encoding="utf-8")
    before = train.fingerprint([file])

    file.write_text('{"text": "rain 13"}', encoding="utf-8")

    assert train.fingerprint([file]) != before


def test_training_gives_the_same_bytes_and_learns_its_texts() -> None:
    """Twice the same; a text seen, and one like it, get their task."""
    packed = train.train(SAMPLE, load_lexicons(), "x", rounds=30)

    assert packed == train.train(SAMPLE, load_lexicons(), "x", rounds=30)
    model = TaskModel.read(packed)
    for text, task in (("send labour for pruning", "crew"), ("rained at night", "log_rain"), ("end messages", "stop")):
        shares = model.shares(text, 0, None, "en")
        assert max(shares, key=shares.__getitem__) == task


@pytest.mark.parametrize("text", ["", "rain 12", "ನೀರು ಕೊಟ್ಟೆ", "\u0301" * 40, "\ud800", "?" * 500])
@pytest.mark.parametrize("asking", [None, "amount_mm", "no such slot"])
def test_shares_are_together_one(text: str, asking: str | None) -> None:
    shares = MODEL.shares(text, 0, asking, "xx")

    assert sum(shares.values()) == pytest.approx(1, abs=1e-5)
    assert all(share >= 0 for share in shares.values())


def test_a_long_text_costs_no_more_than_what_is_read_of_it() -> None:
    """A megabyte of new words against the longest text that is read; the best of five, as the machine may be busy."""

    def cost(size: int, salt: int) -> float:
        text = " ".join(f"w{salt}q{n}z" for n in range(size))
        start = time.perf_counter()
        MODEL.shares(text, 0, None, "en")
        return time.perf_counter() - start

    assert min(cost(100_000, salt) for salt in range(5)) < 20 * min(cost(60, salt) for salt in range(10, 15))


def test_numbers_count_only_by_how_long_they_are() -> None:
    """17 mm and 23 mm are one text to the model; a day and month is told from a number."""
    assert words_of("17 mm") == words_of("23 mm")
    assert words_of("5/6") != words_of("56")


@pytest.mark.parametrize("spellings", [("phool", "फूल", "fl", "ಫೂಲ್"), ("pani", "पानी", "pn"), ("matar", "مطر")])
def test_spellings_and_scripts_meet_in_their_consonants(spellings: tuple[str, ...]) -> None:
    """Letters by their Unicode names; vowels and h are not counted (from memory)."""
    assert len({consonants(word) for word in spellings}) == 1


def test_devanagari_and_kannada_are_typed_in_latin_letters_as_people_do() -> None:
    """The unwritten a is silent at the end of a Hindi word and spoken in Kannada; long vowels vary with chance."""
    always = type("Always", (train.random.Random,), {"random": lambda self: 0.0})()

    assert train.romanised("बारिश नहीं 12", always) == "barish nahin 12"
    assert train.romanised("ನೀರು", always) == "niru"


@pytest.mark.parametrize(
    ("likely", "expected"),
    [
        ({"unclear": 0.35, "ask": 0.65}, ("ask", False)),
        ({"unclear": 0.05, "log_rain": 0.95}, ("log_rain", True)),  # a write that the rules did not choose
        ({"log_rain": 0.95, "hurt": 0.05}, ("hurt", False)),  # better one call too many
        ({"unclear": 0.3, "stop": 0.7}, ("unclear", False)),  # to be left alone is not put into anyone's mouth
        ({"unclear": 0.05, "stop": 0.95}, ("stop", True)),
    ],
)
def test_the_likeliest_is_taken_but_for_calls_for_help_and_ends(
    likely: dict[str, float], expected: tuple[str, bool]
) -> None:
    """From the rulings: hurt outranks all. Here the rules said unclear."""
    assert weighed("unclear", likely) == expected


def test_an_answer_and_the_task_that_is_named_say_the_same() -> None:
    """ "patte 90 pratishat gire", asked for the percentage: 0.85 of a task and 0.15 of an answer leave nothing else."""
    assert weighed("answer", {"log_leaf_drop": 0.85, "answer": 0.15}) == ("log_leaf_drop", False)


@pytest.mark.parametrize(("share", "ask_back"), [(0.95, False), (0.85, True)])
def test_a_write_that_is_not_sure_is_asked_back(share: float, ask_back: bool) -> None:
    """Sure is nine in ten."""
    assert weighed("log_rain", {"log_rain": share, "ask": 1 - share}) == ("log_rain", ask_back)


def test_rules_and_model_are_weighed_by_their_odds() -> None:
    """Worked out by hand: shares one half each; the rules' choice with 10 points is e^(0.72 + 0.82) = 4.66 to 1."""
    likely = together("plan", [("plan", 10.0)], {"plan": 0.5, "ask": 0.5}, never=())

    assert likely["plan"] == pytest.approx(4.66 / 5.66, abs=0.01)
    assert sum(likely.values()) == pytest.approx(1)


def test_what_a_text_cannot_be_has_no_share() -> None:
    """At rest nothing is an answer, however much it looks like one; but what the rules chose stays."""
    assert together("plan", [], {"plan": 0.1, "answer": 0.9}, never=("answer",)) == {"plan": 1.0}
    assert "answer" in together("answer", [], {"plan": 0.1, "answer": 0.9}, never=("answer",))
