"""The words that Hindi texts tell growers to send, in both scripts, are understood as they were told."""

from datetime import date
from typing import Any

import pytest

from dialogs.language import load_languages
from dialogs.understanding import KnownBlock, understand
from dialogs.understanding.reading import keyword

LANGUAGES = load_languages()
BLOCKS = [KnownBlock("1", None), KnownBlock("2", None)]

# What was asked, as it is told in Hindi and in Hindi in Latin letters, what it must be taken for
WORDS: list[tuple[str | None, str, str, str, dict[str, Any]]] = [
    (None, "पानी बंद", "PANI BAND", "report_done", {"job": "rest"}),
    (None, "छंटाई हो गई", "CHHATAI HO GAYI", "report_done", {"job": "cut"}),
    (None, "छंटाई हो गई 18 जनवरी", "CHHATAI HO GAYI 18 JAN", "report_done", {"job": "cut", "date": "2026-01-18"}),
    (None, "सफाई हो गई", "SAFAI HO GAYI", "report_done", {"job": "clean"}),
    (None, "हो गया", "HO GAYA", "report_done", {}),
    (None, "स्प्रे हो गया", "SPRAY HO GAYA", "log_spray", {}),
    (None, "स्प्रे हो गया", "CHHIDKA", "log_spray", {}),
    (None, "कॉपर छिड़का", "COPPER CHHIDKA", "log_spray", {"product": "copper"}),
    (None, "पानी दिया 70 मिनट", "PANI DIYA 70 MINUTE", "log_watering", {"minutes": 70}),
    (None, "पत्ते गिरे 80", "PATTE GIRE 80", "log_leaf_drop", {"percent": 80}),
    (None, "पत्ते गिरे 40%", "PATTE GIRE 40%", "log_leaf_drop", {"percent": 40}),
    (None, "बारिश 12", "BARISH 12", "log_rain", {"amount_mm": 12}),
    (None, "बारिश 0", "BARISH 0", "log_rain", {"amount_mm": 0}),
    (None, "बारिश 12, 5 दिसंबर", "BARISH 12, 5 DEC", "log_rain", {"amount_mm": 12, "date": "2026-12-05"}),
    (None, "कोंपल नहीं", "KOPAL NAHI", "log_shoots", {"shoots": "none"}),
    (None, "कोंपल कम", "KOPAL KAM", "log_shoots", {"shoots": "few"}),
    (None, "कोंपल बहुत", "KOPAL BAHUT", "log_shoots", {"shoots": "many"}),
    (None, "छंटाई 4 जनवरी", "CHHATAI 4 JAN", "set_cut_day", {"date": "2027-01-04"}),
    (None, "तारीखें", "TARIKHE", "plan", {}),
    (None, "तारीखें प्लॉट 2", "TARIKHE PLOT 2", "plan", {"block": "2"}),
    (None, "आज का काम", "AAJ KA KAAM", "todays_jobs", {"date": "2026-12-10"}),
    (None, "एथेफॉन 15 लीटर", "ETHEPHON 15 LITRE", "mix_spray", {"product": "ethephon", "volume_l": 15}),
    (None, "बाद में", "BAAD ME", "postpone", {}),
    (None, "कॉपर बाद में 20 जनवरी", "COPPER BAAD ME 20 JAN", "postpone", {"job": "copper", "date": "2027-01-20"}),
    (None, "मेरे प्लॉट", "MERE PLOT", "my_blocks", {}),
    (None, "गलत", "GALAT", "undo", {}),
    (None, "किसी से बात", "KISI SE BAAT", "person", {}),
    (None, "भाषा", "BHASHA", "language", {}),
    (None, "मदद", "MADAD", "help", {}),
    (None, "रहने दो", "REHNE DO", "cancel", {}),
    (None, "बंद करो", "BAND KARO", "stop", {}),
    (None, "फिर से चालू करो", "PHIR SE CHALU KARO", "resume", {}),
    (None, "मेरी जानकारी मिटाओ", "MERI JANKARI MITAO", "delete_me", {}),
    (None, "जुड़ना है", "JUDNA HAI", "join", {}),
    (
        None,
        "नया प्लॉट 240 पौधे 12x8 फुट काली मिट्टी",
        "NAYA PLOT 240 PAUDHE 12X8 FEET KALI MITTI",
        "register_block",
        {"plants": 240, "spacing_m": [3.7, 2.4], "soil": "black"},
    ),
    ("confirm", "हाँ", "HAAN", "yes", {}),
    ("confirm", "नहीं", "NAHI", "no", {}),
    ("job", "पहला काम", "PEHLA KAAM", "answer", {"job": 1}),
    ("percent", "पत्ते गिरे 80", "PATTE GIRE 80", "answer", {"percent": 80}),
    ("percent", "एक भी नहीं", "EK BHI NAHI", "answer", {"percent": 0}),
    ("percent", "सब", "SAB", "answer", {"percent": 100}),
    ("shoots", "एक भी नहीं", "EK BHI NAHI", "answer", {"shoots": "none"}),
    ("shoots", "कम", "KAM", "answer", {"shoots": "few"}),
    ("shoots", "बहुत", "BAHUT", "answer", {"shoots": "many"}),
    ("rain_word", "हल्की बारिश", "HALKI BARISH", "log_rain", {"rain_word": "light"}),
    ("rain_word", "अच्छी बारिश", "ACHHI BARISH", "log_rain", {"rain_word": "moderate"}),
    ("rain_word", "तेज बारिश", "TEZ BARISH", "log_rain", {"rain_word": "heavy"}),
    ("product", "एथेफॉन", "ETHEPHON", "answer", {"product": "ethephon"}),
    ("product", "बोर्डो", "BORDO", "answer", {"product": "bordeaux"}),
    ("product", "दूसरी दवा", "DUSRI DAWA", "answer", {"product": "other"}),
    ("block", "सब", "SAB", "answer", {"block": "all"}),
    ("plants", "1.5 एकड़", "1.5 ACRE", "answer", {"area_ha": 0.61}),
    ("spacing_m", "12x8 फुट", "12X8 FEET", "answer", {"spacing_m": [3.7, 2.4]}),
    ("planted", "जुलाई 2021", "JULY 2021", "answer", {"planted": "2021-07"}),
    ("date", "20 नवंबर", "20 NOV", "answer", {"date": "2026-11-20"}),
    ("date", "4 जनवरी", "4 JAN", "answer", {"date": "2027-01-04"}),
    ("date", "नहीं", "NAHI", "no", {}),
    ("minutes", "90 मिनट", "90 MINUTE", "answer", {"minutes": 90}),
    ("minutes", "20 लीटर हर पौधे", "20 LITRE HAR PAUDHE", "log_watering", {"litres_per_plant": 20}),
    ("volume_l", "100 लीटर", "100 LITRE", "answer", {"volume_l": 100}),
    ("soil", "काली", "KALI", "answer", {"soil": "black"}),
    ("soil", "मुरम", "MURAM", "answer", {"soil": "gravelly"}),
    ("soil", "लाल मिट्टी", "LAL MITTI", "answer", {"soil": "red"}),
    ("soil", "हाँ", "HAAN", "yes", {}),
    ("water_source", "नाली से", "NALI SE", "answer", {"water_source": "flood"}),
    ("water_source", "फव्वारा", "FAVVARA", "answer", {"water_source": "sprinkler"}),
    ("water_source", "बारिश के भरोसे", "BARISH KE BHAROSE", "answer", {"water_source": "rainfed"}),
]


def both_scripts() -> list[tuple[str, str | None, str, str, dict[str, Any]]]:
    return [
        (language, asking, text, task, slots)
        for asking, devanagari, latin, task, slots in WORDS
        for language, text in (("hi", devanagari), ("hi", f"'{devanagari}'"), ("hi_Latn", latin))
    ]


@pytest.mark.parametrize(("language", "asking", "text", "task", "slots"), both_scripts())
def test_word(language: str, asking: str | None, text: str, task: str, slots: dict[str, Any]) -> None:
    """With the quotes in which Devanagari texts set it apart, too."""
    meaning = understand(text, language, date(2026, 12, 10), asking, LANGUAGES, BLOCKS)

    assert (meaning.task, dict(meaning.slots)) == (task, slots)


@pytest.mark.parametrize(
    ("language", "text", "command"),
    [
        ("hi", "आगे", "more"),
        ("hi", "'आगे'", "more"),
        ("hi_Latn", "AAGE", "more"),
        ("hi", "क्यों", "why"),
        ("hi_Latn", "KYON", "why"),
    ],
)
def test_command(language: str, text: str, command: str) -> None:
    assert keyword(text, language, LANGUAGES) == command


@pytest.mark.parametrize(("language", "label"), [("hi", "लेबल"), ("hi_Latn", "LABEL")])
def test_label(language: str, label: str) -> None:
    """Grams in a litre, also from a percentage: 39 % is 390."""
    for text in (f"{label} 390", f"{label} 39 %"):
        meaning = understand(text, language, date(2026, 12, 10), "ppm", LANGUAGES, BLOCKS)

        assert meaning.extra["grams_per_litre"] == 390
