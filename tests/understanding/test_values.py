"""Values in longer messages and where two ways to take a number meet. Worked out by hand; today is Thursday 20 November
2025 unless said."""

from datetime import date
from typing import Any

import pytest

from dialogs.language import load_languages
from dialogs.understanding import KnownBlock, Meaning, understand

LANGUAGES = load_languages()
THURSDAY = date(2025, 11, 20)


def read(text: str, lang: str = "en", asking: str | None = None, today: date = THURSDAY, **more: Any) -> Meaning:
    return understand(text, lang, today, asking, LANGUAGES, **more)


@pytest.mark.parametrize(
    ("lang", "text", "feet"),
    [
        ("en", "row 15 ft plant 10 ft", [4.6, 3]),  # 4.572 and 3.048
        ("en", "15 10 feet", [4.6, 3]),
        ("en", "4.5 m and 3 m", [4.5, 3]),
        ("en", "14 10", [4.3, 3]),  # feet, as one of them is 7 or more: 4.267
        ("hi_Latn", "13 fit kataar 10 fit ped", [4, 3]),  # 3.962
        ("ar", "٤ متر في ٣", [4, 3]),
    ],
)
def test_two_lengths_are_a_spacing_without_a_word_between(lang: str, text: str, feet: list[float]) -> None:
    assert read(text, lang, "spacing_m").slots == {"spacing_m": feet}


@pytest.mark.parametrize(
    ("lang", "text", "slot", "value"),
    [
        ("en", "16 litre pump 3", "volume_l", 48),
        ("hi_Latn", "15 litre ke pump 4", "volume_l", 60),
        ("ar", "3 bakhakhat kol wa7da 16 litr", "volume_l", 48),
        ("en", "18 kg crate 25", "weight_kg", 450),
        ("hi", "20 कैरेट, एक में 25 किलो", "weight_kg", 500),
        ("es", "2 toneladas 300", "weight_kg", 2300),
        ("en", "2 quintal 30", "weight_kg", 230),
        ("es", "dos horas y veinte", "minutes", 140),
        ("es", "un 35", "percent", 35),
        ("en", "3/4th of the leaves", "percent", 75),
        ("en", "three fourth", "percent", 75),
        ("en", ".5", "amount_mm", 0.5),
        ("hi", "23 पॉइंट 5", "amount_mm", 23.5),
    ],
)
def test_counts_sizes_and_parts(lang: str, text: str, slot: str, value: float) -> None:
    """A count after its size, a size said to be of each, a second unit left out, parts in digits and in words."""
    assert read(text, lang, slot).slots == {slot: value}


def test_what_comes_on_top_of_counted_crates_is_added() -> None:
    """18 crates of 25 kg and another 40 kg are 490."""
    assert read("picked 18 crates of 25 kg and another 40 kg").slots["weight_kg"] == 490


@pytest.mark.parametrize(
    ("lang", "text", "slots"),
    [
        ("ar", "رويت القطعة ٢ ساعة ونص", {"block": "2", "minutes": 90}),  # "block 2, an hour and a half"
        ("ar", "رشيت القطعة التالتة بالنحاس", {"block": "3", "product": "copper"}),
        ("en", "only 15% leaves left on blk 2 trees", {"block": "2", "percent": 85}),
        ("en", "pruned 4th block", {"block": "4", "job": "cut"}),
        ("hi_Latn", "do me 13 mm aur panch me 6 mm pada", {"block": ["2", "5"], "amount_mm": [13, 6]}),
        ("hi_Latn", "tudai 1 se 120kg 3 se 75 kg", {"block": ["1", "3"], "weight_kg": [120, 75]}),
        ("en", "work 2 and 3 both completed", {"job": [2, 3]}),
        ("en", "pruned block 1 and 2 both", {"block": ["1", "2"], "job": "cut"}),
        ("es", "hoja caida 45 en cuartel 1 y 70 en cuartel 2", {"block": ["1", "2"], "percent": [45, 70]}),
        ("es", "le quite el agua al 2", {"block": "2", "job": "rest"}),  # no job 2 where the job is told
        ("es", "llovio 12 el 4 de octubre de 2023", {"date": "2023-10-04", "amount_mm": 12}),
        ("mr", "१८ जुलैला ३५ आणि १९ ला १२ मिमी", {"date": ["2025-07-18", "2025-07-19"], "amount_mm": [35, 12]}),
        ("en", "leaf drop 90% everywhere", {"percent": 90, "block": "all"}),
        ("en", "cut twigs carried out and burnt, orchard is clean", {"job": "clean"}),
        ("hi", "टैंक वाला नहीं आया, सफाई शुक्रवार को", {"job": "clean", "date": "2025-11-21"}),
    ],
)
def test_blocks_beside_other_numbers(lang: str, text: str, slots: dict[str, Any]) -> None:
    """A number is the block's, the amount's or the job's by what stands beside it."""
    assert read(text, lang).slots == slots


@pytest.mark.parametrize(
    ("lang", "text", "slots"),
    [
        ("kn", "ಜನವರಿಯಲ್ಲಿ 3ನೇ ಬ್ಲಾಕ್ ಚಾಟನಿ ಮಾಡ್ತೀವಿ", {"month": "2026-01", "block": "3"}),
        ("en", "cut jan 5 block 2", {"date": "2026-01-05", "block": "2"}),
        ("en", "cut day not 18, change to 20/12", {"date": "2025-12-20"}),
        ("mr", "छाटणी १९ डिसेंबरला, १६ ला नाही", {"date": "2025-12-19"}),
        ("ar", "هقلم القطعة ١ يوم ٥ ديسمبر", {"block": "1", "date": "2025-12-05"}),
        ("es", "adelantame la poda al 28 cuartel 5", {"date": "2025-11-28", "block": "5"}),
    ],
)
def test_the_day_of_a_cut_beside_other_numbers(lang: str, text: str, slots: dict[str, Any]) -> None:
    """A block's number is no day of the month, and a day that is refused does not count."""
    meaning = read(text, lang)

    assert (meaning.task, meaning.slots) == ("set_cut_day", slots)


@pytest.mark.parametrize(
    ("lang", "text", "days"), [("en", "two more days", 2), ("ar", "اسبوع", 7), ("hi", "तीन दिन और", 3)]
)
def test_a_stretch_of_time_is_a_delay(lang: str, text: str, days: int) -> None:
    assert read(text, lang, "delay_days").slots == {"delay_days": days}


@pytest.mark.parametrize(
    ("lang", "text", "slots"),
    [
        ("en", "add blk 6, 280 nos, 14*10 ft", {"block": "6", "plants": 280, "spacing_m": [4.3, 3]}),
        ("en", "Register field Grandfather 0.6 hectare loam", {"name": "Grandfather", "area_ha": 0.6, "soil": "loam"}),
        ("es", "huerta nueva: 6. goteros. 1200 matas", {"block": "6", "water_source": "drip", "plants": 1200}),
        ("mr", "नवीन बाग लिहा नाव चिंचमळा साडेतीन एकर", {"name": "चिंचमळा", "area_ha": 1.42}),  # 3.5 x 0.4047
    ],
)
def test_a_block_told_in_one_breath(lang: str, text: str, slots: dict[str, Any]) -> None:
    """A number left over counts trees; a name may be a known word with a capital, or two run together."""
    meaning = read(text, lang)

    assert (meaning.task, meaning.slots) == ("register_block", slots)


@pytest.mark.parametrize(
    ("lang", "text", "name"),
    [
        ("mr", "ओढ्याच्या प्लॉटला ९ मिमी पाऊस", "ओढा"),
        ("mr", "odhyachya plot la 9 mm paus", "ओढा"),
        ("kn", "ಬೆಟ್ಟದ ತೋಟದಲ್ಲಿ 9 ಮಿಮೀ ಮಳೆ", "ಬೆಟ್ಟ"),
        ("hi", "नहर वाले में 9 मिमी", "Nahar"),
        ("hi_Latn", "nehar wale me 9 mm", "नहर"),
        ("en", "rain 9 mm hil block", "Hill"),
    ],
)
def test_an_own_name_is_known_with_its_endings_in_either_script(lang: str, text: str, name: str) -> None:
    """Case endings, an oblique stem, the other script and a slip all lead to the block that the grower named."""
    known = [KnownBlock("1", None), KnownBlock("4", name)]

    assert read(text, lang, blocks=known).slots == {"block": "4", "amount_mm": 9}


def test_an_everyday_word_is_no_name_for_sounding_like_one() -> None:
    assert read("kal barish 12 mm", "hi_Latn", blocks=[KnownBlock("1", "Kala")]).slots == {
        "date": "2025-11-19",
        "amount_mm": 12,
    }


@pytest.mark.parametrize(("lang", "text"), [("en", "ALL"), ("es", "TODOS"), ("ar", "الكل"), ("hi", "सब")])
def test_all_answers_how_many_plants(lang: str, text: str) -> None:
    """A share of the trees, as the question for a part of the cut takes it."""
    assert read(text, lang, "plants").slots == {"percent": 100}


@pytest.mark.parametrize(
    ("lang", "text"),
    [
        ("en", "OTHER"),
        ("es", "OTRO PRODUCTO"),
        ("hi", "दूसरी दवा"),
        ("hi_Latn", "koi aur"),
        ("ar", "مبيد آخر"),
        ("hi", "मदसर दवा"),
    ],
)
def test_other_answers_which_product(lang: str, text: str) -> None:
    """Also a spray by a name that is not listed."""
    assert read(text, lang, "product").slots == {"product": "other"}


@pytest.mark.parametrize("text", ["ethapon 1000 ppm", "eterphon 1000 ppm", "etifon 1000 ppm"])
def test_ethephon_as_it_is_heard(text: str) -> None:
    assert read(text, "en", "product").slots["product"] == "ethephon"


def test_ethion_is_not_ethephon() -> None:
    assert read("sprayed ethion").slots["product"] == "other"


def test_a_day_that_is_nearer_ahead_is_asked_back_in_a_log() -> None:
    """On 20 December, "20 jan" is eleven months back or one ahead."""
    december = date(2025, 12, 20)

    assert read("copper sprayed 20 jan", today=december).clarify
    assert not read("copper sprayed 20 nov", today=december).clarify


@pytest.mark.parametrize(("lang", "text"), [("es", "Tomasa Quispe"), ("kn", "Aladamara")])
def test_a_name_is_not_parted(lang: str, text: str) -> None:
    """Though it could be two listed words run together."""
    assert read(text, lang, "name").slots == {"name": text}


@pytest.mark.parametrize(
    ("text", "task", "slots"),
    [
        ("مطر 12 يوم 5 نوفمبر", "log_rain", {"amount_mm": 12, "date": "2025-11-05"}),
        ("المهمة الأولى تمت", "report_done", {"job": 1}),
        ("قطعنا المية عن القطعة 1", "report_done", {"block": "1", "job": "rest"}),
        ("ما قطعنا المية عن القطعة 1", "postpone", {"block": "1", "job": "rest"}),
    ],
)
def test_what_arabic_growers_report(text: str, task: str, slots: dict[str, Any]) -> None:
    """A word for day before a date counts no days; a rank follows its noun; "not" refuses the water stopped."""
    meaning = read(text, "ar")

    assert meaning.task == task
    assert meaning.slots == slots


@pytest.mark.parametrize(
    ("asking", "text", "slots"),
    [
        ("block", "rain 12", {"amount_mm": 12}),
        ("block", "rain 12 block 1", {"amount_mm": 12, "block": "1"}),
        ("block", "rain 8 yesterday", {"amount_mm": 8, "date": "2025-11-19"}),
        ("block", "block 1: 90, block 2: 70", {"block": ["1", "2"]}),
        ("job", "sprayed ethephon block 1", {"product": "ethephon", "block": "1"}),
        (None, "aug 3 12 mm rain", {"date": "2025-08-03", "amount_mm": 12}),
        (None, "28/7 12 mm rain", {"date": "2025-07-28", "amount_mm": 12}),
        (None, "cut 100 more plants done", {"job": "cut", "plants": 100}),
        (None, "block 1 cut done, block 2 half", {"job": "cut", "block": ["1", "2"], "percent": [100, 50]}),
        (None, "new block 0 plants 4x3 m", {"plants": 0, "spacing_m": [4, 3]}),
    ],
)
def test_a_number_beside_what_it_measures(asking: str | None, text: str, slots: dict[str, Any]) -> None:
    """An amount beside its own word is that amount, whatever is asked; one that cannot be is read, to be refused."""
    assert read(text, asking=asking).slots == slots


def test_a_share_over_a_hundred_is_no_slot_but_can_be_refused() -> None:
    meant = read("leaf 150")
    assert (meant.task, meant.slots, meant.extra["percent"]) == ("log_leaf_drop", {}, 150)
    assert not meant.clarify


def test_a_number_with_a_minus_is_asked_back() -> None:
    assert read("rain -5").clarify
    assert not read("rain - 5").clarify


def test_what_a_registration_says_of_the_rest_is_not_when_the_block_was_planted() -> None:
    meant = read("new block 240 plants 4x3 m black soil drip planted july 2021 water stopped on 10 november")
    assert meant.slots["planted"] == "2021-07"
    assert meant.extra["rest_day"] == "2025-11-10"


@pytest.mark.parametrize(
    ("lang", "text", "task"),
    [
        ("en", "sprayed, no problem", "log_spray"),
        ("en", "cut done but not sprayed", "report_done"),
        ("hi", "छंटाई हो गई, सफाई नहीं हुई", "report_done"),
        ("hi_Latn", "chhidkav ho gaya koi dikkat nahi", "log_spray"),
        ("en", "not sprayed yet", "postpone"),
        ("en", "cut not done", "postpone"),
    ],
)
def test_a_report_is_one_whatever_else_is_not_done(lang: str, text: str, task: str) -> None:
    meant = read(text, lang)
    assert meant.task == task
    if task == "report_done":
        assert meant.slots == {"job": "cut"}


@pytest.mark.parametrize(
    ("lang", "text", "slots"),
    [
        ("en", "i want flowers in february", {"month": "2026-02"}),
        ("hi", "फरवरी में फूल चाहिए", {"month": "2026-02"}),
        ("hi_Latn", "feb me phool chahiye", {"month": "2026-02"}),
        ("es", "quiero flores en febrero", {"month": "2026-02"}),
    ],
)
def test_flowers_wanted_are_a_cut_to_be_counted_back(lang: str, text: str, slots: dict[str, Any]) -> None:
    meant = read(text, lang)
    assert (meant.task, meant.slots, meant.extra.get("flowering")) == ("set_cut_day", slots, True)


def test_a_whole_task_is_nobodys_name() -> None:
    assert read("cut block 4 4 jan", asking="name").task == "set_cut_day"
    assert read("ravi", asking="name").slots == {"name": "ravi"}
    assert read("new block ravi 100 plants").slots == {"plants": 100, "name": "ravi"}


def test_a_command_is_one_whatever_is_asked() -> None:
    assert (read("plan 1", asking="percent").task, read("1", asking="percent").task) == ("plan", "answer")


@pytest.mark.parametrize(
    ("lang", "text"), [("en", "no 21"), ("hi_Latn", "nahi 21"), ("hi", "नहीं 21"), ("es", "no, 21")]
)
def test_no_and_a_number_puts_the_last_figure_right(lang: str, text: str) -> None:
    assert read(text, lang).extra["instead"] == 21


@pytest.mark.parametrize(
    ("text", "tasks"),
    [
        ("50", ["log_rain", "log_leaf_drop"]),
        ("half", ["log_leaf_drop", "report_done"]),
        ("14 jan", ["set_cut_day", "todays_jobs"]),
        ("clean", ["report_done", "plan"]),
        ("xyzzy", []),
    ],
)
def test_a_value_alone_offers_what_it_may_be_told_for(text: str, tasks: list[str]) -> None:
    meant = read(text)
    assert (meant.task, [reading.task for reading in meant.readings]) == ("unclear", tasks)


@pytest.mark.parametrize(
    ("lang", "asking", "text", "task", "slots"),
    [
        ("en", "name", "hurt", "hurt", {}),
        ("en", "amount_mm", "bordeaux 100 l", "mix_spray", {"product": "bordeaux", "volume_l": 100}),
        ("hi_Latn", "amount_mm", "patte gire 80", "log_leaf_drop", {"percent": 80}),
        ("hi_Latn", "minutes", "patte gire 80", "log_leaf_drop", {"percent": 80}),
        ("hi_Latn", None, "aadhi chhatai hui baki kal", "report_done", {"job": "cut", "percent": 50}),
        ("en", None, "almost all leaf fell", "log_leaf_drop", {}),
    ],
)
def test_another_thing_is_no_answer(lang: str, asking: str | None, text: str, task: str, slots: dict[str, Any]) -> None:
    meant = read(text, lang, asking)
    assert (meant.task, meant.slots) == (task, slots)


def test_a_cut_of_kal_is_asked_back() -> None:
    """Yesterday and tomorrow are one word."""
    assert read("kal chhatai ki", "hi_Latn").clarify
    assert not read("kal chhatai karunga", "hi_Latn").clarify


def test_the_figures_of_each_block_asked_for() -> None:
    assert read("block 1: 90, block 2: 70", asking="block").extra["of_each"] == [90, 70]


@pytest.mark.parametrize("asking", [None, "name", "block", "amount_mm", "confirm"])
@pytest.mark.parametrize(("lang", "text"), [("en", "poison"), ("en", "Poison!!"), ("hi", "जहर"), ("hi_Latn", "zehar")])
def test_the_one_word_poison_is_a_call_for_help(lang: str, text: str, asking: str | None) -> None:
    assert read(text, lang, asking).task == "hurt"


def test_fallen_leaves_are_no_plants() -> None:
    assert read("patte gire 80", "hi_Latn", "plants").task == "log_leaf_drop"
    assert read("cut 100 plants", asking="plants").slots["plants"] == 100
    assert read("240", asking="plants").slots == {"plants": 240}


@pytest.mark.parametrize(
    ("lang", "text"),
    [("en", "i am asha, register block 200 plants 4x3 m"), ("es", "soy pilar, registrar parcela 200 plantas 4x3 m")],
)
def test_who_says_who_he_is_does_not_name_his_block(lang: str, text: str) -> None:
    meant = read(text, lang)
    assert (meant.task, meant.extra["own_name"]) == ("register_block", True)
    assert "own_name" not in read("new block 200 plants 4x3 m").extra
