"""The index of words: fresh, the same bytes each time, and what it makes of lists written for the test."""

from pathlib import Path

import pytest

from dialogs.lexicon import CONCEPTS, DUAL, Entry, Lexicons, NumberWord, bit
from locales import word_lists
from locales.word_lists import INDEX, WordLists, packed


def lexicons(**languages: dict[str, object]) -> Lexicons:
    return Lexicons(packed({tag: WordLists.merged([table]) for tag, table in languages.items()}, "a test"))


def concepts(entry: Entry | None) -> list[str]:
    return CONCEPTS.names(entry.mask) if entry else []


def test_the_index_was_made_from_the_files_that_are_here() -> None:
    assert not word_lists.is_stale(), "run python -m locales.compile"


def test_compiling_again_gives_the_same_bytes() -> None:
    """So what stands in the index is what the lists say, whatever the hash is over."""
    assert word_lists.compiled() == INDEX.read_bytes(), "run python -m locales.compile"


def test_one_letter_changed_makes_the_index_stale(tmp_path: Path) -> None:
    file = tmp_path / "words.toml"
    file.write_text("[words]\nrain = 'rain'", encoding="utf-8")
    before = word_lists.fingerprint([file])

    file.write_text("[words]\nrain = 'ruin'", encoding="utf-8")

    assert word_lists.fingerprint([file]) != before


def test_a_string_that_would_part_two_is_refused() -> None:
    with pytest.raises(ValueError, match=r"xx/latin words.*a\\x00b"):
        packed({"xx": WordLists.merged([{"words": {"rain": ["a\0b"]}}])}, "a test")


def test_of_languages_not_read_only_words_in_their_own_script_are_known() -> None:
    """Latin words of a language whose growers' words are not used might be other words here ("no me": number, in)."""
    lexicon = lexicons(
        xx={"words": {"rain": "barsa, barish aayi"}},
        yy={"words": {"wind": "barsa, pavan", "hail": "गारा, गारा पड़ली, gara padli"}},
    ).of("xx")

    assert concepts(lexicon.known("barsa")) == ["rain"]
    assert lexicon.known("pavan") is None
    assert concepts(lexicon.known("गारा")) == ["hail"]
    assert concepts(lexicon.phrase([lexicon.sound(word) for word in ("barish", "aayi")], 0)[1]) == ["rain"]
    assert concepts(lexicon.phrase(["गारा", "पड़ली"], 0)[1]) == ["hail"]
    assert lexicon.phrase(["gara", "padli"], 0) == (1, None)


def test_the_nearer_language_is_believed() -> None:
    """Its own words first, then those of the languages its growers read, in that order."""
    made = lexicons(
        xx={"reads": ["zz", "yy"], "words": {"rain": "megha"}},
        yy={"words": {"wind": "megha, vayu", "sun": "surya"}},
        zz={"words": {"hail": "megha, vayu"}},
    )

    assert concepts(made.of("xx").known("megha")) == ["rain"]
    assert concepts(made.of("xx").known("vayu")) == ["hail"]
    assert concepts(made.of("xx").known("surya")) == ["sun"]
    assert concepts(made.of("yy").known("megha")) == ["wind"]


def test_a_word_of_a_phrase_means_what_another_language_says() -> None:
    """Alone it means nothing in its own language, but is spelt right: no slip of another word."""
    made = lexicons(
        xx={"reads": ["yy"], "words": {"rain": "jordar pani, pakka", "soil": "jordaar"}},
        yy={"words": {"water": "pani"}},
    )

    assert concepts(made.of("xx").known("pani")) == ["water"]
    assert concepts(made.of("xx").resolve("jordar")[0]) == []
    assert concepts(made.of("xx").resolve("pakkla")[0]) == ["rain"]


def test_numbers_and_letters_for_sounds_come_through() -> None:
    """What a number word is worth, its table, and that a digit stands for a sound ("3ayez")."""
    lexicon = lexicons(
        xx={
            "numbers": {"3": "tin"},
            "multipliers": {"100": "sau"},
            "number_only_before_unit": "tin",
            "words": {"want": "3ayez"},
            "letter_digits": {"3": "E"},
            "duals": {"hour": "ghantein"},
        },
    ).of("xx")

    assert lexicon.known("tin") == Entry(0, NumberWord("numbers", 3, only_before_unit=True))
    assert lexicon.known("sau") == Entry(0, NumberWord("multipliers", 100, only_before_unit=False))
    assert lexicon.known("ghantein") == Entry(bit("hour"), NumberWord(DUAL, 2, only_before_unit=False))
    assert concepts(lexicon.known("Eayez")) == ["want"]
