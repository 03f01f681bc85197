"""Shoots, trouble, and what a person answers; language, erasing, help and undo."""

from typing import Any

import pytest

from dialogs.every import DIALOGS


def resting(talk: Any) -> Any:
    talk.at("2026-12-26T08:20").has_block("1").has("rest_begun", day="2026-11-20")
    return talk.has("cut_set", day="2026-11-01", date="2027-01-04")


def test_many_shoots_in_the_rest_go_to_a_person(talk: Any) -> None:
    resting(talk).means("log_shoots", shoots="many")

    assert talk.written == [("shoots", "1", "2026-12-26", {"shoots": "many"})]
    assert (talk.last.matter.kind, talk.last.matter.block) == ("shoots", "1")
    assert talk.texts == [
        "Kept: many new shoots, block 1, Sat 26 Dec. Passed to the cooperative: a person will answer."
        " No water, no spray till then. UNDO."
    ]


def test_no_shoots_are_only_kept(talk: Any) -> None:
    resting(talk).means("log_shoots", shoots="none")

    assert talk.last.matter is None
    assert talk.texts == ["Kept: no new shoots, block 1, Sat 26 Dec. UNDO if wrong."]


def test_shoots_out_of_the_rest_are_only_kept(talk: Any) -> None:
    talk.has_block("1").means("log_shoots", percent=30)

    assert talk.written == [("shoots", "1", "2026-10-23", {"percent": 30})]
    assert talk.last.matter is None


def test_how_many_shoots_is_asked_and_may_stay_open(talk: Any) -> None:
    resting(talk).means("log_shoots")
    assert talk.keys == ["log_shoots.how_many"]
    talk.means("answer")

    assert talk.written == [("shoots", "1", "2026-12-26", {})]
    assert talk.last.matter.kind == "shoots"


def test_trouble_is_kept_and_passed_on(talk: Any) -> None:
    """No product, no dose."""
    talk.has_block("1").has_block("2").means("report_trouble", trouble="blight", block="1")

    assert talk.written == [("trouble", "1", "2026-10-23", {"trouble": "blight"})]
    assert (talk.last.matter.kind, talk.last.matter.block) == ("trouble", "1")
    assert talk.keys == ["report_trouble.kept"]


def test_trouble_without_a_block_on_file_is_heard(talk: Any) -> None:
    talk.means("report_trouble", trouble="hail", block="1")

    assert (talk.keys, talk.written, talk.last.matter.kind) == (["passed_on.told"], [], "trouble")


@pytest.mark.parametrize(
    ("task", "matter"),
    [
        ("ask", "question"),
        ("choose_season", "choose_season"),
        ("water_need", "water_need"),
        ("log_flowering", "flowering"),
        ("log_harvest", "harvest"),
        ("crew", "crew"),
    ],
)
def test_passed_on_and_said_so(talk: Any, task: str, matter: str) -> None:
    talk.has_block("1").means(task, people=8, weight_kg=300)

    assert (talk.keys, talk.written) == (["passed_on.told"], [])
    assert (talk.last.matter.kind, talk.last.matter.block) == (matter, "1")


def test_a_person(talk: Any) -> None:
    talk.means("person")

    assert (talk.keys, talk.last.matter.kind) == (["passed_on.person"], "person")


def test_first_steps(talk: Any) -> None:
    """In every state, at once, with the number to call; nothing is written, nothing under way is lost."""
    talk.has_block("1").means("log_rain")
    talk.means("hurt", product="ethephon")

    assert talk.written == []
    assert talk.last.matter.kind == "hurt"
    assert talk.asked == "log_rain.amount_mm"
    (text,) = talk.texts
    for word in ("Out of the spray", "clothes off", "15 minutes", "do NOT make vomit", "doctor", "112", "label"):
        assert word in text


def test_language(talk: Any) -> None:
    talk.means("language", language="hi_Latn")

    assert (talk.keys, talk.grower.language) == (["change_language.done"], "hi_Latn")


def test_a_language_that_is_not_there(talk: Any) -> None:
    talk.means("language", language="kn")
    assert talk.texts == ["Which language: English, Hindi or Hindi in English letters?"]

    assert talk.grower.language == "en"


def test_erasing_is_always_asked_back(talk: Any) -> None:
    talk.means("delete_me", clarify=True)
    assert (talk.keys, talk.last.erase) == (["delete_me.is_it"], False)
    talk.means("no")
    assert (talk.keys, talk.last.erase) == (["delete_me.kept"], False)
    talk.means("delete_me")
    talk.means("yes")

    assert talk.last.erase
    assert talk.conversation.open is None


def test_help_for_where_the_grower_is(talk: Any) -> None:
    talk.means("help")
    assert talk.keys == ["help.no_block"]
    talk.has_block("1").means("help")
    assert talk.keys == ["help.rest"]
    talk.means("unclear", word="more")
    assert talk.keys == ["help.rest_more"]
    talk.means("unclear", word="more")
    assert talk.keys == ["more.nothing"]
    talk.means("log_rain")
    talk.means("help")
    assert talk.keys == ["help.answer", "log_rain.how_much"]


def test_cancel_at_rest(talk: Any) -> None:
    talk.means("cancel")

    assert talk.keys == ["cancel.nothing"]


def test_undo_gives_the_earlier_plan_back(talk: Any) -> None:
    resting(talk).at("2026-12-08T07:10")
    before = talk.farm.plan("1")
    talk.means("log_rain", amount_mm=30, date="2026-12-07")
    assert talk.keys == ["log_rain.moved"]
    assert talk.farm.plan("1").cut > before.cut
    talk.means("undo")

    assert talk.texts == ["Taken back: 30 mm, Mon 7 Dec, block 1. The cut is Mon 4 Jan."]
    assert talk.farm.plan("1") == before


def test_rain_on_two_days_is_echoed_day_by_day(talk: Any) -> None:
    talk.has_block("1").means("log_rain", amount_mm=[12, 8], date=["2026-10-21", "2026-10-22"])

    assert talk.texts == ["Kept: 12 mm, Wed 21 Oct, block 1 and 8 mm, Thu 22 Oct, block 1. UNDO if wrong."]


def test_rain_on_two_blocks_in_words(talk: Any) -> None:
    talk.has_block("1").has_block("2").means("log_rain", rain_word="heavy")

    assert talk.texts == ["Kept: heavy rain, Fri 23 Oct, blocks 1 and 2. UNDO if wrong."]


def test_every_dialogue_has_a_name_for_questions_back() -> None:
    """Left lying, it is offered by its name (but what asks back itself, which names the task)."""
    from service.wording import Wording

    english = Wording(["en"]).catalogues["en"]
    unnamed = [name for name in DIALOGS if english.find(f"task.{name}") is None]

    assert set(unnamed) <= {"sure", "go_on"}


def test_buds_that_open_before_the_second_spray_drop_it(talk: Any) -> None:
    """Told as flowers after the cut, it is asked how many: then the second spray is skipped. Else a person hears."""
    talk.has_block("1").has("cut_set", day="2026-10-23", date="2027-01-04").has("rest_begun", day="2026-11-20")
    talk.has("spray", day="2026-12-17", product="ethephon").has("done", day="2027-01-04", job="cut")
    talk.at("2027-01-05T09:00").means("log_flowering")
    assert (talk.asked, talk.written) == ("log_shoots.shoots", [])
    talk.means("answer", shoots="few")

    assert [entry[0] for entry in talk.written] == ["shoots"]
    second = next(job for job in talk.farm.plan("1").jobs if job.kind == "second_spray")
    assert second.dropped is not None

    talk.means("log_flowering")
    assert (talk.keys, talk.written) == (["passed_on.told"], [])
