"""What our English texts tell growers to send is understood as they were told."""

from datetime import date
from typing import Any

import pytest

from dialogs.language import load_languages
from dialogs.understanding import KnownBlock, understand

LANGUAGES = load_languages()


@pytest.mark.parametrize(
    ("asking", "text", "task", "slots"),
    [
        (None, "RAIN 12", "log_rain", {"amount_mm": 12}),
        (None, "WHAT WORK", "todays_jobs", {}),
        (None, "CUT DONE", "report_done", {"job": "cut"}),
        (None, "PLAN", "plan", {}),
        (None, "PLAN 2", "plan", {"block": "2"}),
        (None, "CUT 4 JAN", "set_cut_day", {"date": "2027-01-04"}),
        (None, "ETHEPHON 15 L", "mix_spray", {"product": "ethephon", "volume_l": 15}),
        (None, "UNDO", "undo", {}),
        (None, "MY BLOCKS", "my_blocks", {}),
        (None, "LEAF 40%", "log_leaf_drop", {"percent": 40}),
        (None, "WATERED 70 MIN", "log_watering", {"minutes": 70}),
        (None, "LATER", "postpone", {}),
        (None, "SHOOTS NONE", "log_shoots", {"shoots": "none"}),
        (None, "SHOOTS FEW", "log_shoots", {"shoots": "few"}),
        (None, "SHOOTS MANY", "log_shoots", {"shoots": "many"}),
        (None, "PERSON", "person", {}),
        (None, "LANGUAGE", "language", {}),
        (None, "STOP", "stop", {}),
        (None, "RESUME", "resume", {}),
        (None, "ERASE ME", "delete_me", {}),
        (None, "JOIN", "join", {}),
        (None, "HELP", "help", {}),
        (None, "CANCEL", "cancel", {}),
        (
            None,
            "NEW BLOCK 240 PLANTS 12X8 FT BLACK SOIL",
            "register_block",
            {"plants": 240, "spacing_m": [3.7, 2.4], "soil": "black"},
        ),
        ("plants", "1.5 ACRE", "answer", {"area_ha": 0.61}),
        ("spacing_m", "12X8 FEET", "answer", {"spacing_m": [3.7, 2.4]}),
        ("planted", "JULY 2021", "answer", {"planted": "2021-07"}),
        ("planted", "JAN 2026", "answer", {"planted": "2026-01"}),
        ("planted", "NO", "no", {}),
        ("date", "20 NOV", "answer", {"date": "2026-11-20"}),
        ("date", "NO", "no", {}),
        ("amount_mm", "RAIN 12 5 DEC", "log_rain", {"amount_mm": 12, "date": "2026-12-05"}),
        ("soil", "RED SOIL", "answer", {"soil": "red"}),
        ("soil", "YES", "yes", {}),
        ("soil", "260 PLANTS", "answer", {"plants": 260}),
        ("shoots", "MANY", "answer", {"shoots": "many"}),
        ("rain_word", "HEAVY", "answer", {"rain_word": "heavy"}),
        ("water_source", "RAINFED", "answer", {"water_source": "rainfed"}),
        ("block", "ALL", "answer", {"block": "all"}),
        ("job", "2", "answer", {"job": 2}),
    ],
)
def test_example(asking: str | None, text: str, task: str, slots: dict[str, Any]) -> None:
    blocks = [KnownBlock("1", None), KnownBlock("2", None)]
    meaning = understand(text, "en", date(2026, 12, 10), asking, LANGUAGES, blocks)

    assert (meaning.task, dict(meaning.slots)) == (task, slots)
