"""The dialogue machine: no dead end, nothing lost, what may be said after stop and before joining."""

import itertools
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dialogs.conversation import asking, reminded, turn
from dialogs.dialog import Conversation, Open, Reply
from dialogs.every import DIALOGS
from dialogs.understanding import Meaning, Reading
from service.orchard.plan import Due, due

# One thing that a grower may say, as understood: task and slots. Every slot that a dialogue reads occurs, also with
# values that cannot be.
SAID: tuple[tuple[str, dict[str, Any]], ...] = (
    ("yes", {}),
    ("no", {}),
    ("answer", {}),
    ("answer", {"block": "1"}),
    ("answer", {"block": "9"}),
    ("answer", {"block": "all"}),
    ("answer", {"date": "2026-11-20"}),
    ("answer", {"date": "2027-01-04"}),
    ("answer", {"date": "2019-01-04"}),
    ("answer", {"amount_mm": 12}),
    ("answer", {"amount_mm": 3000}),
    ("answer", {"amount_mm": [12, 8], "date": ["2026-12-01", "2026-12-02"]}),
    ("answer", {"rain_word": "heavy"}),
    ("answer", {"plants": 120}),
    ("answer", {"plants": 0}),
    ("answer", {"spacing_m": [3.7, 2.4]}),
    ("answer", {"area_ha": 0.4}),
    ("answer", {"planted": "2021-07"}),
    ("answer", {"planted": "2025"}),
    ("answer", {"planted": "2031"}),
    ("answer", {"soil": "red", "water_source": "drip"}),
    ("answer", {"percent": 90}),
    ("answer", {"percent": 400}),
    ("answer", {"job": 1}),
    ("answer", {"job": "cut"}),
    ("answer", {"product": "ethephon"}),
    ("answer", {"minutes": 70, "litres_per_plant": 5}),
    ("answer", {"volume_l": 30, "ppm": 1000}),
    ("answer", {"delay_days": 3}),
    ("answer", {"language": "hi"}),
    ("answer", {"language": "kn"}),
    ("answer", {"name": "Ratna", "village": "Far Well"}),
    ("answer", {"shoots": "many"}),
    ("answer", {"trouble": "blight"}),
    ("answer", {"month": "2026-09"}),
    ("unclear", {}),
)
TASKS = sorted(
    "join register_block my_blocks choose_season plan set_cut_day todays_jobs report_done postpone log_rain "
    "log_watering log_leaf_drop mix_spray log_spray water_need report_trouble log_shoots log_flowering log_harvest "
    "crew hurt ask person language stop resume delete_me help cancel undo".split()
)
FRESH = [(task, {}) for task in TASKS] + [
    ("set_cut_day", {"date": "2027-01-04", "block": "all"}),
    ("report_done", {"job": "rest", "date": "2026-12-09"}),
    ("log_rain", {"amount_mm": 120}),
    ("log_rain", {"amount_mm": 12, "block": "2"}),
    ("log_spray", {"product": "ethephon"}),
    (
        "register_block",
        {"plants": 300, "spacing_m": [4.0, 3.0], "planted": "2020", "soil": "red", "water_source": "drip"},
    ),
]


def on_a_farm(talk: Any, blocks: int = 2) -> Any:
    """A farm in the middle of a rest."""
    talk.at("2026-12-10T09:00")
    for number in [str(n + 1) for n in range(blocks)]:
        talk.has_block(number).has("rest_begun", number, "2026-11-20").has(
            "cut_set", number, "2026-11-01", date="2027-01-04"
        )
    return talk


def opened(new_talk: Callable[[], Any]) -> Iterator[Any]:
    """A talk at every question that one or two texts from rest lead to, each question once."""
    seen: set[tuple[str, str]] = set()
    begun: list[list[tuple[str, dict[str, Any]]]] = [[said] for said in FRESH]
    while begun:
        path = begun.pop(0)
        for blocks in (1, 2):
            talk = on_a_farm(new_talk(), blocks)
            for task, slots in path:
                talk.means(task, **slots)
            put = talk.conversation.open
            if put is None or (put.dialog, put.asked) in seen:
                continue
            seen.add((put.dialog, put.asked))
            yield path, blocks
            if len(path) < 5:
                begun += [[*path, said] for said in SAID]


def test_every_question_takes_every_kind_of_answer(new_talk: Any) -> None:
    """From every question that can be reached: any answer moves on, asks again or closes; none fails or is met by
    silence; and help, cancel, stop, hurt and a fresh task work."""
    questions = 0
    for path, blocks in opened(new_talk):
        questions += 1
        for task, slots in (*SAID, *FRESH):
            talk = on_a_farm(new_talk(), blocks)
            for step in path:
                talk.means(step[0], **step[1])
            asked = talk.asked
            talk.means(task, **slots)

            assert talk.keys or task in ("stop", "resume"), (path, asked, task, slots)
            if task == "hurt":
                assert (talk.keys, talk.asked) == (["hurt.first_steps"], asked)
            if task == "stop":
                assert talk.grower.stopped
                assert talk.conversation.open is None
            if task == "cancel":
                assert talk.asked is None
            if task == "help":
                assert talk.keys[0] == "help.answer"
                assert talk.asked == asked
    assert questions >= 30


def test_every_dialogue_is_reached_or_opened_by_name(new_talk: Any) -> None:
    """The walk above meets every question that is put in the middle of a farm's year."""
    met = set()
    for path, blocks in opened(new_talk):
        talk = on_a_farm(new_talk(), blocks)
        for task, slots in path:
            talk.means(task, **slots)
        met.add(talk.conversation.open.dialog)
    asking_some = {name for name, dialog in DIALOGS.items() if any(ask.key for ask in dialog.asks)}

    # join and who: strangers only; stop, sure, choose, go_on: tested below; was_done: opened by a reminder
    assert asking_some - met <= {"join", "who", "stop", "sure", "choose", "go_on", "was_done"}


meanings = st.sampled_from([*SAID, *FRESH, *FRESH])


@settings(max_examples=300)
@given(
    texts=st.lists(st.tuples(meanings, st.booleans(), st.sampled_from([None, None, None, "more", "why", "thanks"]))),
    minutes=st.lists(st.sampled_from([1, 1, 1, 200, 2000]), min_size=30, max_size=30),
    blocks=st.integers(0, 3),
    joined=st.booleans(),
)
def test_any_conversation_goes_on(
    new_talk: Any, texts: list[Any], minutes: list[int], blocks: int, joined: bool
) -> None:
    """Whatever is said in whatever order: no text fails, the row keeps the conversation (checked by the talk), every
    write is about a block that there is, and at the end the ways out work."""
    talk = on_a_farm(new_talk(), blocks)
    talk.grower = replace(talk.grower, joined=joined)
    for ((task, slots), clarify, word), pause in zip(texts, itertools.cycle(minutes), strict=False):
        talk.later(minutes=pause)
        numbers = set(talk.farm.every_block)
        talk.means(task, word=word, clarify=clarify, **slots)

        for kind, block, _, _ in talk.written:
            assert kind == "block" or block is None or block in numbers
        assert len(talk.texts) <= 6
    for way_out in ("help", "hurt", "cancel", "person"):
        talk.means(way_out)
        if not talk.grower.stopped or way_out in ("help", "hurt"):
            assert talk.keys, way_out
    talk.means("stop")

    assert talk.grower.stopped
    assert talk.conversation.open is None


def test_nothing_is_written_before_joining(new_talk: Any) -> None:
    """Whatever a stranger texts, it is kept for the yes."""
    for task, slots in (*FRESH, *SAID):
        talk = new_talk()
        talk.grower = replace(talk.grower, joined=False)
        talk.means(task, **slots)

        assert not talk.last.entries, task
        assert not talk.last.erase, task


def test_a_stranger_may_choose_a_language_and_be_erased(talk: Any) -> None:
    talk.grower = replace(talk.grower, joined=False)
    talk.means("language")
    talk.means("answer", language="hi")
    assert talk.grower.language == "hi"
    talk.means("delete_me", clarify=True)
    assert not talk.last.erase
    talk.means("yes")

    assert talk.last.erase


def test_after_stop_only_what_was_promised(new_talk: Any) -> None:
    """hurt, resume, help, language, delete_me are answered, stop is obeyed in silence; the rest is met once a day."""
    for task in TASKS:
        talk = on_a_farm(new_talk())
        talk.means("stop")
        talk.means(task)
        if task in ("hurt", "help", "language", "delete_me", "resume"):
            assert talk.keys
            assert talk.keys != ["stop.how_to_resume"]
        elif task == "stop":
            assert talk.keys == []
        else:
            assert (talk.keys, talk.written) == (["stop.how_to_resume"], [])
            talk.later(hours=3).means(task)
            assert talk.keys == []
            talk.later(days=1).means(task)
            assert talk.keys == ["stop.how_to_resume"]


def test_erased_after_stop_by_a_yes(talk: Any) -> None:
    on_a_farm(talk).means("stop")
    talk.means("delete_me", clarify=True)
    talk.means("yes")

    assert talk.last.erase


def test_the_language_after_stop(talk: Any) -> None:
    on_a_farm(talk).means("stop")
    talk.means("language")
    talk.means("answer", language="hi")

    assert talk.grower.language == "hi"
    assert talk.grower.stopped


def test_first_steps_go_on_after_stop(talk: Any) -> None:
    on_a_farm(talk).means("stop")
    talk.means("hurt")
    talk.means("unclear", word="more")

    assert talk.keys == ["hurt.more"]


def test_the_exact_word_stops_at_once(talk: Any) -> None:
    """In the middle of a question too; what was under way is not put again."""
    on_a_farm(talk).means("report_trouble", block="1")
    talk.hears(Meaning("stop", {}, bare=True))

    assert talk.keys == ["stop.done"]
    assert talk.conversation == Conversation()


def test_a_wish_to_stop_is_asked_back(talk: Any) -> None:
    on_a_farm(talk).means("stop", clarify=True)
    assert (talk.keys, talk.grower.stopped) == (["stop.is_it"], False)
    talk.means("no")
    assert (talk.keys, talk.grower.stopped) == (["stop.goes_on"], False)
    talk.means("stop", clarify=True)
    talk.means("yes")

    assert talk.grower.stopped


def test_resume(talk: Any) -> None:
    on_a_farm(talk).means("stop")
    talk.means("resume")

    assert (talk.keys, talk.grower.stopped) == (["resume.done"], False)


def test_resumed_by_a_stranger_is_joining(talk: Any) -> None:
    """Stopped before ever joining: START asks for the agreement."""
    talk.grower = replace(talk.grower, joined=False)
    talk.means("stop")
    talk.means("resume")
    assert talk.keys == ["join.agree"]
    talk.means("yes")

    assert (talk.grower.joined, talk.grower.stopped) == (True, False)


# The subject changed, and come back to


def test_another_task_between_and_back(talk: Any) -> None:
    on_a_farm(talk, 1).means("register_block", plants=300)
    talk.means("log_rain", amount_mm=12)
    assert talk.written == [("rain", None, "2026-12-10", {"amount_mm": 12})]
    assert talk.keys[-1] == "register_block.spacing"
    talk.means("answer", spacing_m=[4.0, 3.0])

    assert talk.asked == "register_block.planted"


def test_a_question_answered_by_the_text_between_is_not_put_again(talk: Any) -> None:
    """ "stopped water 20 nov", asked whether it is stopped, is a report of its own."""
    talk.at("2026-12-10T09:00").has_block("1")
    talk.means("register_block", plants=300, spacing_m=[4.0, 3.0], planted="2020", soil="red", water_source="drip")
    assert talk.asked == "begun.rest_day"
    talk.means("report_done", job="rest", date="2026-11-20", block="2")

    assert ("rest_begun", "2", "2026-11-20", {}) in talk.written
    assert talk.asked == "begun_spray.spray_day"


def test_the_task_said_again_with_the_answer_goes_on(talk: Any) -> None:
    """ "rain 12", asked how much rain: day and block of the first text still hold."""
    on_a_farm(talk).means("log_rain", date="2026-12-08", block="2")
    assert talk.asked == "log_rain.amount_mm"
    talk.means("log_rain", amount_mm=12)

    assert talk.written == [("rain", "2", "2026-12-08", {"amount_mm": 12})]


def test_the_task_said_anew_begins_anew(talk: Any) -> None:
    """Another block than the one under way: nothing of the first is mixed in."""
    on_a_farm(talk).means("log_rain", date="2026-12-08", block="2")
    talk.means("log_rain", amount_mm=12, block="1")

    assert talk.written == [("rain", "1", "2026-12-10", {"amount_mm": 12})]


def test_twelve_or_a_hundred_and_twenty(talk: Any) -> None:
    """Asked back once; understanding's own doubt does not ask a second time."""
    on_a_farm(talk).means("log_rain", clarify=True, amount_mm=120)
    assert (talk.keys, talk.written) == (["log_rain.so_much"], [])
    talk.means("log_rain", amount_mm=12)

    assert talk.written == [("rain", None, "2026-12-10", {"amount_mm": 12})]


def test_a_hundred_and_twenty_it_was(talk: Any) -> None:
    on_a_farm(talk).means("log_rain", clarify=True, amount_mm=120)
    talk.means("log_rain", clarify=True, amount_mm=120)

    assert talk.written == [("rain", None, "2026-12-10", {"amount_mm": 120})]


# Unsure


def test_unsure_is_asked_back_with_what_was_read(talk: Any) -> None:
    on_a_farm(talk).means("log_rain", clarify=True, amount_mm=21, block="2")
    assert talk.texts == ["Did you mean: rain (block 2 and 21 mm)? YES or NO."]
    assert talk.written == []
    talk.means("yes")

    assert talk.written == [("rain", "2", "2026-12-10", {"amount_mm": 21})]


def test_no_twentyone(talk: Any) -> None:
    """ "no 12" to the question back: the rest of what was read holds."""
    on_a_farm(talk).means("log_rain", clarify=True, amount_mm=21, block="2")
    talk.means("answer", amount_mm=12)

    assert talk.written == [("rain", "2", "2026-12-10", {"amount_mm": 12})]


def test_not_understood_offers_readings(talk: Any) -> None:
    readings = (Reading("log_rain", {"amount_mm": 30}, 5.0), Reading("log_leaf_drop", {"percent": 30}, 4.0))
    on_a_farm(talk, 1).means("unclear", readings=readings)
    assert talk.texts == [
        "Not sure what you mean. Is it 1 rain or 2 leaf fall? Or 3 for none of these. Send the number."
    ]
    assert asking(talk.conversation) == "job"
    talk.means("answer", job=1)

    assert talk.written == [("rain", None, "2026-12-10", {"amount_mm": 30})]


def test_not_understood_twice_goes_to_a_person(talk: Any) -> None:
    on_a_farm(talk).means("unclear")
    assert (talk.keys, talk.last.progress) == (["lost.say_again"], False)
    talk.means("unclear")

    assert talk.keys == ["lost.to_person"]
    assert talk.last.matter.kind == "not_understood"


def test_a_reply_of_no_use_twice_goes_to_a_person(talk: Any) -> None:
    on_a_farm(talk).means("log_leaf_drop", block="1")
    talk.means("unclear")
    assert talk.asked == "log_leaf_drop.percent"
    talk.means("unclear")

    assert (talk.keys, talk.asked) == (["lost.to_person"], None)


# Left lying


def test_a_late_bare_answer_is_offered_to_go_on(talk: Any) -> None:
    """121 minutes later: nothing is written before the yes."""
    on_a_farm(talk).means("log_rain", block="2")
    talk.later(minutes=121).means("answer", amount_mm=12)
    assert (talk.keys, talk.written) == (["go_on.shall_we"], [])
    talk.means("yes")

    assert talk.written == [("rain", "2", "2026-12-10", {"amount_mm": 12})]


def test_within_two_hours_it_is_open(talk: Any) -> None:
    on_a_farm(talk).means("log_rain", block="2")
    talk.later(minutes=120).means("answer", amount_mm=12)

    assert talk.written == [("rain", "2", "2026-12-10", {"amount_mm": 12})]


def test_a_late_new_text_is_not_followed_by_the_old_question(talk: Any) -> None:
    on_a_farm(talk, 1).means("register_block", plants=300)
    talk.later(minutes=121).means("log_rain", amount_mm=12)

    assert len(talk.keys) == 1
    assert talk.asked is None


def test_a_dialogue_that_no_longer_exists_closes(talk: Any) -> None:
    """Also where the question is gone, or a block that it is about; what waits below comes up."""
    on_a_farm(talk)
    below = Open("log_rain", {"block": ["1"]}, "amount_mm", talk.now.isoformat())
    for gone in (
        Open("weigh_goats", {}, "goats", talk.now.isoformat()),
        Open("log_rain", {}, "goats", talk.now.isoformat()),
        Open("log_rain", {"block": ["7"]}, "amount_mm", talk.now.isoformat()),
    ):
        talk.conversation = Conversation(open=gone, waiting=below)
        talk.means("answer", amount_mm=12)
        assert talk.written == [("rain", "1", "2026-12-10", {"amount_mm": 12})]
        talk.conversation = Conversation(open=gone)
        talk.means("answer", amount_mm=12)
        assert talk.keys == ["lost.say_again"]


@pytest.mark.parametrize(
    "row",
    [
        {},
        {"open": None},
        {"open": "log_rain"},
        {"open": {"dialog": "log_rain"}},
        {"open": {"dialog": "log_rain", "filled": {}, "asked": "amount_mm", "since": "yesterday"}},
        {"open": {"dialog": "log_rain", "filled": [], "asked": "amount_mm", "since": "2026-12-10T09:00"}},
        {"open": {"dialog": "log_rain", "filled": {}, "asked": "amount_mm", "since": "2026-12-10T09:00", "until": 7}},
    ],
)
def test_a_row_of_another_shape_is_a_conversation_at_rest(talk: Any, row: dict[str, Any]) -> None:
    assert Conversation.from_json(row) == Conversation()


def test_round_trip_of_everything() -> None:
    again = Reply("day.is_past", {"date": "2026-12-09"})
    put = Open("log_rain", {"block": ["1"]}, "amount_mm", "2026-12-10T09:00", None, 1, again)
    whole = Conversation(
        put,
        replace(put, again=None, until="2026-12-12T09:00"),
        (Reply("plan.after_cut", {"block": "1"}, ({"block": "2"},)),),
        Reply("why.rest"),
        1,
        (("1", "cut"),),
        "2026-12-10",
    )

    assert Conversation.from_json(whole.to_json()) == whole


# Reminders


def test_a_reminder_puts_its_question(talk: Any) -> None:
    """The leaf check's question stays open past two hours, to the end of its window; a bare number answers it."""
    talk.at("2026-12-17T10:00").has_block("1").has("rest_begun", day="2026-11-20")
    talk.has("cut_set", day="2026-11-01", date="2027-01-04").has("spray", day="2026-12-17", product="ethephon")
    talk.at("2026-12-27T06:30")
    farm = talk.farm
    since = talk.now.replace(hour=0)
    dues = due(farm.plan("1"), since, talk.now, farm.settings)
    assert [(one.job, one.occasion) for one in dues] == [("leaf_check", "morning")]
    talk.conversation = reminded(talk.conversation, dues, farm)
    talk.at("2026-12-28T19:30").means("answer", percent=90)

    assert talk.written == [("leaf_drop", "1", "2026-12-28", {"percent": 90})]


def test_a_reminder_does_not_take_the_open_dialogue_away(talk: Any) -> None:
    talk.at("2026-12-17T10:00").has_block("1").has("rest_begun", day="2026-11-20")
    talk.has("cut_set", day="2026-11-01", date="2027-01-04").has("spray", day="2026-12-17", product="ethephon")
    talk.at("2026-12-27T06:30")
    talk.means("log_rain")
    farm = talk.farm
    dues = due(farm.plan("1"), talk.now.replace(hour=0), talk.now, farm.settings)
    talk.conversation = reminded(talk.conversation, dues, farm)
    assert talk.asked == "log_rain.amount_mm"
    talk.means("answer", amount_mm=2)

    assert talk.asked == "log_leaf_drop.percent"
    assert len(talk.keys) == 1  # the reminder's question is known: it costs no second text


def test_ok_is_thanks_not_done(talk: Any) -> None:
    """Cut 4 Jan: the leaf spray of 17 Dec is announced the evening before, and on the morning."""
    on_a_farm(talk)
    for at in ("2026-12-16T18:45", "2026-12-17T07:00", "2026-12-18T07:00"):
        talk.at(at).conversation = replace(talk.conversation, listed=(("1", "defoliate"),))
        talk.means("yes", word="thanks")

        assert (talk.keys, talk.written) == (["thanks.report"], [])


def test_ok_to_what_is_days_off_is_only_thanks(talk: Any) -> None:
    """Asked for days ahead, or put off since: there is nothing to report yet."""
    on_a_farm(talk)
    talk.conversation = replace(talk.conversation, listed=(("1", "defoliate"),))
    talk.means("yes", word="thanks")

    assert (talk.keys, talk.written) == (["thanks"], [])


def test_ok_to_a_question_is_yes(talk: Any) -> None:
    on_a_farm(talk).means("log_rain", clarify=True, amount_mm=21)
    talk.means("yes", word="thanks")

    assert talk.written == [("rain", None, "2026-12-10", {"amount_mm": 21})]


def test_turn_is_pure(talk: Any) -> None:
    """The same text on the same state gives the same turn."""
    on_a_farm(talk).means("log_rain", block="2")
    meaning = Meaning("answer", {"amount_mm": 12})

    assert turn(talk.conversation, meaning, None, "", talk.farm) == turn(
        talk.conversation, meaning, None, "", talk.farm
    )


def test_a_bare_answer_is_to_the_latest_reminder(talk: Any) -> None:
    """The evening asks for the label, the morning for the leaves fallen: "10" is leaves."""
    on_a_farm(talk, blocks=1)
    for at in ("2026-12-16T18:30", "2026-12-17T06:30"):
        talk.at(at)
        dues = due(talk.farm.plan("1"), talk.now - timedelta(hours=1), talk.now, talk.farm.settings)
        talk.conversation = reminded(talk.conversation, dues, talk.farm)

    assert talk.asked == "log_leaf_drop.percent"


def test_ok_to_a_reminder_that_asks_is_thanks(talk: Any) -> None:
    """The question stays open: the figure is still awaited, and no word of it is lost."""
    on_a_farm(talk, blocks=1).at("2026-12-16T18:30")
    dues = due(talk.farm.plan("1"), talk.now - timedelta(hours=1), talk.now, talk.farm.settings)
    talk.conversation = reminded(talk.conversation, dues, talk.farm)
    for _ in range(3):
        talk.means("yes", word="thanks")
        assert (talk.keys, talk.written) == (["thanks.report"], [])

    assert talk.asked == "mix_spray.grams_per_litre"


@pytest.mark.parametrize("task", ["yes", "no"])
def test_a_bare_yes_or_no_at_rest_takes_nothing_back(talk: Any, task: str) -> None:
    """An echo ends by asking whether it is wrong: "no" is that all is well, "yes" is no word for taking it back."""
    on_a_farm(talk, blocks=1).means("log_rain", amount_mm=12)
    for _ in range(3):
        talk.means(task)

        assert (talk.keys, talk.written, talk.asked) == (["undo.stands"], [], None)


def test_a_reminders_yes_or_no_is_asked_again_after_another_echo(talk: Any) -> None:
    """Else a "no" to "12 mm, wrong?" would be taken as the job not done. It stays open as long as before."""
    on_a_farm(talk, blocks=1).at("2026-12-25T06:30")  # the last day of the spray of 17 Dec is 22 Dec
    asks = Due("1", 1, "defoliate", None, date(2026, 12, 17), "ask", talk.now)
    talk.conversation = reminded(talk.conversation, [asks], talk.farm)
    until = talk.conversation.open.until
    talk.means("log_rain", amount_mm=12)

    assert talk.keys[-1] == "was_done.was_it"
    assert (talk.asked, talk.conversation.open.until) == ("was_done.confirm", until)


def test_handed_to_a_person_it_is_not_said_again_for_ten_minutes(talk: Any) -> None:
    on_a_farm(talk, 1).means("unclear")
    assert talk.keys == ["lost.say_again"]
    talk.later(minutes=1).means("unclear")
    assert (talk.keys, talk.last.matter.kind) == (["lost.to_person"], "not_understood")
    talk.later(minutes=9, seconds=59).means("unclear")
    assert (talk.keys, talk.last.progress) == ([], False)
    talk.later(seconds=1).means("unclear")
    assert talk.keys == ["lost.say_again"]


def test_what_is_understood_ends_the_silence(talk: Any) -> None:
    on_a_farm(talk, 1).means("unclear")
    talk.means("unclear")
    assert talk.keys == ["lost.to_person"]
    talk.means("undo")
    assert talk.keys == ["undo.nothing"]
    talk.means("unclear")
    assert talk.keys == ["lost.say_again"]


def test_a_grower_chooses_his_evenings(talk: Any) -> None:
    on_a_farm(talk).means("unclear", word="evenings")
    assert (talk.keys, talk.farm.grower.evenings_only) == (["reminders.evenings"], True)

    talk.means("unclear", word="mornings")
    assert (talk.keys, talk.farm.grower.evenings_only) == (["reminders.mornings"], False)
