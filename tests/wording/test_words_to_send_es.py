"""The words that Spanish texts tell growers to send are understood as they were told."""

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
    (None, "RIEGO CORTADO", "report_done", {"job": "rest"}),
    (None, "PODA HECHA", "report_done", {"job": "cut"}),
    (None, "PODA HECHA 18 ENERO", "report_done", {"job": "cut", "date": "2026-01-18"}),
    (None, "LIMPIEZA HECHA", "report_done", {"job": "clean"}),
    (None, "PRIMERA TAREA HECHA", "report_done", {"job": 1}),
    (None, "HECHO", "report_done", {}),
    (None, "APLICADO", "log_spray", {}),
    (None, "COBRE APLICADO", "log_spray", {"product": "copper"}),
    (None, "REGUE 70 MINUTOS", "log_watering", {"minutes": 70}),
    (None, "HOJA 80", "log_leaf_drop", {"percent": 80}),
    (None, "HOJA 40%", "log_leaf_drop", {"percent": 40}),
    (None, "LLUVIA 12", "log_rain", {"amount_mm": 12}),
    (None, "LLUVIA 0", "log_rain", {"amount_mm": 0}),
    (None, "LLUVIA 12 EL 5 DIC", "log_rain", {"amount_mm": 12, "date": "2026-12-05"}),
    (None, "BROTES NINGUNO", "log_shoots", {"shoots": "none"}),
    (None, "BROTES POCOS", "log_shoots", {"shoots": "few"}),
    (None, "BROTES MUCHOS", "log_shoots", {"shoots": "many"}),
    (None, "PODA 4 ENERO", "set_cut_day", {"date": "2027-01-04"}),
    (None, "FECHAS", "plan", {}),
    (None, "FECHAS PARCELA 2", "plan", {"block": "2"}),
    (None, "QUE TOCA HOY", "todays_jobs", {"date": "2026-12-10"}),
    (None, "ETEFON 15 LITROS", "mix_spray", {"product": "ethephon", "volume_l": 15}),
    (None, "DESPUES", "postpone", {}),
    (None, "COBRE DESPUES 20 ENERO", "postpone", {"job": "copper", "date": "2027-01-20"}),
    (None, "MIS PARCELAS", "my_blocks", {}),
    (None, "ERROR", "undo", {}),
    (None, "TECNICO", "person", {}),
    (None, "IDIOMA", "language", {}),
    (None, "AYUDA", "help", {}),
    (None, "CANCELAR", "cancel", {}),
    (None, "BAJA", "stop", {}),
    (None, "RECIBIR OTRA VEZ", "resume", {}),
    (None, "BORRAR MIS DATOS", "delete_me", {}),
    (None, "APUNTARME", "join", {}),
    (
        None,
        "PARCELA NUEVA 240 ARBOLES 4X3 METROS TIERRA NEGRA",
        "register_block",
        {"plants": 240, "spacing_m": [4.0, 3.0], "soil": "black"},
    ),
    (
        None,
        "PARCELA NUEVA 240 ARBOLES 4X3 METROS TIERRA NEGRA GOTEO PLANTADA JULIO 2021",
        "register_block",
        {"plants": 240, "spacing_m": [4.0, 3.0], "soil": "black", "water_source": "drip", "planted": "2021-07"},
    ),
    ("confirm", "SI", "yes", {}),
    ("confirm", "NO", "no", {}),
    ("job", "PRIMERA TAREA", "answer", {"job": 1}),
    ("percent", "HOJA 80", "answer", {"percent": 80}),
    ("percent", "NADA", "answer", {"percent": 0}),
    ("percent", "TODA", "answer", {"percent": 100}),
    ("shoots", "NINGUNO", "answer", {"shoots": "none"}),
    ("shoots", "POCOS", "answer", {"shoots": "few"}),
    ("shoots", "MUCHOS", "answer", {"shoots": "many"}),
    ("product", "ETEFON", "answer", {"product": "ethephon"}),
    ("product", "BORDELES", "answer", {"product": "bordeaux"}),
    ("block", "TODAS", "answer", {"block": "all"}),
    ("plants", "1.5 HECTAREAS", "answer", {"area_ha": 1.5}),
    ("spacing_m", "4X3 METROS", "answer", {"spacing_m": [4.0, 3.0]}),
    ("planted", "JULIO 2021", "answer", {"planted": "2021-07"}),
    ("planted", "NO", "no", {}),
    ("date", "20 NOV", "answer", {"date": "2026-11-20"}),
    ("date", "4 ENERO", "answer", {"date": "2027-01-04"}),
    ("date", "NO", "no", {}),
    ("month", "ENERO 2026", "answer", {"month": "2026-01"}),
    ("minutes", "90 MINUTOS", "answer", {"minutes": 90}),
    ("minutes", "20 LITROS POR ARBOL", "log_watering", {"litres_per_plant": 20}),
    ("volume_l", "100 LITROS", "answer", {"volume_l": 100}),
    ("soil", "NEGRA", "answer", {"soil": "black"}),
    ("soil", "ROJA", "answer", {"soil": "red"}),
    ("soil", "ARENOSA", "answer", {"soil": "sandy"}),
    ("soil", "FRANCA", "answer", {"soil": "loam"}),
    ("soil", "ARCILLOSA", "answer", {"soil": "clay"}),
    ("soil", "PEDREGOSA", "answer", {"soil": "gravelly"}),
    ("soil", "TIERRA ROJA", "answer", {"soil": "red"}),
    ("soil", "SI", "yes", {}),
    ("water_source", "GOTEO", "answer", {"water_source": "drip"}),
    ("water_source", "SURCO", "answer", {"water_source": "flood"}),
    ("water_source", "ASPERSION", "answer", {"water_source": "sprinkler"}),
    ("water_source", "SOLO LLUVIA", "answer", {"water_source": "rainfed"}),
]


@pytest.mark.parametrize(("asking", "text", "task", "slots"), WORDS)
def test_word(asking: str | None, text: str, task: str, slots: dict[str, Any]) -> None:
    meaning = understand(text, "es", date(2026, 12, 10), asking, LANGUAGES, BLOCKS)

    assert (meaning.task, dict(meaning.slots)) == (task, slots)


@pytest.mark.parametrize(
    ("text", "rain_word"), [("LLOVIZNA", "light"), ("LLUVIA REGULAR", "moderate"), ("LLUVIA FUERTE", "heavy")]
)
def test_rain_word(text: str, rain_word: str) -> None:
    """Taken for a bare answer or for a rain told anew: the open question is answered by both."""
    meaning = understand(text, "es", date(2026, 12, 10), "rain_word", LANGUAGES, BLOCKS)

    assert meaning.task in ("answer", "log_rain")
    assert dict(meaning.slots) == {"rain_word": rain_word}


@pytest.mark.parametrize(("text", "command"), [("MAS", "more"), ("POR QUE", "why"), ("¿POR QUE?", "why")])
def test_command(text: str, command: str) -> None:
    assert keyword(text, "es", LANGUAGES) == command


@pytest.mark.parametrize("text", ["ETIQUETA 390", "ETIQUETA 39 %"])
def test_label(text: str) -> None:
    """Grams in a litre, also from a percentage: 39 % is 390."""
    meaning = understand(text, "es", date(2026, 12, 10), "ppm", LANGUAGES, BLOCKS)

    assert meaning.extra["grams_per_litre"] == 390
