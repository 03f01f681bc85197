"""Numbers as growers write them: digits, words, fractions of both ("sadhe teen sau", "1 1/2", "two and half")."""

from collections.abc import Sequence

from dialogs.lexicon import bit
from dialogs.understanding.tokens import Item

# What a number can count: a word that is a number only before these ("do" is two, and "do it").
COUNTED = 0
for _name in (
    "mm cm inch litre millilitre gram kilo quintal tonne acre hectare guntha feddan qirat dunam other_area feet metre "
    "hour minute day week month_word year percent ppm container crate people being plant block field_word numero job "
    "per_plant size_of part hundred kilo date_word"
).split():
    COUNTED |= bit(_name)
ANY_MONTH = 0
for _month in range(1, 13):
    ANY_MONTH |= bit(f"month_{_month}")
PLACE_IN = bit("place_in")
SHARED = bit("leaf") | bit("fruit") | bit("flower") | bit("fallen") | bit("fall") | bit("plant")
FILLERS = bit("filler") | bit("article") | bit("about")
NAMED_BY_NUMBER = (
    bit("block")
    | bit("field_word")
    | bit("job")
    | bit("wala")
    | bit("numero")
    | ANY_MONTH
    | bit("article")
    | bit("date_word")
)
NAME_AFTER = bit("name_after")  # a word for block after which its name and rank stand
ARTICLE = bit("article")
DONE = bit("done") | bit("finished")  # "job first done", where a rank stands after its noun
POINT = bit("decimal_point")
AND = bit("and")
BOTH_NUMBERS = bit("and") | bit("or")
NUMBERED = bit("numero") | bit("block") | bit("job") | bit("block_before")
HALF = bit("half")
DOZEN = 12
PER = bit("of")


def join_numbers(items: list[Item], whole: bool) -> list[Item]:
    """Join the words of each number into one item.

    whole: the text answers a question for a number, so a word that may be a number is one
    """
    if not any(item.number is not None or item.number_word for item in items):
        return items
    joined: list[Item] = []
    at = 0
    while at < len(items):
        value, end = _number_at(items, at, whole)
        if value is None:
            joined.append(items[at])
            at += 1
            continue
        if end == at + 1 and items[at].number is not None:
            joined.append(items[at])
        else:
            number = Item(" ".join(item.raw for item in items[at:end]), "", 0, value)
            number.glued = items[at].glued
            number.spelt = items[at].spelt if items[at].number is not None else ""
            for item in items[at:end]:
                number.mask |= item.mask & _KEPT
            joined.append(number)
        at = end
    return _each_once(joined)


def _each_once(items: list[Item]) -> list[Item]:
    """A number said twice is one for each: "bis bis kilo"."""
    once: list[Item] = []
    for at, item in enumerate(items):
        last = once[-1] if once else None
        if (
            last is not None
            and item.number is not None
            and item.raw.lower() == last.raw.lower()
            and not item.glued
            and not (at >= 2 and items[at - 2].mask & (NUMBERED | bit("field_word")))
        ):
            continue
        once.append(item)
    return once


_KEPT = HALF | bit("quarter") | bit("#fraction") | bit("ordinal")


def _word(items: Sequence[Item], at: int, *tables: str) -> float | None:
    if at < len(items):
        word = items[at].number_word
        if word is not None and word.table in tables:
            return word.value
    return None


def _plain_at(items: list[Item], at: int, whole: bool) -> tuple[float | None, int]:
    """A whole number in digits or words: hundreds and thousands multiply what stands before, units add to tens."""
    total, part, end, seen, linked = 0.0, 0.0, at, False, False
    while end < len(items):
        item = items[end]
        if item.number is not None:
            if seen:
                break
            part, seen, end = item.number, True, end + 1
            continue
        word = item.number_word
        if word is None:
            following = _word(items, end + 1, "numbers")
            if seen and item.mask & AND and following is not None:
                if part >= 100 or (total and not part) or _units_first(part, following):
                    end, linked = end + 1, True
                    continue
            break
        if word.table == "multipliers":
            if word.only_before_unit and not seen:
                break
            part = (part or 1.0) * word.value
            if word.value >= 1000:
                total, part = total + part, 0.0
            seen, end = True, end + 1
        elif word.table == "numbers":
            if word.only_before_unit and not _counts(items, end, whole, seen):
                break
            if linked and _units_first(part, word.value):
                part, end = part + word.value, end + 1
                continue
            if seen and part == 1 and items[at].mask & ARTICLE:
                return word.value, end + 1  # "un noventa"
            if seen and 1 <= part <= 9 and end == at + 1 and word.value >= 20 and not _names_block(items, at):
                part, end = part * 100 + word.value, end + 1  # one fifty
                continue
            if seen and not (part % 100 == 0 or (part % 10 == 0 and word.value < 10 and part % 100 >= 20)):
                break
            if seen and part and word.value >= 100:
                break
            if seen and items[end - 1].number is not None:
                break
            part, seen, end = part + word.value, True, end + 1
        else:
            break
    return (total + part, end) if seen else (None, at)


def _names_block(items: list[Item], at: int) -> bool:
    return at > 0 and bool(items[at - 1].mask & (NUMBERED | bit("field_word")))


def _units_first(part: float, following: float) -> bool:
    """Five and twenty: the units said before the tens."""
    return 0 < part % 100 < 10 and following in (20, 30, 40, 50, 60, 70, 80, 90)


def _counts(items: list[Item], at: int, whole: bool, seen: bool) -> bool:
    """Whether a word that may be a number is one here: it counts something, or stands beside another number."""
    if seen:
        return True
    if whole and len(items) <= 3 and not any(item.mask & ~FILLERS or item.number_word for item in items[:at]):
        return True
    following = items[at + 1] if at + 1 < len(items) else None
    if following is not None:
        if following.mask & PLACE_IN and ((whole and at == 0) or _numbered(items, at + 2)):
            return True  # "do me 13 mm": in two, 13 mm
        if following.mask & COUNTED or following.mask & (bit("wala") | ANY_MONTH) or following.number is not None:
            return True
        if following.number_word is not None and following.number_word.table in (
            "multipliers", "numbers", "plus_after", "fractions",
        ):  # fmt: skip
            return True
        if following.mask & BOTH_NUMBERS and _numbered(items, at + 2):
            return True
    if at and items[at - 1].mask & (BOTH_NUMBERS | NUMBERED) and (at >= 2 or items[at - 1].mask & NUMBERED):
        before = items[at - 2] if at >= 2 else None
        return bool(items[at - 1].mask & NUMBERED) or (
            before is not None and (before.number is not None or before.number_word is not None)
        )
    return False


def _numbered(items: Sequence[Item], at: int) -> bool:
    return at < len(items) and (items[at].number is not None or items[at].number_word is not None)


def _number_at(items: list[Item], at: int, whole: bool) -> tuple[float | None, int]:
    """The number that starts here and the item after it."""
    more = _word(items, at, "plus_before")
    less = _word(items, at, "minus_before")
    if more is not None or less is not None:
        shift = more if more is not None else -(less or 0.0)
        scale_at = at + 1
        scale = _word(items, scale_at, "multipliers")
        if scale is not None:  # sava sau: a quarter more than one hundred
            return (1 + shift) * scale, scale_at + 1
        count, end = _small_at(items, scale_at)
        if count is not None and count + shift >= 0:
            value = count + shift
            scale = _word(items, end, "multipliers")
            return (value * scale, end + 1) if scale is not None else (value, end)
        if more == 0.5:
            return None, at
        following = items[scale_at] if scale_at < len(items) else None
        if whole or (following is not None and following.mask & COUNTED):
            return 1 + shift, scale_at
        return None, at
    part = _word(items, at, "fractions")
    if part is not None:
        dozens = at + 2 if at + 1 < len(items) and items[at + 1].mask & bit("article") else at + 1
        scale = _word(items, dozens, "multipliers")
        if scale == DOZEN:  # half a dozen
            return part * scale, dozens + 1
        items[at].mask |= bit("#fraction")
        return part, at + 1
    order = _word(items, at, "ordinals")
    if order is not None:
        following = items[at + 1] if at + 1 < len(items) else None
        alone = whole and following is None and all(each.mask & FILLERS for each in items[:at])
        before = items[at - 1].mask if at else 0  # "the block the second"
        named = (before & NAME_AFTER and not items[at].mask & bit("one_more")) or (
            before & bit("job") and (following is None or following.mask & DONE)
        )
        if alone or named or (following is not None and following.mask & NAMED_BY_NUMBER):
            items[at].mask = bit("ordinal") if following is None or not following.mask & ANY_MONTH else 0
            return order, at + 1
        return None, at
    plainly, end = _plain_at(items, at, whole)
    if plainly is None:
        return None, at
    if plainly == 1 and items[at].mask & ARTICLE and end < len(items) and items[end].number is not None:
        return items[end].number, end + 1  # "un 35"
    number: float = plainly
    if end + 1 < len(items) and items[end].mask & POINT and number == int(number):
        tenths, last = _plain_at(items, end + 1, whole)
        if tenths is not None and 0 <= tenths < 100 and tenths == int(tenths):
            return float(f"{number:.0f}.{tenths:.0f}"), last  # "23 point 5"
    if end == at + 1 and items[at].number is not None:
        fraction = _slash(items, end - 1)
        if fraction is not None and not _date_like(items, at):
            items[at].mask |= bit("#fraction")
            number, end = fraction, at + 3
        elif end + 2 < len(items) and items[end].number is not None and _slash(items, end) is not None:
            number, end = number + (_slash(items, end) or 0.0), end + 3  # 1 1/2
    scale = _word(items, end, "multipliers")
    if scale is not None and number != int(number):
        number, end = number * scale, end + 1
    after = _word(items, end, "plus_after")
    if after is not None and number + after >= 0:
        return number + after, end + 1
    share = _word(items, end, "fractions")
    if share is not None and share < 0.5 and number in (1.0, 2.0, 3.0):  # three quarters
        items[end].mask |= bit("#fraction")
        return number * share, end + 1
    if end < len(items) and items[end].mask & AND and number == int(number):
        fraction = _slash(items, end + 1)
        if fraction is not None:  # one and 3/4
            return number + fraction, end + 4
        share = _word(items, end + 1, "fractions")
        if share is not None and share < 1:  # two and a half
            return number + share, end + 2
    return number, end


def _small_at(items: list[Item], at: int) -> tuple[float | None, int]:
    if at < len(items):
        if items[at].number is not None:
            return items[at].number, at + 1
        value = _word(items, at, "numbers")
        if value is not None:
            return value, at + 1
    return None, at


def _slash(items: Sequence[Item], at: int) -> float | None:
    """A fraction in digits: 1/2, 3/4, 1/3."""
    if at + 2 >= len(items) or items[at + 1].raw != "/":
        return None
    top, bottom = items[at].number, items[at + 2].number
    if top is None or bottom not in (2, 3, 4, 5) or not 0 < top < bottom:
        return None
    if at + 3 < len(items) and items[at + 3].raw == "/":
        return None
    return top / bottom


def _date_like(items: Sequence[Item], at: int) -> bool:
    """1/4 is a date unless it measures or shares something."""
    if at and items[at - 1].mask & SHARED:
        return False
    after = at + 3
    if after + 1 < len(items) and items[after].mask & bit("ordinal"):  # "3/4th of the leaves"
        after += 1
    following = items[after] if after < len(items) else None
    if following is None:
        return True
    return not following.mask & (COUNTED | SHARED | bit("of"))
