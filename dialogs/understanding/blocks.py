"""Which block a text speaks of: by number, by name, or all of them; and job numbers, which look alike."""

from collections.abc import Sequence
from dataclasses import dataclass

from dialogs.lexicon import Lexicon, bit, plain
from dialogs.understanding.dates import DATE_BEFORE, MEASURE, MOST_BLOCKS, RANGE
from dialogs.understanding.tokens import Item

BLOCK, NUMERO, FIELD = bit("block"), bit("numero"), bit("field_word")
ALL, BOTH = bit("all"), bit("both")
WALA, IN, ON = bit("wala"), bit("in"), bit("on")
PLACE, NAMEABLE = bit("place"), bit("place_word")
AND, BY, OF = bit("and"), bit("by"), bit("of")
JOB = bit("job")
ORDINAL = bit("ordinal")
FARM_ALL = bit("farm_all")
FILLER = bit("filler")
# Things that a block may be called after.
THINGS = 0
for _name in (
    "container well home roof tractor animal bird market network vehicle weed manure sapling family motor wind sun "
    "hail snake lime wasp bee festival bank wood branch bark"
).split():
    THINGS |= bit(_name)
# Words that beside a thing say what is done, not what a block is called.
DOINGS = 0
for _name in (
    "cut clean spray sprayed irrigate irrigated done finished harvest harvested planted register add new my all both "
    "what which how_much is_it show list send tell delete rename rest halt is not people name_is article polite filler"
).split():
    DOINGS |= bit(_name)
DOER = bit("doer")  # one who does something in a case of its own ("makadanni", by monkeys)
PARTICLES = FILLER | IN | ON | WALA | bit("article") | bit("polite") | bit("of") | bit("is") | BLOCK | FIELD
NAME_AFTER = bit("name_after")  # a word for block whose name stands after it
ARTICLE = bit("article")
# Letters that with a number on to them name a block: "a1", "2b"; the others are short for units.
LETTERS_BEFORE, LETTERS_AFTER = frozenset("abcdefknprstvwyz"), frozenset("abc")
SINGLE = bit("single")  # a unit that by itself counts one
COUNTED = bit("leaf") | bit("plant") | bit("tree") | bit("fruit") | bit("flower") | bit("shoot")
NEW = bit("new") | bit("one_more")
MOST_LISTED = 30  # a higher number in a list is no block's
AILING = bit("blight") | bit("borer") | bit("wilt") | bit("thrips") | bit("mites")
VESSELS = bit("crate") | bit("container")
WEIGHT = bit("kilo") | bit("quintal") | bit("crate")
LENGTH = bit("feet") | bit("metre")
OBLIQUE = (("्या", "ा"), ("ya", "a"))  # before a case ending, and without it
SHORTEST_STEM = 3
MEASURED = bit("rain") | bit("leaf") | bit("leaf_drop")
MEASURED_IN = bit("mm") | bit("cm") | bit("inch") | bit("percent")
NOT = bit("not")
BEFORE_NUMBER = bit("block_before")  # an article that makes a bare number a block ("la 3")


@dataclass(frozen=True)
class KnownBlock:
    """One of the grower's own blocks, by number and by the name he gave it."""

    number: str
    name: str | None


def _is(item: Item | None, mask: int) -> bool:
    return item is not None and bool(item.mask & mask)


def _number(item: Item | None) -> int | None:
    if item is None or item.used or item.number is None or item.number != int(item.number) or item.number > 999:
        return None
    return int(item.number)


def find_jobs(items: list[Item], asking: str | None) -> list[int]:
    """Job numbers: a number beside a word for job."""
    found: list[int] = []
    for at, item in enumerate(items):
        if not item.mask & JOB:
            continue
        step = at + 1
        while step < len(items) and (items[step].mask & NUMERO or items[step].raw in ":-#" or items[step].raw == "."):
            step += 1
        value = _number(items[step] if step < len(items) else None)
        following = items[step + 1] if step + 1 < len(items) else None
        if value is not None and not _is(following, MEASURE & ~NUMERO | BLOCK | FIELD):
            found.append(value)
            items[step].used = True
            while step + 2 < len(items) and (items[step + 1].mask & AND or items[step + 1].raw in ",&+"):
                value = _number(items[step + 2])
                if value is None:
                    break
                found.append(value)
                items[step + 2].used = True
                step += 2
            continue
        step = at - 1
        if step > 0 and items[step].mask & NUMERO:
            step -= 2 if step > 1 and items[step - 1].mask & ORDINAL and items[step - 1].number is None else 1
        elif step > 0 and items[step].mask & ORDINAL and items[step].number is None:
            step -= 1
        elif not (step >= 0 and items[step].mask & ORDINAL):
            continue
        value = _number(items[step] if step >= 0 else None)
        if value is not None:
            found.append(value)
            items[step].used = True
            if items[step + 1].mask & NUMERO:
                items[step + 1].used = True
    if asking == "job" and not found:
        for at, item in enumerate(items):
            value = _number(item)
            beside = (*items[max(0, at - 1) : at], *items[at + 1 : at + 2])
            if value is not None and not any(each.mask & (BLOCK | FIELD) for each in beside):
                found.append(value)
                item.used = True
    return found


def perhaps_places(items: list[Item]) -> list[str]:
    """Places that may be blocks: "in the orchard", "near the shed", with nothing after them that they belong to."""
    found = []
    for at, item in enumerate(items):
        before = items[at - 2 if at >= 2 and items[at - 1].mask & ARTICLE else at - 1] if at else None
        after = items[at + 1] if at + 1 < len(items) else None
        plain_place = item.mask & NAMEABLE and not item.mask & ~(NAMEABLE | FILLER)
        if (
            plain_place
            and not item.used
            and _is(before, IN)
            and not _is(after, BLOCK | FIELD | WALA | PLACE | NAMEABLE | OF)
        ):
            found.append(item.raw.lower())
    return found


def find_blocks(
    items: list[Item], asking: str | None, known: Sequence[KnownBlock], lexicon: Lexicon
) -> tuple[list[str], list[tuple[int, int]]]:
    """The blocks of a text in the order typed, and the spans of items in which names stand.

    known: the grower's own; lexicon: his words, by whose endings and sounds a name is known again
    """
    found: list[tuple[int, str]] = []
    names: list[tuple[int, int]] = []
    for at, item in enumerate(items):
        if item.mask & FARM_ALL:
            found.append((at, "all"))
        if item.mask & BOTH and at + 3 < len(items) and items[at + 2].mask & AND and items[at + 3].spelt.isdigit():
            _numbers_after(items, at, found)  # Arabic "the two blocks 1 and 2"
        if item.mask & (BLOCK | FIELD):
            if not _numbers_after(items, at, found):
                _numbers_before(items, at, found)
            if not any(position in (at - 1, at, at + 1, at - 2) for position, _ in found):
                (_name_after if item.mask & NAME_AFTER else _name_before)(items, at, found, names)
                if not any(start <= at + 1 and at - 2 <= start for start, _ in names):
                    _place_after(items, at, found, names)
        elif item.mask & NUMERO and not item.used:
            taken = len(found)
            _numbers_before(items, at, found)
            if asking == "block" or (len(found) == taken and _digits_after(items, at)):
                _numbers_after(items, at, found)
        elif item.raw == "#" and at + 1 < len(items) and items[at + 1].glued:
            _numbers_after(items, at, found)
        elif len(item.raw) == 1 and _lettered(items, at):
            start = (
                at if items[at + 1 : at + 2] and items[at + 1].glued and items[at + 1].number is not None else at - 1
            )
            found.append((start, (items[start].raw + items[start + 1].raw).lower()))
            names.append((start, start + 2))
            items[start].used = items[start + 1].used = True
        elif (
            item.mask & WALA
            and not _tradesman(items, at)
            and not (at and items[at - 1].raw.endswith(("ने", "ne")) and not items[at - 1].known)
        ):
            _name_before(items, at, found, names)
        elif item.mask & PLACE and not any(start <= at < end for start, end in names):
            after = items[at + 1] if at + 1 < len(items) else None
            before = items[at - 2 if at >= 2 and items[at - 1].mask & ARTICLE else at - 1] if at else None
            if (
                _is(after, IN | AND)
                or _is(before, IN | BEFORE_NUMBER)
                or (after is not None and after.raw in "+,&")
                or (before is not None and before.raw in "+&")
            ) and not _is(after, BLOCK | FIELD | WALA | PLACE | NAMEABLE):
                found.append((at, item.raw.lower()))
                names.append((at, at + 1))
    _bare_numbers(items, asking, found)
    _listed_numbers(items, found)
    _refused(items, found)
    _everything(items, asking, found)
    if asking == "block" and not found:
        _lone_name(items, found, names)
    if known:
        _known_names(items, known, lexicon, found)
    found.sort(key=lambda pair: pair[0])
    blocks = list(dict.fromkeys(name for _, name in found))
    if "all" in blocks:
        named = [name for name in blocks if name != "all"]
        both = len(named) == 2 and any(item.mask & BOTH for item in items)  # "1 and 2 both"
        blocks = named if both else ["all"]
    return blocks, names


def _tradesman(items: list[Item], at: int) -> bool:
    """Whether a thing and "wala" are a man rather than a place: "the tank man has not come"."""
    before = items[at - 1] if at else None
    after = items[at + 1] if at + 1 < len(items) else None
    thing = before is not None and before.mask & THINGS and not before.mask & (PLACE | NAMEABLE)
    return bool(thing) and after is not None and after.word[:1].isalpha() and (not after.known or _is(after, NOT))


def _digits_after(items: list[Item], at: int) -> bool:
    """Whether a number in digits stands after a word for number: "no. 3", not "number do"."""
    step = at + 2 if at + 1 < len(items) and items[at + 1].raw in ".:-#" else at + 1
    return step < len(items) and items[step].spelt.isdigit()


def _take(items: list[Item], at: int, found: list[tuple[int, str]]) -> None:
    items[at].used = True
    found.append((at, str(int(items[at].number or 0))))


def _numbers_after(items: list[Item], at: int, found: list[tuple[int, str]]) -> bool:
    """block 2 · blk no. 2 · blocks 1, 2 and 4; whether there was one"""
    step = at + 1
    while step < len(items) and (items[step].mask & (NUMERO | BLOCK) or items[step].raw in ("#", ":", "-", ".", "=")):
        step += 1
    if items[at].mask & NAME_AFTER and step < len(items) and items[step].mask & NEW and items[step].number is None:
        fresh = step + 1  # "new block: 4, 300 trees", where "new" stands after its noun
        while fresh < len(items) and (items[fresh].mask & NUMERO or items[fresh].raw in ("#", ":", "=")):
            fresh += 1
        after = items[fresh + 1] if fresh + 1 < len(items) else None
        if after is None or after.raw in (",", ":", ".") or after.number is not None or fresh > step + 1:
            step = fresh
    if _number(items[step] if step < len(items) else None) is None:
        return False
    following = items[step + 1] if step + 1 < len(items) else None
    small = (items[step].number or 0) <= MOST_BLOCKS
    # "block 2 an hour", where two hours are a word of their own; "block 2 on day 5"; "block 2 trees"
    alone = small and _is(following, SINGLE) and not _is(following, bit("acre") | bit("hectare"))
    dated = _is(following, DATE_BEFORE) and step + 2 < len(items)
    unnumbered = not (at and (items[at - 1].number is not None or items[at - 1].mask & ORDINAL))
    grown = small and unnumbered and _is(following, bit("plant")) and items[step].spelt.isdigit() and step == at + 1
    if not (alone or dated or grown) and _is(following, MEASURE & ~NUMERO & ~BY | bit("day") | bit("week")):
        return False
    if _is(following, BY) and _number(items[step + 2] if step + 2 < len(items) else None) is not None:
        return False
    if _is(following, JOB) and not _is(items[at], BLOCK):
        return False
    if items[step].number == 0:
        return False
    _take(items, step, found)
    while step + 2 < len(items) and (items[step + 1].mask & AND or items[step + 1].raw in (",", "&", "+")):
        nxt = step + 2
        if nxt + 1 < len(items) and items[nxt + 1].mask & (BLOCK | FIELD) and items[nxt].number is not None:
            break  # "15 block 1 and 20 block 2"
        while nxt < len(items) and items[nxt].mask & (NUMERO | BLOCK):
            nxt += 1
        if _number(items[nxt] if nxt < len(items) else None) is None:
            break
        after = items[nxt + 1] if nxt + 1 < len(items) else None
        if _is(after, MEASURE & ~NUMERO | bit("day")) or (items[nxt].number or 0) > MOST_LISTED:
            break
        if _is(after, IN) and nxt + 2 < len(items) and items[nxt + 2].mask & (BLOCK | FIELD):
            break  # "block 1 and 7 in block 2"
        _take(items, nxt, found)
        step = nxt
    return True


def _numbers_before(items: list[Item], at: int, found: list[tuple[int, str]]) -> None:
    """2 number · 3rd plot · 1 and 2 block"""
    step = at - 1
    while step >= 0 and items[step].number is None and items[step].mask & (NUMERO | ORDINAL | WALA):
        step -= 1
    if _number(items[step] if step >= 0 else None) is None or (items[step].number or 0) > 99:
        return
    if step and items[step - 1].raw in ("/", "-") and items[step - 1].glued:
        return
    before = items[step - 1] if step else None
    if _is(before, BLOCK | FIELD) or (_is(before, JOB) and items[at].mask & NUMERO):
        return
    _take(items, step, found)
    while step - 2 >= 0 and (items[step - 1].mask & AND or items[step - 1].raw in (",", "&", "+")):
        if _number(items[step - 2]) is None or (items[step - 2].number or 0) > 99:
            break
        if step >= 3 and items[step - 3].mask & (NUMERO | BLOCK | FIELD):
            break  # "1 no 35, 3 no 65"
        step -= 2
        _take(items, step, found)


def _name_before(items: list[Item], at: int, found: list[tuple[int, str]], names: list[tuple[int, int]]) -> None:
    """hill block · the mango side plot · nahar wale khet · nahar aur nadi wale"""
    step = at - 1
    skipped = WALA | BLOCK | FIELD | (OF if items[at].mask & (BLOCK | FIELD) else 0)  # "nadi ke khet"
    while step >= 0 and items[step].mask & skipped and not items[step].mask & (PLACE | NAMEABLE):
        step -= 1
    end = step + 1
    while step >= 0 and end - step <= 2 and _nameable(items[step]):
        listed = items[end - 1].mask & (PLACE | NAMEABLE)  # a place needs no unknown word before it
        if step < end - 1 and not items[step].mask & (PLACE | NAMEABLE) and (items[step].known or listed):
            break
        step -= 1
    start = step + 1
    if start >= end or any(s <= start < e for s, e in names):
        return
    found.append((start, " ".join(item.raw.lower() for item in items[start:end])))
    names.append((start, end))
    while (
        step - 1 >= 0 and (items[step].mask & AND or items[step].raw in (",", "&", "+")) and _nameable(items[step - 1])
    ):
        found.append((step - 1, items[step - 1].raw.lower()))
        names.append((step - 1, step))
        step -= 2


def _name_after(items: list[Item], at: int, found: list[tuple[int, str]], names: list[tuple[int, int]]) -> None:
    """A name after the word for block, up to two words: hod el-gesr, huerta de la loma."""
    start = at + 1
    if start < len(items) and items[start].mask & (IN | ON | BEFORE_NUMBER) and not _nameable(items[start]):
        start += 1  # the article of the name: "huerta de la loma"
        if start < len(items) and not items[start].mask & (PLACE | NAMEABLE):
            return
    end = start
    while end < len(items) and end - start < 2 and _nameable(items[end]):
        end += 1
    if end == start:
        return
    found.append((start, " ".join(item.raw.lower() for item in items[start:end])))
    names.append((start, end))


def _lettered(items: list[Item], at: int) -> bool:
    """Whether a letter and a number run together are a block's name: a1, b12, 2a."""
    letter = items[at].raw.lower()
    after = items[at + 1] if at + 1 < len(items) else None
    following = items[at + 2] if at + 2 < len(items) else None
    before = items[at - 1] if at else None
    if (
        after is not None
        and after.glued
        and after.spelt.isdigit()
        and len(after.spelt) <= 2
        and letter in LETTERS_BEFORE
    ):
        return not items[at].glued and not (following is not None and following.glued and following.word[:1].isalpha())
    return bool(
        items[at].glued
        and letter in LETTERS_AFTER
        and before is not None
        and before.spelt.isdigit()
        and len(before.spelt) <= 2
        and not before.used
        and not (after is not None and after.glued and after.word[:1].isalnum())
    )


def _place_after(items: list[Item], at: int, found: list[tuple[int, str]], names: list[tuple[int, int]]) -> None:
    """A place after the word for block: "block temple"."""
    end = at + 1
    while end < len(items) and end - at <= 2 and items[end].mask & (PLACE | NAMEABLE) and not items[end].used:
        end += 1
    after = items[end] if end < len(items) else None
    if end > at + 1 and not _is(after, BLOCK | FIELD | WALA):
        found.append((at + 1, " ".join(item.raw.lower() for item in items[at + 1 : end])))
        names.append((at + 1, end))


def _nameable(item: Item) -> bool:
    if item.used or item.number is not None or not item.word[:1].isalpha():
        return False
    if item.mask & DOER:
        return False
    if item.mask & (PLACE | NAMEABLE | THINGS) or (item.guessed and not item.mask & MEASURE):
        return bool(item.mask & (PLACE | NAMEABLE)) or not item.mask & DOINGS
    return not item.known


def _bare_numbers(items: list[Item], asking: str | None, found: list[tuple[int, str]]) -> None:
    """A number with a particle of place ("2 me", "la 3"); any number while the block is asked for.

    While it is asked for, a text of rain or leaf fall is told anew: its number is the amount ("rain 12").
    """
    measured = any(item.mask & MEASURED for item in items) and not any(
        _measured_at(items, at) for at in range(len(items))
    )
    for at, item in enumerate(items):
        if _number(item) is None or item.spelt == "0":
            continue
        before = items[at - 1] if at else None
        after = items[at + 1] if at + 1 < len(items) else None
        if _is(after, MEASURE & ~BY | bit("day") | bit("week") | bit("year") | bit("month_word") | bit("plant")):
            continue
        if _is(after, BY) and _number(items[at + 2] if at + 2 < len(items) else None) is not None:
            continue
        if _is(before, BY) and at > 1:
            left = at - 3 if at > 2 and _is(items[at - 2], LENGTH) and items[at - 2].number is None else at - 2
            if items[left].number is not None:
                continue
        if item.number == 1 and _is(after, bit("place_in")) and _numbered(items, at + 2):
            if any(each.mask & VESSELS for each in items[:at]):
                continue  # "20 crates, 25 kg in one"
        if asking == "block" and at > 1 and items[at - 1].raw in ":=" and items[at - 2].used:
            continue  # "block 1: 90, block 2: 70"
        if asking == "block" and not (_mark_range(after) or _mark_range(before) or measured):
            _take(items, at, found)
        elif _shares_out(items, at):
            _take(items, at, found)
        elif (_is(after, bit("place_in")) and (_number(item) or 0) <= 99) or (
            _is(before, BEFORE_NUMBER) and _number(items[at - 2] if at > 1 else None) is None
        ):
            _take(items, at, found)
            ahead = at
            while ahead + 2 < len(items) and _joins(items[ahead + 1]) and _may_number_a_block(items, ahead + 2):
                ahead += 2
                _take(items, ahead, found)
            while at - 2 >= 0 and (items[at - 1].mask & AND or items[at - 1].raw in ",&+") and _number(items[at - 2]):
                if at - 3 >= 0 and items[at - 3].mask & (bit("place_in") | BLOCK):
                    break  # "1 la 12 ani 2 la 8"
                at -= 2
                _take(items, at, found)


def _measured_at(items: list[Item], at: int) -> bool:
    """Whether an amount of rain or leaf fall with its unit stands there."""
    return items[at].number is not None and at + 1 < len(items) and bool(items[at + 1].mask & MEASURED_IN)


def _shares_out(items: list[Item], at: int) -> bool:
    """Whether "from" after a number starts no range but names a block: "1 se 120 kg, 3 se 75 kg"."""
    if at + 3 >= len(items) or not items[at + 1].mask & bit("from") or not items[at].spelt.isdigit():
        return False
    amount, block = items[at + 2].number, items[at].number or 0
    return amount is not None and block <= MOST_BLOCKS and amount >= 10 * block and bool(items[at + 3].mask & WEIGHT)


def _numbered(items: list[Item], at: int) -> bool:
    return at < len(items) and items[at].number is not None


def _joins(item: Item) -> bool:
    return bool(item.mask & AND) or item.raw in (",", "&", "+")


def _listed_numbers(items: list[Item], found: list[tuple[int, str]]) -> None:
    """Numbers in a row with a particle of place beside them: "from 2 and 3", "2 aur 3 se"."""
    at = 0
    while at < len(items):
        if not _may_number_a_block(items, at):
            at += 1
            continue
        end = at + 1
        while (
            end + 1 < len(items)
            and (items[end].mask & AND or items[end].raw in (",", "&", "+"))
            and _may_number_a_block(items, end + 1)
        ):
            end += 2
        before = items[at - 1] if at else None
        after = items[end] if end < len(items) else None
        beside = _is(before, bit("from") | IN) or _is(after, bit("from") | bit("place_in"))
        if end > at + 1 and beside and not _is(after, MEASURE & ~NUMERO):
            for step in range(at, end, 2):
                _take(items, step, found)
        at = end


def _may_number_a_block(items: list[Item], at: int) -> bool:
    value = _number(items[at])
    after = items[at + 1] if at + 1 < len(items) else None
    return (
        value is not None
        and 1 <= value <= 30
        and items[at].spelt.isdigit()
        and not _is(after, MEASURE & ~NUMERO | bit("day") | bit("week") | bit("year") | bit("plant"))
    )


def _refused(items: list[Item], found: list[tuple[int, str]]) -> None:
    """Leave out a block that is refused while another is named: "block 2 not 3", "3 nahi 2 me"."""
    if len(found) < 2:
        return
    refused = []
    for place, name in found:
        step = place - 1
        while step >= 0 and items[step].mask & (BLOCK | FIELD | NUMERO | IN | BEFORE_NUMBER | ARTICLE):
            if items[step].mask & bit("not_next"):
                break
            step -= 1
        if step >= 0 and items[step].mask & bit("not_next"):
            if not (step and step + 1 < len(items) and items[step + 1].raw == ","):
                refused.append((place, name))
            continue
        step = place + 1
        while step < len(items) and items[step].mask & (BLOCK | FIELD | NUMERO | bit("place_in")):
            step += 1
        aside = step + 1 < len(items) and items[step].mask & bit("not_next") and items[step + 1].raw == ","
        if step + 1 < len(items) and (aside or items[step].mask & bit("not_prev")):  # "la 3 no, la 4"
            nearby = range(step + 1, min(step + (5 if aside else 3), len(items)))
            if any(other != place and other in nearby for other, _ in found):
                refused.append((place, name))
    if refused and len(refused) < len(found):
        found[:] = [pair for pair in found if pair not in refused]


def _lone_name(items: list[Item], found: list[tuple[int, str]], names: list[tuple[int, int]]) -> None:
    """A name as the whole reply to "which block": nothing else in it but particles."""
    content = [
        at
        for at, item in enumerate(items)
        if (item.word[:1].isalpha() and not (item.mask & PARTICLES or (item.known and not item.mask)))
        or _nameable(item)
    ]
    if content and len(content) <= 2 and content[-1] - content[0] < 2 and all(_nameable(items[at]) for at in content):
        if len(content) == 2 and not any(items[at].mask & (PLACE | NAMEABLE) for at in content):
            return
        found.append((content[0], " ".join(items[at].raw.lower() for at in content)))
        names.append((content[0], content[-1] + 1))


def _mark_range(item: Item | None) -> bool:
    return item is not None and (item.raw == "-" or bool(item.mask & RANGE))


def _everything(items: list[Item], asking: str | None, found: list[tuple[int, str]]) -> None:
    """all blocks · both · sab me"""
    all_after = any(item.mask & NAME_AFTER for item in items)  # "all" stands after what it is all of, as names do
    for at, item in enumerate(items):
        if item.mask & bit("everywhere") and (asking == "block" or (not found and _falls(items))):
            found.append((at, "all"))
        if not item.mask & (ALL | BOTH) or item.mask & (bit("everywhere") | bit("per_plant")):
            continue
        nearby = items[at + 1 : at + 3]
        counted = any(_is(each, COUNTED) for each in (*nearby, *(items[max(0, at - 2) : at] if all_after else ())))
        if item.mask & BOTH:
            listed = at and (items[at - 1].mask & AILING or (items[at - 1].number is not None and items[at - 1].used))
            own = listed and not any(place in range(at - 1, at) for place, _ in found)  # "jobs 2 and 3 both"
            if not counted and not own:
                found.append((at, "all"))
        elif asking == "block" and len(items) <= 4 and not counted:
            found.append((at, "all"))
        elif any(_is(each, BLOCK | FIELD | bit("farm")) for each in nearby) and not counted:
            found.append((at, "all"))
        elif at and not nearby and _is(items[at - 1], IN | ON | RANGE | bit("of")):
            found.append((at, "all"))
        elif nearby and _is(nearby[0], bit("place_in")):
            found.append((at, "all"))
        elif at and not nearby and (items[at - 1].mask & bit("stopped_water") or _is_dated_cut(items, at - 1)):
            found.append((at, "all"))  # "stopped water all", "cut 4 jan all"


def _is_dated_cut(items: list[Item], at: int) -> bool:
    return items[at].used and any(item.mask & bit("cut") for item in items)


def _falls(items: list[Item]) -> bool:
    """Whether a text tells of leaf fall: everywhere then is on all blocks."""
    return any(item.mask & bit("leaf_drop") for item in items)


def _known_names(
    items: list[Item], known: Sequence[KnownBlock], lexicon: Lexicon, found: list[tuple[int, str]]
) -> None:
    """The grower's own names for blocks, where the text has them, give the block's number."""
    words = [plain(item.raw) for item in items]
    numbers = {block.number for block in known}
    names = {plain(block.name) for block in known if block.name}
    for at, (place, name) in enumerate(found):
        if name[0] == "b" and name[1:] in numbers and name not in names:
            found[at] = (place, name[1:])  # "b2" of one who has no block of that name
    for block in known:
        if not block.name:
            continue
        parts = plain(block.name).split()
        for at in range(len(words) - len(parts) + 1):
            run = zip(items[at : at + len(parts)], words[at : at + len(parts)], parts, strict=True)
            if all(_alike(word, part) or _inflected(item, word, part, lexicon) for item, word, part in run):
                found[:] = [pair for pair in found if not at <= pair[0] < at + len(parts)]
                found.append((at, block.number))
                break


def _inflected(item: Item, typed: str, name: str, lexicon: Lexicon) -> bool:
    """A word of no other meaning that is the name with a case ending, in another script or as it sounds."""
    if item.number is not None or (item.known and item.mask and not item.mask & (PLACE | NAMEABLE | THINGS)):
        return False
    forms = _forms(name, lexicon)
    return not _forms(typed, lexicon).isdisjoint(forms) or _alike(lexicon.sound(typed), lexicon.sound(name))


def _forms(word: str, lexicon: Lexicon) -> set[str]:
    """The sounds of a name and of what is left of it without a case ending; Marathi "odhya-" is of "odha"."""
    stems = [word, *lexicon.stems(word)]
    stems += [stem[: -len(old)] + new for stem in stems for old, new in OBLIQUE if stem.endswith(old)]
    return {lexicon.sound(stem) for stem in stems if len(stem) >= SHORTEST_STEM}


def _alike(typed: str, name: str) -> bool:
    """The same word, or one letter away where it is long enough."""
    if typed == name:
        return True
    if min(len(typed), len(name)) < 4 or abs(len(typed) - len(name)) > 1 or typed[0] != name[0]:
        return False
    short, long = sorted((typed, name), key=len)
    if len(short) == len(long):
        return sum(a != b for a, b in zip(short, long, strict=True)) == 1
    return any(long[:i] + long[i + 1 :] == short for i in range(len(long)))
