"""Texts of an invented cooperative's growers in the first days of January 2026: what the pages are looked at with.

Nothing is inserted: all of it goes through the inbox, as a gateway would bring it.
"""

from collections.abc import Iterator
from datetime import datetime

NAMES = (
    "Sunanda", "Gopal", "Meera", "Vithal", "Kaveri", "Ramesh", "Lata", "Dattu", "Savita", "Sunita", "Iqbal", "Rukmini",
    "Shobha", "Anil", "Bharat", "Chandra", "Devaki", "Eknath", "Fatima", "Ganesh", "Hira", "Indu", "Jyoti", "Kashi",
    "Leela", "Madhav", "Nalini", "Omkar", "Parvati", "Raghu",
)  # fmt: skip
VILLAGES = ("Red Bank", "Upper Neem", "Far Well")
SOILS = ("black", "red", "sandy", "loam")
WATER = ("drip", "flood")
TROUBLES = {
    4: "oily spots on fruit, 12 plants",
    9: "sprayed and now my son is vomiting",
    11: "can i cut now in rain?",
    14: "call me",
    17: "leaves drying, wilt on 3 plants",
    21: "how much water after first water",
}
MARATHI, HINDI, KANNADA = 5, 10, 15  # the places of growers who text in their own script


def number(place: int) -> str:
    return f"+9198000001{place:02}"


def told() -> Iterator[tuple[datetime, str, str]]:
    """(local time, number, text) in order."""
    yield from sorted(_all(), key=lambda one: one[0])


def _all() -> Iterator[tuple[datetime, str, str]]:
    for place, name in enumerate(NAMES):
        who, minute = number(place), place % 60
        village, soil = VILLAGES[place % 3], SOILS[place % 4]
        plants, year = 160 + 20 * (place % 11), 2018 + place % 5

        def at(day: int, hour: int, who: str = who, minute: int = minute) -> datetime:
            return datetime(2026, 1, day, hour, minute)  # noqa: DTZ001  local to the cooperative

        if place in (27, 28):  # has only said hello
            yield at(2, 8), who, "hello"
            continue
        block = f"{plants} plants 12x8 feet {soil} soil {WATER[place % 2]} planted july {year}"
        yield at(2, 8), who, f"hello this is {name} from {village}. {block}"
        yield at(2, 9), who, "yes"
        if place % 7 == 6:
            yield at(2, 10), who, "no"  # no cut set
            continue
        yield at(2, 10), who, f"stopped water {1 + place % 20} december"
        yield at(2, 11), who, "no"
        yield at(2, 12), who, f"cut on {16 + place % 14} january"
        yield at(2, 13), who, "yes"
        if place % 3 == 0:
            yield at(4, 7), who, f"rain {12 + place} last night"
        if place % 6 == 1:
            yield at(4, 8), who, "rain 34 last night"
            yield at(4, 9), who, "undo"
        if place % 5 == 2:
            yield at(6, 18), who, "second block 90 plants 10x10 feet red soil drip planted 2021"
            yield at(6, 19), who, "yes"
        if place in TROUBLES:
            yield at(9, 16), who, TROUBLES[place]
    yield datetime(2026, 1, 9, 18, 1), number(30), "नमस्कार"  # noqa: DTZ001
    yield datetime(2026, 1, 9, 18, 2), number(31), "ನಮಸ್ಕಾರ"  # noqa: DTZ001
