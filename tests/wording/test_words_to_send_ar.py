"""The words that Arabic texts tell growers to send are understood as they were told."""

from datetime import date
from typing import Any

import pytest

from dialogs.language import load_languages
from dialogs.understanding import KnownBlock, understand
from dialogs.understanding.reading import keyword

LANGUAGES = load_languages()
BLOCKS = [KnownBlock("1", None), KnownBlock("2", None)]

# What was asked, the words as told, what they must be taken for
WORDS: list[tuple[str | None, str, str, dict[str, Any]]] = [
    (None, "منعنا الري", "report_done", {"job": "rest"}),
    (None, "تم التقليم", "report_done", {"job": "cut"}),
    (None, "تم التقليم 18 يناير", "report_done", {"job": "cut", "date": "2026-01-18"}),
    (None, "تم التنظيف", "report_done", {"job": "clean"}),
    (None, "تمت المهمة 1", "report_done", {"job": 1}),
    (None, "تم", "report_done", {}),
    (None, "تم الرش", "log_spray", {}),
    (None, "تم رش النحاس", "log_spray", {"product": "copper"}),
    (None, "ري 70 دقيقة", "log_watering", {"minutes": 70}),
    (None, "ورق 80", "log_leaf_drop", {"percent": 80}),
    (None, "ورق 40", "log_leaf_drop", {"percent": 40}),
    (None, "مطر 12", "log_rain", {"amount_mm": 12}),
    (None, "مطر 0", "log_rain", {"amount_mm": 0}),
    (None, "مطر 12 ملم 5 ديسمبر", "log_rain", {"amount_mm": 12, "date": "2026-12-05"}),
    (None, "لا نموات", "log_shoots", {"shoots": "none"}),
    (None, "نموات قليلة", "log_shoots", {"shoots": "few"}),
    (None, "نموات كثيرة", "log_shoots", {"shoots": "many"}),
    (None, "تقليم 4 يناير", "set_cut_day", {"date": "2027-01-04"}),
    (None, "المواعيد", "plan", {}),
    (None, "مواعيد القطعة 2", "plan", {"block": "2"}),
    (None, "إيثيفون 15 لتر", "mix_spray", {"product": "ethephon", "volume_l": 15}),
    (None, "بعدين", "postpone", {}),
    (None, "النحاس بعدين 20 يناير", "postpone", {"job": "copper", "date": "2027-01-20"}),
    (None, "قائمة القطع", "my_blocks", {}),
    (None, "غلط", "undo", {}),
    (None, "المهندس", "person", {}),
    (None, "اللغة", "language", {}),
    (None, "مساعدة", "help", {}),
    (None, "إلغاء", "cancel", {}),
    (None, "إيقاف", "stop", {}),
    (None, "رجعوا الرسائل", "resume", {}),
    (None, "مسح بياناتي", "delete_me", {}),
    (None, "اشتراك", "join", {}),
    (
        None,
        "قطعة جديدة 240 شجرة 4 في 3 متر أرض سوداء",
        "register_block",
        {"plants": 240, "spacing_m": [4.0, 3.0], "soil": "black"},
    ),
    (
        None,
        "قطعة جديدة 240 شجرة 4 في 3 متر أرض سوداء تنقيط زراعة يوليو 2021",
        "register_block",
        {"plants": 240, "spacing_m": [4.0, 3.0], "soil": "black", "water_source": "drip", "planted": "2021-07"},
    ),
    ("confirm", "نعم", "yes", {}),
    ("confirm", "لا", "no", {}),
    ("job", "المهمة 1", "answer", {"job": 1}),
    ("job", "المهمة 9", "answer", {"job": 9}),
    ("job", "التقليم", "answer", {"job": "cut"}),
    ("job", "النحاس", "answer", {"job": "copper"}),
    ("percent", "ورق 80", "answer", {"percent": 80}),
    ("percent", "لا شيء", "answer", {"percent": 0}),
    ("percent", "كله", "answer", {"percent": 100}),
    ("shoots", "لا شيء", "answer", {"shoots": "none"}),
    ("shoots", "قليل", "answer", {"shoots": "few"}),
    ("shoots", "كثير", "answer", {"shoots": "many"}),
    ("product", "إيثيفون", "answer", {"product": "ethephon"}),
    ("product", "بوردو", "answer", {"product": "bordeaux"}),
    ("block", "كل القطع", "answer", {"block": "all"}),
    ("plants", "1.5 هكتار", "answer", {"area_ha": 1.5}),
    ("spacing_m", "4 في 3 متر", "answer", {"spacing_m": [4.0, 3.0]}),
    ("planted", "يوليو 2021", "answer", {"planted": "2021-07"}),
    ("planted", "لا", "no", {}),
    ("date", "20 نوفمبر", "answer", {"date": "2026-11-20"}),
    ("date", "4 يناير", "answer", {"date": "2027-01-04"}),
    ("date", "لا", "no", {}),
    ("month", "يناير 2026", "answer", {"month": "2026-01"}),
    ("minutes", "90 دقيقة", "answer", {"minutes": 90}),
    ("volume_l", "100 لتر", "answer", {"volume_l": 100}),
    ("soil", "سوداء", "answer", {"soil": "black"}),
    ("soil", "حمراء", "answer", {"soil": "red"}),
    ("soil", "رملية", "answer", {"soil": "sandy"}),
    ("soil", "طميية", "answer", {"soil": "loam"}),
    ("soil", "طينية", "answer", {"soil": "clay"}),
    ("soil", "حصوية", "answer", {"soil": "gravelly"}),
    ("soil", "أرض حمراء", "answer", {"soil": "red"}),
    ("water_source", "تنقيط", "answer", {"water_source": "drip"}),
    ("water_source", "غمر", "answer", {"water_source": "flood"}),
    ("water_source", "ري بالرش", "answer", {"water_source": "sprinkler"}),
    ("water_source", "بعلي", "answer", {"water_source": "rainfed"}),
    ("rain_word", "خفيف", "answer", {"rain_word": "light"}),
    ("rain_word", "متوسط", "answer", {"rain_word": "moderate"}),
    ("rain_word", "شديد", "answer", {"rain_word": "heavy"}),
]


@pytest.mark.parametrize(("asking", "text", "task", "slots"), WORDS)
def test_word(asking: str | None, text: str, task: str, slots: dict[str, Any]) -> None:
    meaning = understand(text, "ar", date(2026, 12, 10), asking, LANGUAGES, BLOCKS)

    assert (meaning.task, dict(meaning.slots)) == (task, slots)


@pytest.mark.parametrize("text", ["عمل اليوم", '"عمل اليوم"'])
def test_todays_work(text: str) -> None:
    meaning = understand(text, "ar", date(2026, 12, 10), None, LANGUAGES, BLOCKS)

    assert meaning.task == "todays_jobs"
    assert meaning.slots.get("date") in (None, "2026-12-10")


@pytest.mark.parametrize("asking", [None, "minutes"])
def test_litres_for_a_tree(asking: str | None) -> None:
    """Taken for a bare answer or for a watering told anew: the open question is answered by both."""
    meaning = understand("20 لتر للشجرة", "ar", date(2026, 12, 10), asking, LANGUAGES, BLOCKS)

    assert meaning.task in ("answer", "log_watering")
    assert dict(meaning.slots) == {"litres_per_plant": 20}


@pytest.mark.parametrize(
    ("text", "command"), [("التكملة", "more"), ("لماذا", "why"), ("لماذا؟", "why"), ("غلط", "undo")]
)
def test_command(text: str, command: str) -> None:
    assert keyword(text, "ar", LANGUAGES) == command


@pytest.mark.parametrize("text", ["الملصق 390", "الملصق 39 في المئة"])
def test_label(text: str) -> None:
    """Grams in a litre, also from a percentage: 39 in a hundred is 390."""
    meaning = understand(text, "ar", date(2026, 12, 10), "ppm", LANGUAGES, BLOCKS)

    assert meaning.extra["grams_per_litre"] == 390
