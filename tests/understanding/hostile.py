"""Texts that no honest grower sends, and the form that any meaning must have, whatever the text."""

import json
import math
import random
import re
from collections.abc import Callable, Mapping
from datetime import date
from pathlib import Path
from typing import Any

from dialogs.devanagari import romanised
from dialogs.language import Language
from dialogs.understanding import KnownBlock, Meaning

CORPUS = Path(__file__).resolve().parent.parent / "corpus"
TODAY = date(2026, 8, 12)
BLOCKS = (KnownBlock("1", "Upper Neem"), KnownBlock("2", "नीम वाला"), KnownBlock("3", None), KnownBlock("4", "الفوق"))
VILLAGES = ("Ambewadi", "नीमगांव")
LENGTH = 10_000

# Tasks, slots and their forms: the understanding corpus's description of a line.
TASKS = frozenset(
    "join register_block my_blocks choose_season plan set_cut_day todays_jobs report_done postpone log_rain "
    "log_watering log_leaf_drop mix_spray log_spray water_need report_trouble log_shoots log_flowering log_harvest "
    "crew hurt ask person language stop resume delete_me help cancel undo yes no answer unclear".split()
)
ASKED = (None, "confirm", *(
    "block date month time_of_day amount_mm rain_word plants spacing_m area_ha planted soil water_source season "
    "product volume_l ppm job shoots percent minutes litres_per_plant trouble weight_kg people delay_days language name"
).split())  # fmt: skip
JOBS = ("rest", "defoliate", "copper", "cut", "clean", "water")


def _one_of(*values: Any) -> Callable[[Any], bool]:
    return lambda value: value in values


def _text(pattern: str) -> Callable[[Any], bool]:
    return lambda value: isinstance(value, str) and re.fullmatch(pattern, value, re.DOTALL) is not None


def _number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and 0 <= value < math.inf


def _whole(value: Any) -> bool:
    return _number(value) and isinstance(value, int)


def _day(value: Any) -> bool:
    return isinstance(value, str) and date.fromisoformat(value).isoformat() == value


def _pair(value: Any) -> bool:
    return isinstance(value, list) and len(value) == 2 and all(map(_number, value))


SLOTS: Mapping[str, Callable[[Any], bool]] = {
    "block": _text(r".+"),
    "date": _day,
    "month": _text(r"\d{4}-(0[1-9]|1[0-2])"),
    "time_of_day": _one_of("morning", "noon", "evening", "night"),
    "amount_mm": _number,
    "rain_word": _one_of("none", "light", "moderate", "heavy"),
    "plants": _whole,
    "spacing_m": _pair,
    "area_ha": _number,
    "planted": _text(r"\d{4}(-(0[1-9]|1[0-2]))?"),
    "soil": _one_of("black", "red", "sandy", "loam", "clay", "gravelly"),
    "water_source": _one_of("drip", "flood", "sprinkler", "rainfed"),
    "season": _one_of("mrig", "hasta", "ambe"),
    "product": _one_of("ethephon", "bordeaux", "copper", "other"),
    "volume_l": _number,
    "ppm": _number,
    "job": lambda value: value in JOBS or _whole(value),
    "shoots": _one_of("none", "few", "many"),
    "percent": lambda value: _whole(value) and value <= 100,
    "minutes": _whole,
    "litres_per_plant": _number,
    "trouble": _one_of(*"blight borer wilt thrips mites scald cracking hail flower_drop other".split()),
    "weight_kg": _number,
    "people": _whole,
    "delay_days": _whole,
    "language": _one_of(*"en hi hi_Latn mr kn es ar".split()),
    "name": _text(r".+"),
}


def ill_formed(meaning: Meaning) -> str | None:
    """What is wrong with the form of a meaning, its other readings included; None where nothing is."""
    for task, slots in ((meaning.task, meaning.slots), *((other.task, other.slots) for other in meaning.readings)):
        if task not in TASKS:
            return f"no task: {task!r}"
        for slot, value in slots.items():
            if slot not in SLOTS:
                return f"{task}: no slot: {slot!r}"
            fits = SLOTS[slot]
            try:
                several = isinstance(value, list) and len(value) > 1 and all(map(fits, value))
                if not (fits(value) or several):
                    return f"{task}: {slot}={value!r}"
            except ValueError:
                return f"{task}: {slot}={value!r}"
        json.dumps(dict(slots), ensure_ascii=False).encode()  # what cannot be printed cannot be stored
    return None


def forget(language: Language) -> None:
    """As if no word had been met before."""
    language.lexicon.resolve.cache_clear()
    language.lexicon._sounds._keys.clear()
    language.model._words.clear()
    romanised.cache_clear()


def honest() -> dict[str, str]:
    """A long honest text in each language: texts of the corpus one after the other."""
    by_language: dict[str, list[str]] = {}
    for line in (CORPUS / "dev.jsonl").read_text(encoding="utf-8").splitlines():
        text = json.loads(line)
        by_language.setdefault(text["lang"], []).append(text["text"])
    return {
        lang: " ".join(texts * (1 + LENGTH // len(" ".join(texts))))[:LENGTH] for lang, texts in by_language.items()
    }


def _drawn(letters: str, length: int) -> str:
    """Words that are no words, the same each time."""
    chance = random.Random(length)
    return " ".join("".join(chance.choices(letters, k=length)) for _ in range(LENGTH // (length + 1)))


def _filled(part: str) -> str:
    return (part * (1 + LENGTH // len(part)))[:LENGTH]


LATIN = "abcdefghijklmnoprstuvy"
HOSTILE: Mapping[str, str] = {
    **{f"drawn Latin words of {n}": _drawn(LATIN, n) for n in (2, 5, 7, 11, 28, 60)},
    "drawn Devanagari words": _drawn("कखगतदनपबमरलसािीुेो", 7),
    "drawn Kannada words": _drawn("ಕಗತದನಪಬಮರಲಸಾಿೀುೆ", 7),
    "drawn Arabic words": _drawn("ابتجحدرسعفقكلمنهوي", 7),
    "one letter": "a" * LENGTH,
    "two letters": _filled("ab"),
    "one Devanagari letter": "क" * LENGTH,
    "a particle over and over": "و" * LENGTH,
    "listed words run together": _filled("mmrainwaterpaniblk"),
    "listed words run together, to the longest that is parted": _filled("rainwaterpanibarishmmblkdin "),
    "digits": "1" * LENGTH,
    "single digits": _filled("1 "),
    "thousands": _filled("1,"),
    "points": _filled("1."),
    "days": _filled("1/"),
    "days and months": _filled("12/8 "),
    "clock times": _filled("10:30 "),
    "letters and digits": _filled("a1"),
    "letters for digits": _filled("2et3a5 "),
    "digits of eight scripts": _filled("1१೧١۱๑१১ "),
    "fractions": "½" * LENGTH,
    "control characters": _filled("".join(map(chr, range(32)))),
    "nulls": "\0" * LENGTH,
    "overriding directions": _filled("\u202e\u202drain\u202c \u2066"),
    "joiners": _filled("\u200d\u200c"),
    "joiners within words": _filled("r\u200da\u200ci\u2060n "),
    "a flood of combining marks": "a" + "\u0301" * (LENGTH - 1),
    "combining marks on each letter": _filled("r\u0337\u0328\u031ba\u0335\u0322in "),
    "marks that compose": _filled("e\u0323\u0302"),
    "vowel signs": _filled("क\u093f\u094d\u093f"),
    "lone surrogates": _filled("\ud800rain \udfff"),
    "emoji of several parts": _filled("👩🏽\u200d🌾"),
    "Hangul": "각" * LENGTH,
    "a letter that is four words": "ﷺ" * LENGTH,
    "wide letters": _filled("ｒａｉｎ　１２　"),
    "look-alikes": _filled("rаin wаtеr "),
    "private use": "\ue000" * LENGTH,
    "last code points": _filled("\U0010ffff\U000e0001 "),
    "punctuation": _filled("?!.,:;-=+*/%&#$()[]"),
    "quotes": _filled("'\"`’"),
    "tatweel": "ـ" * LENGTH,
    "new lines": "\n" * LENGTH,
    "for (a+)+": "a" * (LENGTH - 1) + "!",
    "for (\\d+,?)+": "1," * (LENGTH // 2 - 1) + "x",
    "for .*.*=": "x=" + "x" * (LENGTH - 2),
    "JSON": _filled('{"task":"stop","slots":{}},'),
    "SQL": _filled("'; DROP TABLE diary; -- "),
    "templates": _filled("{0.__class__} %(x)s ${x} "),
    "denials": _filled("not "),
    "days that look both ways": _filled("kal parso "),
    "numbers in words": _filled("one hundred two thousand "),
    "shares": _filled("half quarter "),
    "ranges": _filled("1 to 2 or 3 "),
    "blocks": _filled("block 1 "),
    "blocks without a number": _filled("block "),
    "areas": _filled("2 acre 10 guntha "),
    "spacings": _filled("3x4 "),
    "amounts": _filled("12 mm "),
    "names of one's own blocks": _filled("upper neem नीम वाला "),
    "names nearly so": _filled("uper nim upr neam "),
    "calls for help": _filled("snake bite "),
}
