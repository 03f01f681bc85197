"""What single texts mean. Values worked out by hand; today is Thursday 20 November 2025 unless said."""

from datetime import date
from typing import Any

import pytest

from dialogs.language import load_languages
from dialogs.understanding import KnownBlock, Meaning, keyword, understand

LANGUAGES = load_languages()
THURSDAY = date(2025, 11, 20)


def read(text: str, lang: str = "en", asking: str | None = None, today: date = THURSDAY, **more: Any) -> Meaning:
    return understand(text, lang, today, asking, LANGUAGES, **more)


@pytest.mark.parametrize(
    ("lang", "text", "value"),
    [
        ("en", "twenty five", 25),
        ("en", "one hundred twenty", 120),
        ("en", "1,200", 1200),
        ("en", "five hundred fifty", 550),
        ("hi_Latn", "saadhe teen sau", 350),
        ("hi_Latn", "dhai sau", 250),
        ("hi_Latn", "sava sau", 125),
        ("hi_Latn", "ek hazar", 1000),
        ("hi", "डेढ़ सौ", 150),
        ("hi", "पैंतालीस", 45),
        ("hi", "२४०", 240),
    ],
)
def test_numbers_in_words_and_digits(lang: str, text: str, value: int) -> None:
    """Tens and units add, hundreds multiply, a fraction word belongs to the number after it."""
    assert read(text, lang, "plants").slots == {"plants": value}


@pytest.mark.parametrize(
    ("lang", "text", "minutes"),
    [
        ("en", "2 hours", 120),
        ("en", "half an hour", 30),
        ("en", "an hour and a half", 90),
        ("en", "two and a half hours", 150),
        ("en", "1 hr 20 min", 80),
        ("hi_Latn", "dedh ghanta", 90),
        ("hi_Latn", "paune do ghante", 105),
        ("hi_Latn", "pauna ghanta", 45),
        ("hi", "सवा घंटा", 75),
        ("hi", "ढाई घंटे", 150),
        ("hi", "साढ़े तीन घंटे", 210),
    ],
)
def test_hours_are_minutes(lang: str, text: str, minutes: int) -> None:
    """Hours are 60 minutes; a half, a quarter more and a quarter less are counted in."""
    assert read(text, lang, "minutes").slots == {"minutes": minutes}


@pytest.mark.parametrize(
    ("asking", "text", "slots"),
    [
        ("amount_mm", "1 inch", {"amount_mm": 25.4}),
        ("amount_mm", "3/4 inch", {"amount_mm": 19.1}),  # 19.05
        ("amount_mm", "2.5 cm", {"amount_mm": 25}),
        ("area_ha", "2 acre 10 guntha", {"area_ha": 0.91}),  # 2 x 0.4047 + 10 x 0.0101 = 0.9104
        ("area_ha", "half hectare", {"area_ha": 0.5}),
        ("spacing_m", "12x8", {"spacing_m": [3.7, 2.4]}),  # feet, one of them is 7 or more: 3.66 and 2.44
        ("spacing_m", "4 x 3", {"spacing_m": [4, 3]}),
        ("weight_kg", "3 quintal 40 kg", {"weight_kg": 340}),
        ("weight_kg", "20 crates of 18 kg", {"weight_kg": 360}),
        ("weight_kg", "35 crates", {}),
        ("volume_l", "3 tanks of 16 litres", {"volume_l": 48}),
        ("volume_l", "200 l", {"volume_l": 200}),
        ("percent", "three quarters", {"percent": 75}),
        ("people", "6-7", {}),
    ],
)
def test_units_are_converted_added_and_multiplied_out(asking: str, text: str, slots: dict[str, Any]) -> None:
    """By the corpus's conversions; a range or a count of no stated size gives no value."""
    assert read(text, "en", asking).slots == slots


@pytest.mark.parametrize(
    ("lang", "text", "day"),
    [
        ("en", "yesterday", "2025-11-19"),
        ("en", "day before yesterday", "2025-11-18"),
        ("en", "3 days ago", "2025-11-17"),
        ("en", "monday", "2025-11-17"),
        ("en", "thursday", "2025-11-13"),  # the last one before today
        ("en", "15 nov", "2025-11-15"),
        ("en", "5/12", "2025-12-05"),  # nearest either way
        ("en", "12-11-25", "2025-11-12"),
        ("hi_Latn", "kal", "2025-11-19"),
        ("hi_Latn", "parso", "2025-11-18"),
        ("hi", "परसों", "2025-11-18"),
        ("hi", "३ दिन पहले", "2025-11-17"),
    ],
)
def test_a_bare_day_looks_back(lang: str, text: str, day: str) -> None:
    """Words that look both ways and weekdays look back as a bare answer; a day and month is the nearest."""
    assert read(text, lang, "date").slots == {"date": day}


@pytest.mark.parametrize(
    ("lang", "text", "task", "slots"),
    [
        ("hi_Latn", "kal 20 mm barish hui", "log_rain", {"date": "2025-11-19", "amount_mm": 20}),
        ("hi_Latn", "kal kya kaam hai", "todays_jobs", {"date": "2025-11-21"}),
        ("hi_Latn", "cutting kal karunga", "set_cut_day", {"date": "2025-11-21"}),
        ("en", "rain 9 mm on monday", "log_rain", {"date": "2025-11-17", "amount_mm": 9}),
        ("en", "need 5 labour on monday", "crew", {"date": "2025-11-24", "people": 5}),
        ("en", "prune on 5 jan", "set_cut_day", {"date": "2026-01-05"}),
        ("en", "pruning done on 5 jan", "report_done", {"date": "2025-01-05", "job": "cut"}),
        ("en", "postpone cleaning by 3 days", "postpone", {"job": "clean", "delay_days": 3}),
        ("en", "cut next month", "set_cut_day", {"month": "2025-12"}),
    ],
)
def test_the_task_says_where_a_day_looks(lang: str, text: str, task: str, slots: dict[str, Any]) -> None:
    """What is logged lies behind, what is planned ahead; "after N days" is a delay and no date."""
    meaning = read(text, lang)

    assert (meaning.task, meaning.slots) == (task, slots)


def test_the_year_turns_for_what_is_logged_and_for_what_is_planned() -> None:
    """On 2 January, 30 December was last year when logged and is this year when planned."""
    new_year = date(2026, 1, 2)

    assert read("rain 5 mm 30 dec", today=new_year).slots["date"] == "2025-12-30"
    assert read("cut on 30 dec", today=new_year).slots["date"] == "2026-12-30"


@pytest.mark.parametrize(
    ("lang", "text"),
    [
        ("en", "husband eyes burning after spray cannot open"),
        ("en", "goat ate sprayed leaves"),
        ("en", "boy drank from the spray bottle"),
        ("en", "he fainted in the heat"),
        ("en", "snake bit a worker in block 2"),
        ("hi_Latn", "bete ki aankh me dawa chali gayi"),
        ("hi_Latn", "mazdoor behosh ho gaya"),
        ("hi", "गाय ने छिड़काव वाली घास खा ली"),
        ("hi", "सांप ने काट लिया"),
    ],
)
@pytest.mark.parametrize("asking", [None, "amount_mm", "block", "confirm"])
def test_hurt_is_heard_whatever_is_asked(lang: str, text: str, asking: str | None) -> None:
    """A person or animal hurt outranks every other task."""
    assert read(text, lang, asking).task == "hurt"


def test_harm_to_trees_is_not_hurt() -> None:
    """Damage on the grower's own trees is trouble."""
    assert read("leaves burnt by sun").task == "report_trouble"
    assert read("motor burnt cant water").task == "postpone"


@pytest.mark.parametrize("text", ["STOP", "stop", " Stop. ", "stop!"])
def test_an_exact_stop_word_is_obeyed_at_once(text: str) -> None:
    """The whole text is the stop word: no question."""
    meaning = read(text, asking="amount_mm")

    assert (meaning.task, meaning.clarify, meaning.bare) == ("stop", False, True)


def test_stop_said_otherwise_is_asked_back_and_stopping_water_is_no_stop() -> None:
    """Any other wish to stop is asked back; a shop, a step or water is none."""
    assert read("please stop these messages").clarify
    assert read("please stop these messages").task == "stop"
    assert read("stopped water in block 2").task == "report_done"
    assert read("shop").task != "stop"
    assert read("stpo").task != "stop"


def test_erasure_is_always_asked_back() -> None:
    """Nothing is erased on one text."""
    meaning = read("delete all my data")

    assert (meaning.task, meaning.clarify) == ("delete_me", True)


def test_much_rain_is_asked_back() -> None:
    """Over 100 mm in a day may be a slip of the thumb."""
    assert not read("rain 100").clarify
    assert read("rain 120").clarify


@pytest.mark.parametrize(
    ("lang", "text", "task"),
    [
        ("en", "more", "more"),
        ("en", "WHY", "why"),
        ("en", "thank you", "thanks"),
        ("en", "ok", "thanks"),
        ("en", "SEASON", "season"),
        ("hi_Latn", "aur", "more"),
        ("hi", "क्यों", "why"),
        ("en", "rain 12", None),
        ("en", "more rain", None),
    ],
)
def test_keywords_are_whole_texts(lang: str, text: str, task: str | None) -> None:
    """A keyword counts only when nothing else is in the text."""
    assert keyword(text, lang, LANGUAGES) == task


def test_the_growers_own_block_names_are_known_and_forgiven_one_letter() -> None:
    """A block named by the grower comes back by its number."""
    blocks = [KnownBlock("1", "Hill"), KnownBlock("2", "Tamarind")]

    assert read("watered tamarnd 2 hours", blocks=blocks).slots["block"] == "2"


def test_label_strength_pump_and_village_are_read_beside_the_slots() -> None:
    """What the corpus has no slot for comes in `extra`."""
    assert read("label 390").extra["grams_per_litre"] == 390
    bottle = read("bottle say 39% and pump is 16 litre").extra
    assert (bottle["grams_per_litre"], bottle["strength_from_percent"], bottle["pump_l"]) == (390, True, 16)
    assert read("i am sunanda upper neem", villages=["Upper Neem"]).extra["village"] == "Upper Neem"


@pytest.mark.parametrize(
    "text",
    [
        "",
        " ",
        ".",
        "???",
        "\u200d" * 50,
        "\u202e\u0000",
        "\u0301" * 5000,
        "a\u0301" * 5000,
        "9" * 10_000,
        "ka" * 5000,
        "1/" * 5000,
        "block " * 2000,
        "12 x " * 2000,
        "not " * 3000,
        "z\u200d" * 4000,
        "ﷺ" * 2000,
        "क्" * 4000,
        "nahi" * 2000,
    ],
)
def test_hostile_texts_mean_nothing_and_cost_little(text: str) -> None:
    """No text is written from noise, and none takes longer than a long honest one."""
    meaning = read(text)

    assert meaning.clarify or not meaning.task.startswith("log_")
