"""The words that Marathi texts tell growers to send are understood as they were told."""

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
    (None, "पाणी बंद", "report_done", {"job": "rest"}),
    (None, "छाटणी झाली", "report_done", {"job": "cut"}),
    (None, "छाटणी झाली 18 जानेवारी", "report_done", {"job": "cut", "date": "2026-01-18"}),
    (None, "साफसफाई झाली", "report_done", {"job": "clean"}),
    (None, "पहिले काम झाले", "report_done", {"job": 1}),
    (None, "झाले", "report_done", {}),
    (None, "फवारणी झाली", "log_spray", {}),
    (None, "कॉपर फवारले", "log_spray", {"product": "copper"}),
    (None, "पाणी दिले 70 मिनिटे", "log_watering", {"minutes": 70}),
    (None, "पाने गळाली 80", "log_leaf_drop", {"percent": 80}),
    (None, "पाने गळाली 40%", "log_leaf_drop", {"percent": 40}),
    (None, "पाऊस 12", "log_rain", {"amount_mm": 12}),
    (None, "पाऊस 0", "log_rain", {"amount_mm": 0}),
    (None, "पाऊस 12, 5 डिसेंबर", "log_rain", {"amount_mm": 12, "date": "2026-12-05"}),
    (None, "पालवी नाही", "log_shoots", {"shoots": "none"}),
    (None, "पालवी कमी", "log_shoots", {"shoots": "few"}),
    (None, "पालवी खूप", "log_shoots", {"shoots": "many"}),
    (None, "छाटणी 4 जानेवारी", "set_cut_day", {"date": "2027-01-04"}),
    (None, "तारखा", "plan", {}),
    (None, "तारखा प्लॉट 2", "plan", {"block": "2"}),
    (None, "आजचे काम", "todays_jobs", {"date": "2026-12-10"}),
    (None, "इथेफॉन 15 लिटर", "mix_spray", {"product": "ethephon", "volume_l": 15}),
    (None, "नंतर", "postpone", {}),
    (None, "कॉपर नंतर 20 जानेवारी", "postpone", {"job": "copper", "date": "2027-01-20"}),
    (None, "माझे प्लॉट", "my_blocks", {}),
    (None, "चुकले", "undo", {}),
    (None, "सल्लागार", "person", {}),
    (None, "भाषा", "language", {}),
    (None, "मदत", "help", {}),
    (None, "राहू द्या", "cancel", {}),
    (None, "बंद करा", "stop", {}),
    (None, "पुन्हा सुरू करा", "resume", {}),
    (None, "माझी माहिती काढून टाका", "delete_me", {}),
    (None, "नाव नोंदवा", "join", {}),
    (
        None,
        "नवीन प्लॉट 240 झाडे 12x8 फूट काळी जमीन",
        "register_block",
        {"plants": 240, "spacing_m": [3.7, 2.4], "soil": "black"},
    ),
    (
        None,
        "नवीन प्लॉट 240 झाडे 12x8 फूट काळी जमीन ठिबक लागवड जुलै 2021",
        "register_block",
        {"plants": 240, "spacing_m": [3.7, 2.4], "soil": "black", "water_source": "drip", "planted": "2021-07"},
    ),
    ("confirm", "हो", "yes", {}),
    ("confirm", "नाही", "no", {}),
    ("job", "पहिले काम", "answer", {"job": 1}),
    ("job", "नववे काम", "answer", {"job": 9}),
    ("confirm", "सल्लागार", "person", {}),
    ("confirm", "नंतर", "postpone", {}),
    ("ppm", "सल्लागार", "person", {}),
    ("percent", "पाने गळाली 80", "answer", {"percent": 80}),
    ("percent", "एकही नाही", "answer", {"percent": 0}),
    ("percent", "सर्व", "answer", {"percent": 100}),
    ("shoots", "एकही नाही", "answer", {"shoots": "none"}),
    ("shoots", "कमी", "answer", {"shoots": "few"}),
    ("shoots", "खूप", "answer", {"shoots": "many"}),
    ("product", "इथेफॉन", "answer", {"product": "ethephon"}),
    ("product", "बोर्डो", "answer", {"product": "bordeaux"}),
    ("product", "दुसरे औषध", "answer", {"product": "other"}),
    ("block", "सर्व", "answer", {"block": "all"}),
    ("plants", "1.5 एकर", "answer", {"area_ha": 0.61}),
    ("spacing_m", "12x8 फूट", "answer", {"spacing_m": [3.7, 2.4]}),
    ("planted", "जुलै 2021", "answer", {"planted": "2021-07"}),
    ("planted", "नाही", "no", {}),
    ("date", "20 नोव्हेंबर", "answer", {"date": "2026-11-20"}),
    ("date", "4 जानेवारी", "answer", {"date": "2027-01-04"}),
    ("date", "नाही", "no", {}),
    ("month", "जानेवारी 2026", "answer", {"month": "2026-01"}),
    ("minutes", "90 मिनिटे", "answer", {"minutes": 90}),
    ("volume_l", "100 लिटर", "answer", {"volume_l": 100}),
    ("soil", "काळी", "answer", {"soil": "black"}),
    ("soil", "लाल", "answer", {"soil": "red"}),
    ("soil", "वाळूची", "answer", {"soil": "sandy"}),
    ("soil", "पोयट्याची", "answer", {"soil": "loam"}),
    ("soil", "चिकण", "answer", {"soil": "clay"}),
    ("soil", "मुरमाड", "answer", {"soil": "gravelly"}),
    ("soil", "लाल जमीन", "answer", {"soil": "red"}),
    ("soil", "हो", "yes", {}),
    ("water_source", "ठिबक", "answer", {"water_source": "drip"}),
    ("water_source", "पाटाने", "answer", {"water_source": "flood"}),
    ("water_source", "तुषार", "answer", {"water_source": "sprinkler"}),
    ("water_source", "पावसावर", "answer", {"water_source": "rainfed"}),
    ("language", "इंग्रजी अक्षरांत हिंदी", "answer", {"language": "hi_Latn"}),
    ("language", "कन्नड", "answer", {"language": "kn"}),
]


@pytest.mark.parametrize(("asking", "text", "task", "slots"), WORDS)
def test_word(asking: str | None, text: str, task: str, slots: dict[str, Any]) -> None:
    """Also in the quotes in which Devanagari texts set it apart."""
    for as_told in (text, f"'{text}'"):
        meaning = understand(as_told, "mr", date(2026, 12, 10), asking, LANGUAGES, BLOCKS)

        assert (meaning.task, dict(meaning.slots)) == (task, slots)


@pytest.mark.parametrize(
    ("asking", "text", "task", "slots"),
    [
        ("rain_word", "हलका पाऊस", "log_rain", {"rain_word": "light"}),
        ("rain_word", "चांगला पाऊस", "log_rain", {"rain_word": "moderate"}),
        ("rain_word", "जोरदार पाऊस", "log_rain", {"rain_word": "heavy"}),
        ("minutes", "एका झाडाला 20 लिटर", "log_watering", {"litres_per_plant": 20}),
    ],
)
def test_answer_or_told_anew(asking: str, text: str, task: str, slots: dict[str, Any]) -> None:
    """Taken for a bare answer or for what it answers told anew: the open question is answered by both."""
    meaning = understand(text, "mr", date(2026, 12, 10), asking, LANGUAGES, BLOCKS)

    assert meaning.task in ("answer", task)
    assert dict(meaning.slots) == slots


@pytest.mark.parametrize(("text", "command"), [("पुढे", "more"), ("'पुढे'", "more"), ("का", "why"), ("'का'", "why")])
def test_command(text: str, command: str) -> None:
    assert keyword(text, "mr", LANGUAGES) == command


@pytest.mark.parametrize("text", ["लेबल 390", "लेबल 39 %"])
def test_label(text: str) -> None:
    """Grams in a litre, also from a percentage: 39 % is 390."""
    meaning = understand(text, "mr", date(2026, 12, 10), "ppm", LANGUAGES, BLOCKS)

    assert meaning.extra["grams_per_litre"] == 390
