"""The words that Kannada texts tell growers to send are understood as they were told."""

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
    (None, "ನೀರು ಬಂದ್", "report_done", {"job": "rest"}),
    (None, "ಚಾಟನಿ ಆಯ್ತು", "report_done", {"job": "cut"}),
    (None, "ಚಾಟನಿ ಆಯ್ತು ಜನವರಿ 18", "report_done", {"job": "cut", "date": "2026-01-18"}),
    (None, "ಸ್ವಚ್ಛತೆ ಆಯ್ತು", "report_done", {"job": "clean"}),
    (None, "ಮೊದಲ ಕೆಲಸ ಆಯ್ತು", "report_done", {"job": 1}),
    (None, "ಕೆಲಸ ಆಯ್ತು", "report_done", {}),
    (None, "ಸಿಂಪಡಣೆ ಆಯ್ತು", "log_spray", {}),
    (None, "ಕಾಪರ್ ಹೊಡೆದೆ", "log_spray", {"product": "copper"}),
    (None, "ನೀರು ಕೊಟ್ಟೆ 70 ನಿಮಿಷ", "log_watering", {"minutes": 70}),
    (None, "ಎಲೆ ಉದುರಿದೆ 80", "log_leaf_drop", {"percent": 80}),
    (None, "ಎಲೆ ಉದುರಿದೆ 40%", "log_leaf_drop", {"percent": 40}),
    (None, "ಮಳೆ 12", "log_rain", {"amount_mm": 12}),
    (None, "ಮಳೆ 0", "log_rain", {"amount_mm": 0}),
    (None, "ಮಳೆ 12, ಡಿಸೆಂಬರ್ 5", "log_rain", {"amount_mm": 12, "date": "2026-12-05"}),
    (None, "ಚಿಗುರು ಇಲ್ಲ", "log_shoots", {"shoots": "none"}),
    (None, "ಚಿಗುರು ಸ್ವಲ್ಪ", "log_shoots", {"shoots": "few"}),
    (None, "ಚಿಗುರು ಬಹಳ", "log_shoots", {"shoots": "many"}),
    (None, "ಚಾಟನಿ ಜನವರಿ 4", "set_cut_day", {"date": "2027-01-04"}),
    (None, "ದಿನಾಂಕ", "plan", {}),
    (None, "ದಿನಾಂಕ ತೋಟ 2", "plan", {"block": "2"}),
    (None, "ಇವತ್ತಿನ ಕೆಲಸ", "todays_jobs", {"date": "2026-12-10"}),
    (None, "ಎಥೆಫಾನ್ 15 ಲೀಟರ್", "mix_spray", {"product": "ethephon", "volume_l": 15}),
    (None, "ಆಮೇಲೆ", "postpone", {}),
    (None, "ಕಾಪರ್ ಆಮೇಲೆ ಜನವರಿ 20", "postpone", {"job": "copper", "date": "2027-01-20"}),
    (None, "ನನ್ನ ತೋಟಗಳು", "my_blocks", {}),
    (None, "ತಪ್ಪಾಯ್ತು", "undo", {}),
    (None, "ಅಧಿಕಾರಿ", "person", {}),
    (None, "ಭಾಷೆ", "language", {}),
    (None, "ಸಹಾಯ", "help", {}),
    (None, "ಬೇಡ ಬಿಡಿ", "cancel", {}),
    (None, "ಮೆಸೇಜ್ ನಿಲ್ಲಿಸಿ", "stop", {}),
    (None, "ಮತ್ತೆ ಶುರು ಮಾಡಿ", "resume", {}),
    (None, "ನನ್ನ ಮಾಹಿತಿ ಅಳಿಸಿ", "delete_me", {}),
    (None, "ನನ್ನನ್ನು ಸೇರಿಸಿ", "join", {}),
    (
        None,
        "ಹೊಸ ತೋಟ 240 ಗಿಡ 12x8 ಅಡಿ ಕಪ್ಪು ಮಣ್ಣು",
        "register_block",
        {"plants": 240, "spacing_m": [3.7, 2.4], "soil": "black"},
    ),
    (
        None,
        "ಹೊಸ ತೋಟ 240 ಗಿಡ 12x8 ಅಡಿ ಕಪ್ಪು ಮಣ್ಣು ಹನಿ ನೀರಾವರಿ ನಾಟಿ ಜುಲೈ 2021",
        "register_block",
        {"plants": 240, "spacing_m": [3.7, 2.4], "soil": "black", "water_source": "drip", "planted": "2021-07"},
    ),
    ("confirm", "ಹೌದು", "yes", {}),
    ("confirm", "ಇಲ್ಲ", "no", {}),
    ("job", "ಮೊದಲ ಕೆಲಸ", "answer", {"job": 1}),
    ("job", "ಒಂಬತ್ತನೇ ಕೆಲಸ", "answer", {"job": 9}),
    ("confirm", "ಅಧಿಕಾರಿ", "person", {}),
    ("confirm", "ಆಮೇಲೆ", "postpone", {}),
    ("ppm", "ಅಧಿಕಾರಿ", "person", {}),
    ("percent", "ಎಲೆ ಉದುರಿದೆ 80", "answer", {"percent": 80}),
    ("percent", "ಒಂದೂ ಇಲ್ಲ", "answer", {"percent": 0}),
    ("percent", "ಎಲ್ಲಾ", "answer", {"percent": 100}),
    ("shoots", "ಒಂದೂ ಇಲ್ಲ", "answer", {"shoots": "none"}),
    ("shoots", "ಸ್ವಲ್ಪ", "answer", {"shoots": "few"}),
    ("shoots", "ಬಹಳ", "answer", {"shoots": "many"}),
    ("product", "ಎಥೆಫಾನ್", "answer", {"product": "ethephon"}),
    ("product", "ಬೋರ್ಡೋ", "answer", {"product": "bordeaux"}),
    ("product", "ಬೇರೆ ಔಷಧಿ", "answer", {"product": "other"}),
    ("block", "ಎಲ್ಲಾ", "answer", {"block": "all"}),
    ("plants", "1.5 ಎಕರೆ", "answer", {"area_ha": 0.61}),
    ("spacing_m", "12x8 ಅಡಿ", "answer", {"spacing_m": [3.7, 2.4]}),
    ("planted", "ಜುಲೈ 2021", "answer", {"planted": "2021-07"}),
    ("planted", "ಇಲ್ಲ", "no", {}),
    ("date", "ನವೆಂಬರ್ 20", "answer", {"date": "2026-11-20"}),
    ("date", "ಜನವರಿ 4", "answer", {"date": "2027-01-04"}),
    ("date", "ಇಲ್ಲ", "no", {}),
    ("month", "ಜನವರಿ 2026", "answer", {"month": "2026-01"}),
    ("minutes", "90 ನಿಮಿಷ", "answer", {"minutes": 90}),
    ("volume_l", "100 ಲೀಟರ್", "answer", {"volume_l": 100}),
    ("soil", "ಕಪ್ಪು", "answer", {"soil": "black"}),
    ("soil", "ಕೆಂಪು", "answer", {"soil": "red"}),
    ("soil", "ಮರಳು", "answer", {"soil": "sandy"}),
    ("soil", "ಗೋಡು", "answer", {"soil": "loam"}),
    ("soil", "ಜೇಡಿ", "answer", {"soil": "clay"}),
    ("soil", "ಗರಸು", "answer", {"soil": "gravelly"}),
    ("soil", "ಕೆಂಪು ಮಣ್ಣು", "answer", {"soil": "red"}),
    ("soil", "ಹೌದು", "yes", {}),
    ("water_source", "ಹನಿ ನೀರಾವರಿ", "answer", {"water_source": "drip"}),
    ("water_source", "ಕಾಲುವೆ ನೀರು", "answer", {"water_source": "flood"}),
    ("water_source", "ತುಂತುರು ನೀರಾವರಿ", "answer", {"water_source": "sprinkler"}),
    ("water_source", "ಮಳೆ ಆಶ್ರಿತ", "answer", {"water_source": "rainfed"}),
    ("language", "ಇಂಗ್ಲಿಷ್ ಅಕ್ಷರದ ಹಿಂದಿ", "answer", {"language": "hi_Latn"}),
    ("language", "ಮರಾಠಿ", "answer", {"language": "mr"}),
    ("language", "ಕನ್ನಡ", "answer", {"language": "kn"}),
]


@pytest.mark.parametrize(("asking", "text", "task", "slots"), WORDS)
def test_word(asking: str | None, text: str, task: str, slots: dict[str, Any]) -> None:
    """Also in the quotes in which Kannada texts set it apart."""
    for as_told in (text, f"'{text}'"):
        meaning = understand(as_told, "kn", date(2026, 12, 10), asking, LANGUAGES, BLOCKS)

        assert (meaning.task, dict(meaning.slots)) == (task, slots)


@pytest.mark.parametrize(
    ("asking", "text", "task", "slots"),
    [
        ("rain_word", "ಸಣ್ಣ ಮಳೆ", "log_rain", {"rain_word": "light"}),
        ("rain_word", "ಒಳ್ಳೆ ಮಳೆ", "log_rain", {"rain_word": "moderate"}),
        ("rain_word", "ಜೋರು ಮಳೆ", "log_rain", {"rain_word": "heavy"}),
        ("minutes", "ಒಂದು ಗಿಡಕ್ಕೆ 20 ಲೀಟರ್", "log_watering", {"litres_per_plant": 20}),
    ],
)
def test_answer_or_told_anew(asking: str, text: str, task: str, slots: dict[str, Any]) -> None:
    """Taken for a bare answer or for what it answers told anew: the open question is answered by both."""
    meaning = understand(text, "kn", date(2026, 12, 10), asking, LANGUAGES, BLOCKS)

    assert meaning.task in ("answer", task)
    assert dict(meaning.slots) == slots


@pytest.mark.parametrize(("text", "command"), [("ಮುಂದೆ", "more"), ("'ಮುಂದೆ'", "more"), ("ಯಾಕೆ", "why"), ("'ಯಾಕೆ'", "why")])
def test_command(text: str, command: str) -> None:
    assert keyword(text, "kn", LANGUAGES) == command


@pytest.mark.parametrize("text", ["ಲೇಬಲ್ 390", "ಲೇಬಲ್ 39 %"])
def test_label(text: str) -> None:
    """Grams in a litre, also from a percentage: 39 % is 390."""
    meaning = understand(text, "kn", date(2026, 12, 10), "ppm", LANGUAGES, BLOCKS)

    assert meaning.extra["grams_per_litre"] == 390
