"""Which task a text is, where rules and model have to agree: from the rulings, and from conversations played by hand.

Today is Thursday 10 December 2026.
"""

from datetime import date
from typing import Any

import pytest

from dialogs.language import load_languages
from dialogs.understanding import Meaning, understand

LANGUAGES = load_languages()
TODAY = date(2026, 12, 10)


def read(text: str, lang: str, asking: str | None = None) -> Meaning:
    return understand(text, lang, TODAY, asking, LANGUAGES)


@pytest.mark.parametrize(
    ("lang", "text"),
    [
        ("en", "yes picked in sept"),
        ("hi_Latn", "haan sept me tod liye"),
        ("hi", "हां सितंबर में तोड़ लिए"),
        ("hi_Latn", "haan sab tod liye"),
        ("hi_Latn", "haan hata do"),
        ("hi", "हां दोनों के तोड़ लिए"),
        ("mr", "हो दोन्हीची काढली"),
    ],
)
def test_what_opens_with_yes_is_yes_to_a_question(lang: str, text: str) -> None:
    assert read(text, lang, "confirm").task == "yes"


def test_a_yes_that_goes_on_with_an_amount_is_that_record() -> None:
    meaning = read("yes rain 12", "en", "confirm")

    assert (meaning.task, meaning.slots, meaning.clarify) == ("log_rain", {"amount_mm": 12}, False)


@pytest.mark.parametrize(
    ("lang", "text", "slots"),
    [
        ("en", "labour will come 7 jan", {"date": "2027-01-07"}),
        ("en", "cannot cut, labour will come 7 jan", {"date": "2027-01-07", "job": "cut"}),
        ("hi_Latn", "mazdoor 7 jan ko aayenge", {"date": "2027-01-07"}),
        ("hi_Latn", "mazdoor kal aayenge", {"date": "2026-12-11"}),
        ("hi", "मजदूर 7 जनवरी को आएंगे", {"date": "2027-01-07"}),
        ("en", "COPPER 20 JAN", {"date": "2027-01-20", "job": "copper"}),
    ],
)
def test_hands_that_come_later_put_the_job_off(lang: str, text: str, slots: dict[str, Any]) -> None:
    meaning = read(text, lang)

    assert (meaning.task, meaning.slots) == ("postpone", slots)


@pytest.mark.parametrize(
    ("lang", "text"),
    [
        ("en", "my dog is nice and brown"),
        ("en", "our cow gave 8 litres milk"),
        ("hi_Latn", "mera kutta bahut pyara hai"),
        ("hi", "मेरा कुत्ता बहुत प्यारा है"),
        ("mr", "आमची म्हैस व्याली"),
        ("kn", "ನಮ್ಮ ನಾಯಿ ತುಂಬಾ ಮುದ್ದಾಗಿದೆ"),
        ("es", "mi perro es muy bonito"),
        ("ar", "الكلب بتاعي لونه بني"),
    ],
)
def test_an_animal_alone_is_no_call_for_help(lang: str, text: str) -> None:
    assert read(text, lang).task == "unclear"


@pytest.mark.parametrize(
    ("lang", "text"),
    [
        ("en", "our dog licked the spray tank"),
        ("en", "he is not waking up"),
        ("hi_Latn", "kutte ne kaat liya"),
        ("hi", "बकरी ने दवा वाले पत्ते खा लिए"),
        ("mr", "म्हशीने औषधाचे पाणी प्यायले"),
        ("kn", "ನಾಯಿ ಕಚ್ಚಿದೆ"),
        ("es", "se cayo don beto de la escalera"),
        ("ar", "الكلب عض ابني"),
    ],
)
def test_a_call_for_help_is_heard(lang: str, text: str) -> None:
    assert read(text, lang).task == "hurt"


@pytest.mark.parametrize(
    ("lang", "text", "task"),
    [
        ("en", "cut block 2 20 nov", "set_cut_day"),
        ("hi", "प्लॉट 2 की छंटाई 20 नवंबर", "set_cut_day"),
        ("hi", "नया प्लॉट", "register_block"),
        ("hi_Latn", "naya plot", "register_block"),
        ("hi_Latn", "adhi ho gayi, 120 paudhe", "report_done"),
        ("en", "STOPPED WATER", "report_done"),
        ("en", "water stopped", "report_done"),
        ("en", "CUT DONE", "report_done"),
        ("en", "COPPER SPRAYED", "log_spray"),
        ("en", "LEAF 80", "log_leaf_drop"),
        ("en", "SHOOTS FEW", "log_shoots"),
    ],
)
def test_a_plain_report_is_sure(lang: str, text: str, task: str) -> None:
    meaning = read(text, lang)

    assert (meaning.task, meaning.clarify) == (task, False)


@pytest.mark.parametrize(
    ("lang", "asking", "text", "task"),
    [
        ("en", "confirm", "stopped water", "report_done"),
        ("en", "confirm", "cut block 2 4 jan 2026", "set_cut_day"),
        ("en", "planted", "cut 5 feb 2027", "set_cut_day"),
        ("en", "percent", "rain 60", "log_rain"),
        ("en", "percent", "plan", "plan"),
        ("hi", "percent", "गलत", "undo"),
        ("en", "percent", "LABEL 39 %", "mix_spray"),
        ("en", "product", "how much bordeaux", "mix_spray"),
    ],
)
def test_a_fresh_task_works_whatever_is_asked(lang: str, asking: str, text: str, task: str) -> None:
    meaning = read(text, lang, asking)

    assert (meaning.task, meaning.clarify) == (task, False)


@pytest.mark.parametrize(("lang", "text"), [("hi", "कखग टठड पफब"), ("hi_Latn", "qwerty asdf zxcv")])
def test_words_that_nobody_knows_are_no_answer(lang: str, text: str) -> None:
    assert read(text, lang, "amount_mm").task == "unclear"


@pytest.mark.parametrize(("lang", "text"), [("en", "dont know"), ("hi_Latn", "pata nahi"), ("en", "6-7")])
def test_who_does_not_know_has_answered(lang: str, text: str) -> None:
    """Ruling 1."""
    meaning = read(text, lang, "amount_mm")

    assert (meaning.task, meaning.slots) == ("answer", {})


@pytest.mark.parametrize(
    ("lang", "text", "task"),
    [
        ("hi", "सही है", "yes"),
        ("hi_Latn", "sahi hai", "yes"),
        ("hi", "गलत नहीं है", "no"),
        ("hi_Latn", "nahi galat nahi", "no"),
    ],
)
def test_that_all_is_well_takes_nothing_back(lang: str, text: str, task: str) -> None:
    assert read(text, lang).task == task


@pytest.mark.parametrize(
    ("lang", "asking", "text"),
    [
        ("hi_Latn", None, "plot 2 bech diya list se hata do"),
        ("hi", None, "प्लॉट 2 मिटा दो, जमीन बिक गई"),
        ("en", None, "remove block 2 from list i sold it"),
        ("en", "confirm", "remove block 2"),
    ],
)
def test_a_block_taken_off_is_led_to_the_list_and_ends_nothing(lang: str, asking: str | None, text: str) -> None:
    meaning = read(text, lang, asking)

    assert meaning.task == "unclear"
    assert (meaning.readings[0].task, meaning.readings[0].slots) == ("my_blocks", {"block": "2"})


def test_messages_wanted_back_are_not_stopped() -> None:
    assert read("رجوع الرسائل", "ar").task == "resume"


def test_why_tells_the_shares_of_the_model_and_of_both() -> None:
    why = understand("rain 12", "en", TODAY, None, LANGUAGES, explain=True).why

    assert [line.partition(":")[0] for line in why[-2:]] == ["model", "together"]


@pytest.mark.parametrize(
    ("text", "month"),
    [
        ("last year january", "2025-01"),
        ("last year in january", "2025-01"),
        ("january last year", "2025-01"),
        ("last year", "2025"),
        ("last january", "2026-01"),
        ("last january, that is 2026", "2026-01"),
        ("january", "2026-01"),
    ],
)
def test_a_month_takes_the_year_told_beside_it(text: str, month: str) -> None:
    assert read(text, "en", "planted").slots == {"planted": month}


@pytest.mark.parametrize(
    ("text", "slots"),
    [
        ("chatni 4 jan", {"date": "2027-01-04"}),
        ("chatni 4 jan la", {"date": "2027-01-04"}),
    ],
)
def test_jan_is_january_in_marathi_where_no_hands_are_asked_for(text: str, slots: dict[str, Any]) -> None:
    meaning = read(text, "mr")

    assert (meaning.task, meaning.slots, meaning.clarify) == ("set_cut_day", slots, False)


def test_jan_is_people_in_marathi_where_they_are_asked_for() -> None:
    meaning = read("chatni la 6 jan pahijet", "mr")

    assert (meaning.task, meaning.slots) == ("crew", {"people": 6, "job": "cut"})


@pytest.mark.parametrize("text", ["राहिलेली छाटणी पण झाली", "उरलेली छाटणी संपली", "rahileli chatni zali"])
def test_the_remaining_cut_done_is_done_in_marathi(text: str) -> None:
    meaning = read(text, "mr")

    assert (meaning.task, meaning.slots, meaning.clarify) == ("report_done", {"job": "cut"}, False)


@pytest.mark.parametrize("text", ["कधीच केली नाही", "नाय केली कधी", "कधी केलीच नाही"])
def test_never_done_is_no_in_marathi(text: str) -> None:
    assert read(text, "mr", "planted").task == "no"


@pytest.mark.parametrize(
    ("lang", "text"),
    [("en", "cut done 40 plants left"), ("mr", "छाटणी झाली फक्त 40 झाडं राहिलीत"), ("hi", "छंटाई हो गई, 40 पौधे बाकी")],
)
def test_plants_left_are_not_kept_as_done_unasked(lang: str, text: str) -> None:
    meaning = read(text, lang)

    assert (meaning.task, meaning.clarify) == ("report_done", True)


@pytest.mark.parametrize("text", ["सगळा पाला पडला", "सगळी पानं पडली"])
def test_fallen_leaves_are_leaf_fall_in_marathi(text: str) -> None:
    meaning = read(text, "mr")

    assert (meaning.task, meaning.slots, meaning.clarify) == ("log_leaf_drop", {"percent": 100}, False)


@pytest.mark.parametrize(
    ("lang", "text"),
    [
        ("mr", "120 झाडांची छाटणी झाली, बाकी राहिली"),
        ("hi", "120 पौधों की छंटाई हो गई, बाकी रह गए"),
    ],
)
def test_the_part_that_is_cut_is_kept_beside_what_remains(lang: str, text: str) -> None:
    meaning = read(text, lang)

    assert (meaning.task, meaning.slots, meaning.clarify) == ("report_done", {"plants": 120, "job": "cut"}, False)
