"""Amounts with their units: what is measured, converted, added up and multiplied out."""

from collections.abc import Sequence
from dataclasses import dataclass

from dialogs.lexicon import bit
from dialogs.understanding.dates import RANGE
from dialogs.understanding.tokens import Item

# concept: (what it measures, how much of that one is). Area: corpus conversions (1 acre = 0.4047 ha, 1 guntha
# = 0.0101 ha, 1 feddan = 0.42 ha, 1 dunam = 0.1 ha, 1 qirat = 0.0175 ha); quintal and tonne: 100 and 1000 kg; inch:
# 25.4 mm.
UNITS: dict[str, tuple[str, float]] = {
    "percent": ("percent", 1.0),
    "mm": ("mm", 1.0),
    "cm": ("mm", 10.0),
    "inch": ("mm", 25.4),
    "litre": ("litres", 1.0),
    "millilitre": ("ml", 1.0),
    "gram": ("gram", 1.0),
    "kilo": ("kg", 1.0),
    "quintal": ("kg", 100.0),
    "tonne": ("kg", 1000.0),
    "acre": ("area", 0.4047),
    "hectare": ("area", 1.0),
    "guntha": ("area", 0.0101),
    "feddan": ("area", 0.42),
    "dunam": ("area", 0.1),
    "qirat": ("area", 0.0175),
    "other_area": ("other", 1.0),
    "hour": ("minutes", 60.0),
    "minute": ("minutes", 1.0),
    "feet": ("feet", 1.0),
    "metre": ("metre", 1.0),
    "ppm": ("ppm", 1.0),
    "plant": ("plants", 1.0),
    "people": ("people", 1.0),
    "being": ("people", 1.0),
    "crate": ("crate", 1.0),
    "container": ("container", 1.0),
    "rupee": ("other", 1.0),
    "day": ("other", 1.0),
    "week": ("other", 1.0),
    "year": ("other", 1.0),
    "month_word": ("other", 1.0),
    "clock": ("other", 1.0),
}
_UNIT_BITS = tuple((bit(name), kind, factor) for name, (kind, factor) in UNITS.items())
ANY_UNIT = 0
for _unit_bit, _kind, _factor in _UNIT_BITS:
    ANY_UNIT |= _unit_bit
MM, ML = bit("mm"), bit("millilitre")
BY = bit("by")
LENGTH = bit("feet") | bit("metre")
ARTICLE, OF, AND, WALA, FILLER = bit("article"), bit("of"), bit("and"), bit("wala"), bit("filler")
NOT_NEXT, NOT_PREV = bit("not_next"), bit("not_prev")
# "I typed 61" refuses what follows, "61 likh diya" what stands before.
REFUSES_NEXT, REFUSES_PREV = NOT_NEXT | bit("miswrote"), NOT_PREV | bit("miswrote_before")
POMEGRANATE = bit("pomegranate")
BETWEEN = bit("between")
SIZED = bit("full") | bit("small")  # "2 full drums"
FULL_ONE = bit("full_one")
SINGLE = bit("single")  # a unit that with no number beside it counts one
HALF = bit("half")
HOW_MUCH = bit("how_much") | bit("how_long")
PER_PLANT = bit("per_plant")
SIZE = bit("size_of") | OF
MORE = bit("and") | bit("more_days") | bit("one_more") | bit("add")
PLACES = bit("block") | bit("field_word") | bit("numero") | bit("place") | bit("place_in") | bit("block_before")
MOST_COUNTED = 60  # containers and crates counted after their size
COUNT_SKIPS = OF | WALA | FILLER | ARTICLE | bit("size_of") | bit("in")
BETWEEN_COUNT = COUNT_SKIPS | BY | bit("container") | bit("crate")
HOURS = ("minutes", 60.0)
FEET_TO_METRES = 0.3048


@dataclass
class Quantity:
    """An amount: kind as in `UNITS`, its value in that kind's unit, and the item at which it stands."""

    kind: str
    value: float
    at: int
    factor: float = 1.0
    end: int = 0
    multiplied: bool = False


@dataclass
class Amounts:
    """What a text measures: with units; bare numbers; spacings; whether a range or a refused number was left out, and
    whether it was a refused one ("21 not 12")."""

    quantities: list[Quantity]
    bare: list[Quantity]
    spacings: list[tuple[float, float]]
    spacings_ft: list[tuple[float, float] | None]
    left_out: bool
    refused: bool
    per_plant: bool

    def of(self, kind: str) -> list[float]:
        """The values of one kind in the order typed."""
        return [each.value for each in self.quantities if each.kind == kind]


def _unit(item: Item | None, chemical: bool) -> tuple[str, float] | None:
    if item is None or not item.mask & ANY_UNIT or item.number is not None:
        return None
    if item.mask & MM and item.mask & ML:
        return ("ml", 1.0) if chemical else ("mm", 1.0)
    for mask, kind, factor in _UNIT_BITS:
        if item.mask & mask:
            return kind, factor
    return None


def measure(items: list[Item], chemical: bool, counts_range: bool) -> Amounts:
    """Read the amounts of a text.

    chemical: a product is named, so a word that is short for both mm and ml is ml
    counts_range: two numbers joined by a hyphen or "to" are a range and give no value
    """
    spacings, spacings_ft = _spacings(items)
    left_out = _drop_ranges(items) if counts_range else False
    refused = _drop_refused(items)
    left_out = refused or left_out
    found: list[Quantity] = []
    bare: list[Quantity] = []
    at = 0
    while at < len(items):
        item = items[at]
        if item.number is None or item.used:
            if item.mask & FULL_ONE and at:  # "ghanta bhar"
                unit = _unit(items[at - 1], chemical)
                if unit and not (at >= 2 and items[at - 2].number is not None):
                    found.append(Quantity(unit[0], unit[1], at - 1, unit[1], at + 1))
            elif (item.mask & SINGLE or _more(items, at + 1)) and item.number is None and not _counted(items, at):
                unit = _unit(item, chemical)
                after = items[at + 1].number_word if at + 1 < len(items) else None
                if unit is not None:
                    more = after.value if after is not None and after.table == "plus_after" else 0.0
                    found.append(Quantity(unit[0], unit[1] * (1 + more), at, unit[1], at + (2 if more else 1)))
            elif item.mask & ARTICLE and at + 1 < len(items) and items[at + 1].mask & bit("hour"):
                if not (at and items[at - 1].number is not None):
                    found.append(Quantity("minutes", 60.0 * (1 + _more(items, at + 2)), at, 60.0, at + 2))
            at += 1
            continue
        step = at + 1
        while (
            step < len(items)
            and items[step].mask & (ARTICLE | POMEGRANATE | SIZED | bit("more_days") | bit("one_more"))
            and not items[step].mask & ANY_UNIT
        ):
            step += 1
        if step < len(items) and items[step].mask & OF and step + 1 < len(items):
            skip = step + 1
            if step > at + 1 or items[skip].mask & bit("plant"):
                step = skip
        unit = _unit(items[step] if step < len(items) else None, chemical)
        if unit is None and at and not (step < len(items) and items[step].mask & ANY_UNIT):
            before = _unit(items[at - 1], chemical)
            if before is not None and before[0] in (
                "mm",
                "kg",
                "litres",
                "ppm",
                "percent",
                "minutes",
                "plants",
                "people",
            ):
                taken = at >= 2 and items[at - 2].number is not None
                if not taken:
                    unit, step = before, at
        if unit is not None and unit[0] == "plants" and at and _is_percent(items, at - 1):
            unit = ("percent", 1.0)  # "per cent 70 of the trees"
        if unit is not None and unit[0] == "plants" and 0 < item.number < 1:
            unit = ("percent", 100.0)  # half of the trees
        elif unit is not None and unit[0] == "people" and item.number < 1:
            unit = None
        if unit is None:
            bare.append(Quantity("number", item.number, at, 1.0, at + 1))
        else:
            value = item.number * unit[1]
            end = step + 1
            if end + 1 < len(items) and items[end].mask & (AND | FILLER) and items[end + 1].mask & HALF:
                value += unit[1] / 2  # an hour and a half
                items[end + 1].used = True
            else:
                value += unit[1] * _more(items, end)
                more = end + 1 if end < len(items) and items[end].mask & AND else end
                if unit == HOURS and _minutes_follow(items, more):  # 1 hour 20, two hours and twenty
                    value += items[more].number or 0
                    items[more].used = True
                elif unit[0] == "kg" and unit[1] >= 100 and _kilos_follow(items, end, unit[1]):  # 2 quintal 30
                    value += items[end].number or 0
                    items[end].used = True
            found.append(Quantity(unit[0], value, at, unit[1], end))
            at = max(step, at)
        at += 1
    found = _multiplied(items, [each for each in found if each.value >= 0], bare)  # not "0 hours less a quarter"
    found = _added(items, found)
    per_plant = any(item.mask & PER_PLANT for item in items)
    if any(each.kind == "litres" for each in found):
        for each in found:
            if each.kind == "plants" and each.value == 1:  # "ek ped ko 20 litre"
                found = [other for other in found if other is not each]
                per_plant = True
                break
    return Amounts(found, bare, spacings, spacings_ft, left_out, refused, per_plant)


def _is_percent(items: list[Item], at: int) -> bool:
    """Whether a word for percent stands there with no number before it."""
    return bool(items[at].mask & bit("percent")) and not (at and items[at - 1].number is not None)


def _minutes_follow(items: list[Item], at: int) -> bool:
    """Whether a number of minutes with no unit stands there and nothing that it counts."""
    minutes = items[at].number if at < len(items) and not items[at].used else None
    if minutes is None or not 0 < minutes < 60:
        return False
    return at + 1 == len(items) or not items[at + 1].mask & ANY_UNIT


def _kilos_follow(items: list[Item], at: int, unit: float) -> bool:
    """Whether a number of kilos with no unit stands right there and ends the text."""
    kilos = items[at].number if at < len(items) and not items[at].used else None
    return kilos is not None and kilos < unit and kilos == int(kilos) and kilos >= 10 and at + 1 == len(items)


def _more(items: list[Item], at: int) -> float:
    """The part of a unit that is added after it: the half in "2 hours and half"."""
    word = items[at].number_word if at < len(items) else None
    return word.value if word is not None and word.table == "plus_after" else 0.0


def _counted(items: Sequence[Item], at: int) -> bool:
    """Whether a number or a question stands beside a unit."""
    return any(
        0 <= step < len(items)
        and ((items[step].number is not None and not items[step].used) or items[step].mask & HOW_MUCH)
        for step in (at - 1, at + 1)
    )


def _spacings(items: list[Item]) -> tuple[list[tuple[float, float]], list[tuple[float, float] | None]]:
    """12x8 · 12 by 8 ft · 4 m x 3 m: in metres, and in feet where they were feet."""
    found: list[tuple[float, float]] = []
    feet: list[tuple[float, float] | None] = []
    for at, item in enumerate(items):
        if not (item.mask & BY or item.raw in ("x", "X", "*")) or at == 0:
            continue
        left_unit = items[at - 1] if items[at - 1].mask & LENGTH and items[at - 1].number is None else None
        left_at = at - 2 if left_unit is not None else at - 1
        right_at = at + 1
        if left_at < 0 or right_at >= len(items):
            continue
        left, right = items[left_at], items[right_at]
        if left.number is None or right.number is None or left.used or right.used:
            continue
        right_unit = items[right_at + 1] if right_at + 1 < len(items) and items[right_at + 1].mask & LENGTH else None
        if right_unit is None and right_at + 1 < len(items) and items[right_at + 1].mask & ANY_UNIT & ~LENGTH:
            if items[right_at + 1].mask & (bit("litre") | bit("kilo") | bit("minute") | bit("hour")):
                continue
        unit = right_unit or left_unit
        if unit is not None:
            metres = bool(unit.mask & bit("metre"))
        else:
            metres = left.number < 7 and right.number < 7
        left.used = right.used = True
        found.append(in_metres(left.number, right.number, metres))
        feet.append(None if metres else (left.number, right.number))
    if not found:
        _lengths_apart(items, found, feet)
    return found, feet


def in_metres(left: float, right: float, metres: bool) -> tuple[float, float]:
    """A spacing typed in metres or in feet, in metres to a tenth."""
    scale = 1.0 if metres else FEET_TO_METRES
    return round(left * scale + 1e-9, 1), round(right * scale + 1e-9, 1)


# What two lengths must be to be the distances of rows and of trees: feet, metres.
LEAST_APART, MOST_APART = (5.0, 1.5), (30.0, 9.0)


def _lengths_apart(items: list[Item], found: list[tuple[float, float]], feet: list[tuple[float, float] | None]) -> None:
    """Two lengths with no "by" between them: "row 15 ft plant 10 ft", "14 10 feet"."""
    lengths = [
        at
        for at, item in enumerate(items[:-1])
        if item.number is not None and not item.used and items[at + 1].mask & LENGTH and items[at + 1].number is None
    ]
    if not lengths or len(lengths) > 2:
        return
    last = lengths[-1]
    first = lengths[0] if len(lengths) == 2 else last - 1  # one unit after both numbers
    left, right = items[first], items[last]
    metres = bool(items[last + 1].mask & bit("metre"))
    if first < 0 or left.number is None or right.number is None or left.used:
        return
    if LEAST_APART[metres] <= min(left.number, right.number) <= max(left.number, right.number) <= MOST_APART[metres]:
        left.used = right.used = True
        found.append(in_metres(left.number, right.number, metres))
        feet.append(None if metres else (left.number, right.number))


def _drop_ranges(items: list[Item]) -> bool:
    """Mark both ends of a range as used: 10-12, 2 se 3, 6 to 8, 2 or 3."""
    dropped = False
    for at in range(len(items) - 1):  # "das barah"
        left, right = items[at], items[at + 1]
        if left.number is not None and right.number is not None and not (left.used or right.used):
            in_words = not left.spelt[:1].isdigit() and not right.spelt[:1].isdigit()
            if in_words and left.number < right.number <= 2 * left.number:
                left.used = right.used = True
                dropped = True
    for at in range(1, len(items) - 1):
        item = items[at]
        left, right = items[at - 1], items[at + 1]
        if left.number is None or right.number is None or left.used or right.used:
            continue
        between = at >= 2 and items[at - 2].mask & BETWEEN
        if (
            item.raw == "-"
            or item.mask & RANGE
            or between
            or (item.mask & bit("from") and left.number < right.number and not left.mask)
        ):
            left.used = right.used = True
            dropped = True
    return dropped


def _drop_refused(items: list[Item]) -> bool:
    """Mark as used a number that is refused while another stands: "21 not 12", "18 nahi 8"."""
    told = sum(item.number is not None for item in items)
    numbers = [at for at, item in enumerate(items) if item.number is not None and not item.used]
    lone = len(numbers) == 1  # the others are days: "cut not on 18 but 20/6"
    if told < 2 or (lone and not any(item.mask & bit("cut") for item in items)):
        return False
    refused = []
    for at in numbers:
        step = at - 1
        while step >= 0 and items[step].mask & (FILLER | ARTICLE | OF) and not items[step].mask & REFUSES_NEXT:
            step -= 1
        if step >= 0 and items[step].mask & REFUSES_NEXT:
            if lone and (
                step == 0
                or items[step].mask & bit("numero")
                or (at + 1 < len(items) and items[at + 1].word[:1].isalnum())
            ):
                continue  # "no 12 mm on 5 dec", "not 1 leaf in block 2"
            refused.append(at)
            continue
        step = at + 1
        while step < len(items) and items[step].number is None and items[step].mask & (ANY_UNIT | FILLER):
            if items[step].mask & REFUSES_PREV:
                break
            step += 1
        if step < len(items) and items[step].mask & REFUSES_PREV:
            refused.append(at)
    if not refused or len(refused) >= told:
        return False
    for at in refused:
        items[at].used = True
    return True


def _between(items: Sequence[Item], start: int, end: int) -> bool:
    """Whether nothing but particles stands between two places."""
    return all(
        item.mask & BETWEEN_COUNT or item.raw in (",", "x", "*", "(", "-") or item.number == 1
        for item in items[start:end]
    )


def _each_told(items: Sequence[Item], start: int, end: int) -> bool:
    """Whether what stands between a count and a size says that the size is of each: "15 crates picked, each 22 kg"."""
    return any(
        item.mask & PER_PLANT or (item.mask & bit("size_of") and not item.mask & OF) or item.number == 1
        for item in items[start:end]
    )


def _multiplied(items: list[Item], found: list[Quantity], bare: list[Quantity]) -> list[Quantity]:
    """Count times stated size: 3 tanks of 16 litres, 25 crates at 18 kg, "200 litre ke 2 drum"."""
    result = list(found)
    for count in found:
        if count.kind not in ("container", "crate"):
            continue
        size_kinds = ("litres",) if count.kind == "container" else ("kg", "litres")
        for size in found:
            if size is count or size.kind not in size_kinds or size not in result:
                continue
            first, second = (count, size) if count.at < size.at else (size, count)
            if _between(items, first.end, second.at) or (
                count.at < size.at
                and (
                    (count.kind == "crate" and second.at - first.end <= 2)
                    or _each_told(items, first.end, min(second.end + 1, len(items)))
                )
            ):
                size.value *= count.value
                size.multiplied = True
                result.remove(count)
                break
        else:
            for number in bare:  # "200 ki drum ek", "drum 200 wali"
                if number.at < count.at and _between(items, number.at + 1, count.at) and number.value >= 5:
                    kind = "litres" if count.kind == "container" else "kg"
                    result.remove(count)
                    result.append(Quantity(kind, number.value * count.value, number.at, 1.0, count.end))
                    bare.remove(number)
                    break
    for count in [each for each in result if each.kind in ("container", "crate")]:  # "2 drums of 200"
        for number in bare:
            if number.at >= count.end and items[count.end].mask & SIZE and _between(items, count.end, number.at):
                kind = "litres" if count.kind == "container" else "kg"
                result.remove(count)
                result.append(Quantity(kind, number.value * count.value, count.at, 1.0, number.end))
                bare.remove(number)
                break
    for size in result:  # "16 litre pump 3", "18 kg crate 25"
        vessel = bit("container") if size.kind == "litres" else bit("crate") if size.kind == "kg" else 0
        at = size.end
        if at < len(items) and items[at].mask & (OF | WALA) and not items[at].mask & vessel:
            at += 1  # "15 litre ke pump 4"
        if size.multiplied or at + 1 >= len(items) or not items[at].mask & vessel:
            continue
        after = at + 2 if items[at + 1].mask & (FILLER | bit("in")) else at + 1
        for number in bare:
            if number.at == after and 1 <= number.value <= MOST_COUNTED and number.value == int(number.value):
                size.value *= number.value
                size.multiplied = True
                bare.remove(number)
                break
    lone = [at for at, item in enumerate(items) if item.mask & bit("container") and item.number is None]
    for at in lone:  # "200 ki drum", one of 200 litres
        if any(each.kind == "container" and each.at <= at < each.end for each in found):
            continue
        sized = [each for each in bare if each.at == at + 2 and each.value >= 5 and items[at + 1].mask & OF]
        if sized:  # "the pump of 20"
            bare.remove(sized[0])
            result.append(Quantity("litres", sized[0].value, at, 1.0, sized[0].end))
            continue
        for number in bare:
            if number.at < at and number.value >= 5 and at - number.at >= 2 and _between(items, number.at + 1, at):
                bare.remove(number)
                result.append(Quantity("litres", number.value, number.at, 1.0, at + 1))
                following = [each for each in bare if each.at == at + 1]
                if following:
                    result[-1].value *= following[0].value
                    bare.remove(following[0])
                counts = [each for each in result if each.kind == "container" and each.at > at]
                if counts:  # "a drum of 200, 2 drums"
                    result[-1].value *= counts[0].value
                    result.remove(counts[0])
                break
    return sorted(result, key=lambda each: each.at)


def _added(items: list[Item], found: list[Quantity]) -> list[Quantity]:
    """Two units of one kind side by side, the smaller after the larger, are one amount: 2 acre 10 guntha."""
    result: list[Quantity] = []
    for each in found:
        last = result[-1] if result else None
        if (
            last is not None
            and last.kind == each.kind
            and each.kind in ("area", "kg", "minutes", "mm")
            and each.factor < last.factor
            and all(item.mask & (AND | FILLER) for item in items[last.end : each.at])
        ):
            last.value += each.value
            last.end = each.end
            continue
        if last is not None and last.kind == each.kind == "kg" and last.multiplied and not each.multiplied:
            between = items[last.end : each.at]
            if any(item.mask & MORE for item in between) and not any(item.mask & PLACES for item in between):
                last.value += each.value  # "20 crates of 22 kg and 60 kg more"
                last.end = each.end
                continue
        result.append(each)
    return result
