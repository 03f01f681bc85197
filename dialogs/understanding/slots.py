"""Which of the values in a text are slots of the task it was taken for, in the corpus's form."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from itertools import pairwise, takewhile
from typing import Any

from dialogs.lexicon import bit, plain
from dialogs.understanding.dates import RANGE, Day, month_of, resolve
from dialogs.understanding.quantities import ANY_UNIT, MOST_APART, Amounts, Quantity, in_metres
from dialogs.understanding.tokens import Item

PAST_TASKS = frozenset(
    "log_rain log_watering log_leaf_drop log_spray log_flowering log_shoots log_harvest report_done report_trouble "
    "hurt undo register_block".split()
)
FUTURE_TASKS = frozenset(
    "set_cut_day postpone todays_jobs plan crew mix_spray water_need choose_season person ask".split()
)
NO_SLOTS = frozenset("unclear yes no help cancel undo stop resume delete_me my_blocks".split())
JOB_TASKS = frozenset("report_done postpone plan crew todays_jobs answer ask".split())
# Only these of a text count for tasks that are about something else.
ONLY = {
    "hurt": ("block", "date", "product"),
    "join": ("name",),
    "language": ("language",),
    "person": ("date", "time_of_day", "block"),
    "my_blocks": (),
}
WATER_JOBS = frozenset("postpone plan report_done crew".split())
COPPER_IS_A_JOB = frozenset("report_done postpone plan crew todays_jobs".split())
SOILS = tuple((bit(name), name) for name in ("black", "red", "sandy", "loam", "clay", "gravelly"))
SOURCES = tuple((bit(name), name) for name in ("drip", "flood", "sprinkler", "rainfed"))
SEASONS = tuple((bit(name), name) for name in ("mrig", "hasta", "ambe"))
PRODUCTS = (
    (bit("ethephon"), "ethephon"),
    (bit("bordeaux"), "bordeaux"),
    (bit("copper"), "copper"),
    (bit("other_product"), "other"),
)
TROUBLES = tuple(
    (bit(name), name)
    for name in ("blight", "borer", "wilt", "thrips", "mites", "scald", "cracking", "hail", "flower_drop")
)
JOB_KINDS = tuple((bit(name), name) for name in ("rest", "defoliate", "cut", "clean"))
LANGUAGES = tuple((bit("lang_" + tag), tag) for tag in ("en", "hi", "hi_Latn", "mr", "kn", "es", "ar"))
DAMAGE = 0
for _name in (
    "other_trouble insect spot yellow curl hole eaten burn burnt dry rot die spoil broke damage eat dig fall fallen "
    "fell black worm red"
).split():
    DAMAGE |= bit(_name)
ALL, NONE, HALF, SOME, NOT = bit("all"), bit("none"), bit("half"), bit("some"), bit("not")
REMAIN = bit("remain")
GROWTH = bit("fruit") | bit("flower") | bit("bud") | bit("leaf") | bit("shoot") | bit("branch")
ARTICLES = bit("block_before") | bit("date_article") | bit("article")
# Where a place named is a block, although no word for block stands beside it.
PLACED_LOGS = frozenset(
    "log_rain log_watering log_spray log_harvest log_flowering log_shoots log_leaf_drop report_done "
    "report_trouble".split()
)
HINDRANCES = bit("sick_today") | bit("labour_short") | bit("power_cut") | bit("motor_broken") | bit("no_time")
LOGS = frozenset("log_rain log_watering log_spray log_harvest log_flowering log_leaf_drop mix_spray".split())
SHARED_TASKS = frozenset("log_leaf_drop log_shoots log_flowering report_trouble report_done".split())


# Tasks in which the age of the trees is told.
AGED_TASKS = frozenset("register_block choose_season ask mix_spray water_need plan crew".split())
# What is told of a block in a registration, and is not its name, though typed with a capital.
OF_A_BLOCK = (
    ANY_UNIT & ~bit("being") | bit("planted") | bit("new") | bit("soil_word") | bit("is") | bit("in") | bit("and")
)
for _mask, _name in (*SOILS, *SOURCES):
    OF_A_BLOCK |= _mask
FEWEST_PLANTED = 30  # a number left over in a registration counts trees from here on
OTHER = bit("other_one") | bit("one_more")
# While one of these is asked for, a month beside it is when the trees were planted.
ASKED_OF_A_BLOCK = frozenset("planted spacing_m soil water_source".split())
FEW_WORDS = 3
WHOLE = {"plants", "minutes", "people", "delay_days"}  # slots that take whole numbers only
LEAST_BARE_MINUTES = 10  # "watered 70" is minutes, "watered 2" a block


@dataclass
class Facts:
    """Everything read in a text, before it is known what the text asks for."""

    items: list[Item]
    present: int
    days: list[Day]
    times: list[str]
    blocks: list[str]
    jobs: list[int]
    amounts: Amounts
    perhaps_blocks: list[str] = field(default_factory=list)
    placed: set[int] = field(default_factory=set)

    def has(self, mask: int) -> bool:
        """Whether any of these concepts is there."""
        return bool(self.present & mask)

    def unplaced(self, task: str, slots: Mapping[str, Any]) -> bool:
        """Whether a number was left over that no slot took: then something was not understood."""
        return any(each.at not in self.placed for each in self.amounts.bare)


def _one_or_list(values: Sequence[Any]) -> Any:
    distinct = list(dict.fromkeys(values))
    return distinct[0] if len(distinct) == 1 else distinct


def _number(value: float, digits: int | None = None) -> int | float:
    if digits is not None:
        value = round(value + 1e-9, digits)
    return int(value) if value == int(value) else round(value, 4)


def _named(facts: Facts, table: Sequence[tuple[int, str]]) -> list[str]:
    found: list[str] = []
    for item in facts.items:
        for mask, name in table:
            if item.mask & mask and name not in found:
                found.append(name)
    return found


def has_value(facts: Facts, slot: str) -> bool:
    """Whether the text has a value for the slot asked for."""
    return slot in fill("answer", facts, None, slot)


def direction_of(task: str, facts: Facts) -> int:
    """Whether the days of a text lie behind (-1), ahead (1) or either way (0)."""
    if facts.has(bit("past_cue")) and not facts.has(bit("will")) and task in ("ask", "person"):
        return -1
    if task == "answer":
        return 0
    if task in PAST_TASKS:
        return -1
    return 1 if task in FUTURE_TASKS else 0


def fill(task: str, facts: Facts, today: date | None, asking: str | None) -> dict[str, Any]:
    """The slots of a text taken for this task. Without a day, dates are left as a mark that they are there."""
    if task in NO_SLOTS:
        return {}
    slots: dict[str, Any] = {}
    facts.placed = set()
    _days(slots, task, facts, today, asking)
    _blocks(slots, task, facts, asking)
    _amounts(slots, task, facts, asking)
    _words(slots, task, facts, asking)
    _jobs(slots, task, facts, asking)
    _names(slots, task, facts, asking)
    for slot in WHOLE & slots.keys():  # "half" plants or people is no number of them
        if any(value != int(value) for value in (slots[slot] if isinstance(slots[slot], list) else [slots[slot]])):
            del slots[slot]
    if task in ONLY:
        slots = {slot: value for slot, value in slots.items() if slot in ONLY[task]}
    return slots


def _days(slots: dict[str, Any], task: str, facts: Facts, today: date | None, asking: str | None) -> None:
    direction = direction_of(task, facts)
    days = _stated_days(task, facts, asking)
    planted = _day_planted(days, facts) if task == "register_block" else None
    dates: list[str] = []
    months: list[str] = []
    delays: list[int] = []
    for day in days:
        if day.kind == "years_back":
            if today is not None and (task in AGED_TASKS or asking == "planted"):
                slots["planted"] = str(today.year - day.value)
            elif today is None:
                slots["planted"] = "?"
        elif day.kind == "delay":
            delays.append(day.value)
        elif day.kind == "month":
            if planted is not None and day is not planted:
                continue
            if (
                task == "register_block"
                or asking in ASKED_OF_A_BLOCK
                or (task in AGED_TASKS and facts.has(bit("planted")))
            ):
                if today is None:
                    slots["planted"] = "?"
                elif day.month is None:
                    slots["planted"] = f"{day.year:04d}{_month_before(day, days)}"
                else:
                    slots["planted"] = month_of(day, today, -1)
            elif day.month is not None:
                months.append("?" if today is None else month_of(day, today, direction) or "?")
        elif today is None:
            dates.append("?")
        elif task == "register_block" and _month_and_year(day, today):
            slots["planted"] = f"{2000 + day.value:04d}-{day.month:02d}"
        elif day is planted:
            resolved = resolve(day, today, -1)
            if resolved is not None:
                slots["planted"] = f"{resolved.year:04d}-{resolved.month:02d}"
        else:
            resolved = resolve(day, today, direction)
            if resolved is not None:
                dates.append(resolved.isoformat())
    if dates:
        slots["date"] = _one_or_list(dates)
    if months:
        slots["month"] = _one_or_list(months)
    if delays and task not in PAST_TASKS:
        slots["delay_days"] = delays[0]
    if facts.times and task not in ("register_block", "language"):
        slots["time_of_day"] = _one_or_list(facts.times)


def _day_planted(days: Sequence[Day], facts: Facts) -> Day | None:
    """Of the days of a registration, the one beside "planted": "planted december 2020, water stopped 20 nov"."""
    told = [at for at, item in enumerate(facts.items) if item.mask & bit("planted")]
    dated = [day for day in days if day.kind in ("day", "month")]
    if not told:
        return None
    # After the word rather than before it, where both are as near.
    return min(dated, key=lambda day: min(2 * abs(day.at - at) + (day.at < at) for at in told), default=None)


def _month_before(year: Day, days: Sequence[Day]) -> str:
    """The month told without a year just before a year told alone, as "-MM": "january, that is 2026"; else empty."""
    before = days[days.index(year) - 1] if days.index(year) else None
    of_year = before is not None and before.kind == "month" and before.month is not None and before.year is None
    return f"-{before.month:02d}" if of_year and before is not None else ""


def _month_and_year(day: Day, today: date) -> bool:
    """Whether a month and a number after it are a month and a year: "july 22"."""
    return day.kind == "day" and day.month_first and day.year is None and 10 <= day.value <= today.year % 100


def _before_cannot(day: Day, items: Sequence[Item]) -> bool:
    """Whether "cannot" stands right after the day: "tomorrow I cannot"."""
    if day.kind not in ("offset", "weekday"):
        return False
    step = day.at + 1
    while step < len(items) and items[step].mask & bit("filler") and not items[step].mask & bit("cannot"):
        step += 1
    return step < len(items) and bool(items[step].mask & bit("cannot"))


def _stated_days(task: str, facts: Facts, asking: str | None) -> list[Day]:
    """The days that are meant: refused and replaced ones left out."""
    days = [day for day in facts.days if not _before_cannot(day, facts.items)]
    if task in ("postpone", "set_cut_day"):
        refused = facts.has(NOT | bit("not_yet") | bit("cannot") | HINDRANCES)
        if refused:
            days = [day for day in days if not (day.kind == "offset" and day.value <= 0)]
        if refused and any(day.kind == "either" for day in days) and not facts.has(bit("will")):
            days = [day for day in days if day.kind != "either"]
        dated = [day for day in days if day.kind not in ("delay", "month")]
        if len(dated) > 1 and (refused or facts.has(bit("from"))):
            days = [day for day in days if day.kind in ("delay", "month") or day is dated[-1]]
    return days


def _blocks(slots: dict[str, Any], task: str, facts: Facts, asking: str | None) -> None:
    if not facts.blocks:
        if facts.perhaps_blocks and task in PLACED_LOGS:
            slots["block"] = _one_or_list(facts.perhaps_blocks)
        return
    if task == "register_block":
        numbers = [block for block in facts.blocks if block.isdigit()]
        if numbers:
            slots["block"] = _one_or_list(numbers)
        return
    slots["block"] = _one_or_list(facts.blocks)


def _amounts(slots: dict[str, Any], task: str, facts: Facts, asking: str | None) -> None:
    amounts = facts.amounts
    by_kind: dict[str, list[float]] = {}
    for quantity in amounts.quantities:
        by_kind.setdefault(quantity.kind, []).append(quantity.value)
    litres = by_kind.get("litres", [])
    rain = [("mm", value) for value in by_kind.get("mm", [])]
    if litres:
        if task == "log_rain" or (asking == "amount_mm" and task == "answer"):
            rain += [("litres", value) for value in litres]
        elif (
            amounts.per_plant and asking != "volume_l" and task in ("log_watering", "answer", "water_need")
        ) or asking == "litres_per_plant":
            slots["litres_per_plant"] = _one_or_list([_number(value) for value in litres])
        elif asking == "volume_l" or (task != "log_watering" and task != "water_need" and task != "log_harvest"):
            slots["volume_l"] = _one_or_list([_number(value) for value in litres])
    if (task == "log_rain" and not rain) or (asking == "amount_mm" and task == "answer" and not rain):
        for number in amounts.bare:
            if number.at not in facts.placed:
                rain.append(("number", number.value))
                facts.placed.add(number.at)
    elif task == "log_rain" and rain:
        rain = [("mm", value) for value in _in_step("mm", [value for _, value in rain], slots, facts)]
    if rain:
        values = [_number(value, 1) for _, value in rain]
        pairs = any(isinstance(slots.get(side), list) and len(slots[side]) == len(values) for side in ("block", "date"))
        slots["amount_mm"] = values if pairs else _one_or_list(values)
    for kind, slot in (("plants", "plants"), ("people", "people"), ("ppm", "ppm"), ("minutes", "minutes")):
        if by_kind.get(kind):
            by_kind[kind] = _in_step(kind, by_kind[kind], slots, facts)
            values = [_number(value, 0 if kind == "minutes" else None) for value in by_kind[kind]]
            slots[slot] = _one_or_list(values)
    if "minutes" in slots and task == "log_rain" and not facts.has(bit("irrigate") | bit("drip") | bit("water")):
        del slots["minutes"]
    if "people" in slots and task not in ("crew", "answer", "postpone", "report_done"):
        del slots["people"]
    if by_kind.get("area"):
        slots["area_ha"] = _one_or_list([_number(value, 2) for value in by_kind["area"]])
    if by_kind.get("kg"):
        by_kind["kg"] = _in_step("kg", by_kind["kg"], slots, facts)
        slots["weight_kg"] = _one_or_list([_number(value) for value in by_kind["kg"]])
    if "weight_kg" in slots and task in ("mix_spray", "log_spray", "ask"):
        del slots["weight_kg"]
    if amounts.spacings:
        slots["spacing_m"] = list(amounts.spacings[0])
    _percent(slots, task, facts, by_kind.get("percent", []), asking)
    _bare(slots, task, facts, asking)


def _in_step(kind: str, values: list[float], slots: Mapping[str, Any], facts: Facts) -> list[float]:
    """The values of one kind; with numbers of no unit where they then run in step with the blocks or the days.

    "blk 1 30, blk 3 55 percent"
    """
    sides = slots.get("block"), slots.get("date")
    wanted = next((len(side) for side in sides if isinstance(side, list)), 1)
    same = [each for each in facts.amounts.quantities if each.kind == kind]
    factor = same[0].factor if same else 1.0
    in_order = sorted([(q.at, q.value) for q in same] + [(n.at, n.value * factor) for n in facts.amounts.bare])
    if len(in_order) == wanted > len(values):
        facts.placed.update(number.at for number in facts.amounts.bare)
        return [value for _, value in in_order]
    return values


def _percent(slots: dict[str, Any], task: str, facts: Facts, percents: list[float], asking: str | None) -> None:
    if task == "log_spray":  # half of the trees in words; a figure with % is the product's strength
        fractions = [item.number for item in facts.items if item.mask & bit("#fraction") and item.number is not None]
        if fractions and fractions[0] < 1:
            slots["percent"] = _number(round(fractions[0] * 100))
        return
    shares = _in_step("percent", percents, slots, facts) if percents else []
    if not shares and (task in SHARED_TASKS or asking in ("percent", "plants")):
        for item in facts.items:
            if item.mask & bit("#fraction") and item.number is not None and item.number < 1:
                if not any(each.at == facts.items.index(item) for each in facts.amounts.quantities):
                    shares.append(item.number * 100)
                    facts.placed.add(facts.items.index(item))
    if asking == "plants" and task == "answer" and facts.has(ALL) and len(facts.items) <= FEW_WORDS:
        if not (shares or facts.amounts.quantities or facts.amounts.bare):
            shares.append(100)  # all of them
    if not shares and (asking == "percent" or task == "log_leaf_drop"):
        told = [each for each in facts.amounts.bare if 0 <= each.value <= 100 and each.at not in facts.placed]
        blocks = slots.get("block")
        in_step = isinstance(blocks, list) and len(blocks) == len(told)  # "45 in block 1 and 70 in block 2"
        for number in told if in_step else told[:1]:
            shares.append(number.value)
            facts.placed.add(number.at)
        if not told:
            nothing = facts.has(NOT) and facts.has(bit("any"))  # "kahi ... nahi"
            if facts.has(bit("most") | SOME | bit("few") | bit("many")) and not nothing:
                pass
            elif (
                facts.has(NONE)
                or (facts.has(bit("full")) and facts.has(bit("tree")))
                or (task == "log_leaf_drop" and facts.has(NOT))
            ):
                shares.append(0)
            elif facts.has(ALL | bit("bare") | bit("tree_bare")) and not facts.has(NOT):
                shares.append(100)
    if task == "report_done" and len(shares) == 1:
        shares = _shares_in_turn(facts, slots) or shares
    if not shares:
        return
    none_fell = facts.has(bit("no_fall")) or (facts.has(NOT) and facts.has(bit("fall")) and not facts.has(NONE))
    if facts.has(REMAIN) and (task == "log_leaf_drop" or asking == "percent") and not (none_fell and shares == [0]):
        shares = [100 - share for share in shares]
    if facts.has(bit("above") | bit("many")) and asking == "percent" and facts.has(bit("#fraction")):
        return
    values = [_number(round(share)) for share in shares if 0 <= share <= 100]
    if values and task != "mix_spray":
        slots["percent"] = _one_or_list(values)


def _shares_in_turn(facts: Facts, slots: Mapping[str, Any]) -> list[float]:
    """A share for each of several blocks, where one is told in part and the others as done: "1 done, 2 half"."""
    blocks = slots.get("block")
    if not isinstance(blocks, list):
        return []
    told: list[float] = []
    for before, item in pairwise((None, *facts.items)):
        if item is None:
            continue
        if item.mask & bit("#fraction") and item.number is not None and item.number < 1:
            told.append(item.number * 100)
        elif item.mask & (bit("done") | bit("finished") | bit("full") | ALL) and not (
            before is not None and before.mask & (bit("#fraction") | bit("done") | bit("finished") | bit("full") | ALL)
        ):
            told.append(100)
    return told if len(told) == len(blocks) else []


_BARE_SLOTS = {
    "plants": "plants",
    "area_ha": "",
    "volume_l": "volume_l",
    "ppm": "ppm",
    "minutes": "minutes",
    "litres_per_plant": "litres_per_plant",
    "weight_kg": "weight_kg",
    "people": "people",
    "delay_days": "delay_days",
}


def _bare(slots: dict[str, Any], task: str, facts: Facts, asking: str | None) -> None:
    """A number without a unit takes the unit of the slot asked for; at rest, that of the task's own amount."""
    for number in facts.amounts.bare:
        if number.value == 1 and _of_trees(facts.items, number):
            facts.placed.add(number.at)  # "to 1 tree"
    free = [number for number in facts.amounts.bare if number.at not in facts.placed]
    if not free:
        return
    if task == "answer" and asking == "spacing_m" and len(free) == 2 and "spacing_m" not in slots:
        row, plant = (number.value for number in free)
        if 1 < min(row, plant) and max(row, plant) <= MOST_APART[False]:
            slots["spacing_m"] = list(in_metres(row, plant, row < 7 and plant < 7))
            facts.placed.update(number.at for number in free)
        return
    if task == "answer" and asking is not None:
        slot = _BARE_SLOTS.get(asking)
        if slot and slot not in slots:
            slots[slot] = _one_or_list([_number(number.value) for number in free])
            facts.placed.update(number.at for number in free)
        return
    trees = [number for number in free if task == "crew" and _of_trees(facts.items, number)]
    if trees and "plants" not in slots:  # "how many hands for 600 trees"
        slots["plants"] = _number(trees[0].value)
        facts.placed.add(trees[0].at)
    elif task == "crew" and "people" not in slots and len(free) == 1:
        slots["people"] = _number(free[0].value)
        facts.placed.add(free[0].at)
    elif (
        task == "report_done" and "job" not in slots and not facts.jobs and len(free) == 1 and not facts.has(bit("job"))
    ):
        if not _job_kinds(facts, task, asking) and free[0].value <= 20:
            facts.jobs.append(int(free[0].value))
            facts.placed.add(free[0].at)
    if task == "register_block" and "plants" not in slots:
        many = [number for number in free if FEWEST_PLANTED <= number.value == int(number.value)]
        if len(many) == 1:
            slots["plants"] = int(many[0].value)
            facts.placed.add(many[0].at)
    if task == "log_watering" and "minutes" not in slots and "litres_per_plant" not in slots and len(free) == 1:
        if LEAST_BARE_MINUTES <= free[0].value <= 600:
            slots["minutes"] = _number(free[0].value)
            facts.placed.add(free[0].at)
    if (
        "block" not in slots
        and task
        in (
            "log_watering",
            "log_spray",
            "log_rain",
            "report_trouble",
            "log_harvest",
            "plan",
            "log_shoots",
            "log_flowering",
            "log_leaf_drop",
            "water_need",
            "todays_jobs",
        )
    ) or (
        "block" not in slots and task in ("report_done", "set_cut_day", "postpone") and _job_kinds(facts, task, asking)
    ):
        left = [number for number in free if number.at not in facts.placed and _may_be_block(facts.items, number.at)]
        if len(left) == 1 and left[0].value == int(left[0].value) and 1 <= left[0].value <= 30:
            slots["block"] = str(int(left[0].value))
            facts.placed.add(left[0].at)


def _of_trees(items: list[Item], number: Quantity) -> bool:
    return number.end < len(items) and bool(items[number.end].mask & bit("per_plant"))


def _may_be_block(items: list[Item], at: int) -> bool:
    """Whether a number left over may be a block's: in digits, and no count of what grows or of a rank."""
    after = items[at + 1] if at + 1 < len(items) else None
    if after is not None and after.mask & (bit("ordinal") | bit("per_plant") | GROWTH):
        return False
    if after is not None and after.mask & RANGE and at + 2 < len(items) and items[at + 2].number is not None:
        return False  # "cut 10 or 12 january"
    return items[at].spelt[:1].isdigit()


def _words(slots: dict[str, Any], task: str, facts: Facts, asking: str | None) -> None:
    if task == "log_rain" or (asking in ("amount_mm", "rain_word") and task == "answer"):
        _rain_word(slots, facts)
    if task in ("register_block", "choose_season", "mix_spray", "water_need", "ask", "answer"):
        soils = _told_soils(facts)
        if soils and (facts.has(bit("soil_word")) or task != "ask") and (task != "answer" or asking == "soil"):
            slots["soil"] = _one_or_list(soils)
    if task not in ("join", "language", "crew", "log_spray", "mix_spray", "set_cut_day", "log_rain"):
        sources = _named(facts, SOURCES)
        if sources:
            slots["water_source"] = _one_or_list(sources)
    elif task == "log_rain" and asking == "water_source":
        pass
    seasons = _named(facts, SEASONS)
    if seasons and task in (
        "choose_season",
        "plan",
        "set_cut_day",
        "ask",
        "answer",
        "crew",
        "report_done",
        "log_flowering",
    ):
        slots["season"] = _one_or_list(seasons)
    if task in (
        "mix_spray",
        "log_spray",
        "ask",
        "hurt",
        "plan",
        "answer",
        "report_trouble",
        "todays_jobs",
        "log_rain",
        "log_watering",
    ):
        products = _named(facts, PRODUCTS)
        if "bordeaux" in products and facts.has(bit("lime")):
            products = [product for product in products if product != "copper"]  # what it is made of
        if task == "ask" and facts.has(bit("manure")):
            products = [product for product in products if product != "other"]
        if task in COPPER_IS_A_JOB or (task == "answer" and asking == "job"):
            products = [product for product in products if product != "copper"]
        coppers = [item for item in facts.items if item.mask & bit("copper")]
        if "copper" in products and all(item.mask & bit("bordeaux") for item in coppers):
            products = [product for product in products if product != "copper"]
        if "bordeaux" in products and facts.has(bit("lime") | bit("ingredient")):  # what it is made of
            products = [product for product in products if product != "copper"]
        if task == "answer" and asking == "product" and not products and _another_product(facts):
            products = ["other"]
        if products:
            slots["product"] = _one_or_list(products)
    if task in ("report_trouble", "ask") or (task == "answer" and asking == "trouble"):
        _trouble(slots, task, facts)
    elif task in LOGS:
        troubles = [name for name in _named(facts, TROUBLES) if name != "cracking"]
        if troubles:
            slots["trouble"] = _one_or_list(troubles)
    if task == "log_shoots" or (task == "answer" and asking == "shoots"):
        _shoots(slots, facts)
    if task == "language" or asking == "language":
        languages = _wanted_languages(facts)
        if facts.has(bit("letters_latin")) and (not languages or "hi" in languages or "en" in languages):
            languages = ["hi_Latn"]
        if languages:
            slots["language"] = _one_or_list(languages)


def _another_product(facts: Facts) -> bool:
    """Whether the reply is "other", or a spray by a name that is not listed."""
    if facts.has(OTHER):
        return True
    return facts.has(bit("medicine")) and any(not item.known and len(item.word) > 2 for item in facts.items)


def _told_soils(facts: Facts) -> list[str]:
    """The soils named; of several, those beside a word for soil, and none that is refused ("black not red")."""
    items = facts.items
    told: list[tuple[str, bool]] = []
    for at, item in enumerate(items):
        for mask, name in SOILS:
            if item.mask & mask and name not in [other for other, _ in told]:
                if at and items[at - 1].mask & bit("not_next"):
                    continue
                beside = items[max(0, at - 1) : at + 3]
                told.append((name, any(each.mask & bit("soil_word") for each in beside) or len(item.word.split()) > 1))
    if len(told) > 1 and any(beside for _, beside in told):
        told = [pair for pair in told if pair[1]]
    return [name for name, _ in told]


def _wanted_languages(facts: Facts) -> list[str]:
    """The languages named; of several, those not said to be known badly, and those in which to write."""
    found: list[tuple[str, bool, bool]] = []
    items = facts.items
    for at, item in enumerate(items):
        for mask, name in LANGUAGES:
            if item.mask & mask and not any(name == other for other, _, _ in found):
                beside = [items[step] for step in (at - 1, at + 1) if 0 <= step < len(items)]
                told = any(each.mask & bit("language_in") for each in beside)
                after = items[at + 1 : at + 4]
                until = next(
                    (i for i, each in enumerate(after) if each.raw in ",." or _names_language(each)), len(after)
                )
                badly = any(each.mask & (NOT | bit("poor") | bit("not_prev")) for each in after[:until])
                badly = badly or (at > 0 and bool(items[at - 1].mask & bit("not_next")))
                found.append((name, told, badly))
    if len(found) > 1:
        found = [each for each in found if not each[2]] or found
    if sum(told for _, told, _ in found) == 1:
        found = [each for each in found if each[1]]
    return [name for name, _, _ in found]


def _names_language(item: Item) -> bool:
    return any(item.mask & mask for mask, _ in LANGUAGES)


def _rain_word(slots: dict[str, Any], facts: Facts) -> None:
    if "amount_mm" in slots:
        return
    if facts.has(NONE) or facts.has(NOT | bit("dry") | bit("not_yet")):
        if facts.has(NONE | bit("dry")) or not facts.has(bit("light") | bit("heavy") | bit("moderate")):
            slots["rain_word"] = "none"
            return
        if facts.has(NOT) and facts.has(bit("heavy")):
            return
    for mask, word in ((bit("light"), "light"), (bit("heavy"), "heavy"), (bit("moderate"), "moderate")):
        if facts.has(mask):
            slots["rain_word"] = word
            return


def _trouble(slots: dict[str, Any], task: str, facts: Facts) -> None:
    troubles = _named(facts, TROUBLES)
    if troubles:
        slots["trouble"] = _one_or_list(troubles)
        return
    if task == "ask" and not facts.has(bit("other_trouble")):
        return
    fruit, leaf, flower = facts.has(bit("fruit")), facts.has(bit("leaf")), facts.has(bit("flower"))
    fall = facts.has(bit("fall") | bit("fallen") | bit("fell"))
    if facts.has(bit("cracking")):
        slots["trouble"] = "cracking"
    elif flower and (fall or facts.has(bit("dry"))):
        slots["trouble"] = "flower_drop"
    elif facts.has(bit("worm") | bit("hole")) and (fruit or not leaf):
        slots["trouble"] = "borer"
    elif facts.has(bit("sun")) and (fruit or facts.has(bit("burn") | bit("burnt"))):
        slots["trouble"] = "scald"
    elif facts.has(bit("burn")) and fruit:
        slots["trouble"] = "scald"
    elif facts.has(bit("dry") | bit("die")) and facts.has(bit("tree") | bit("plant") | bit("branch")) and not fruit:
        slots["trouble"] = "wilt"
    elif facts.has(bit("something_wrong")) and not facts.has(bit("spot") | bit("insect") | bit("yellow")):
        return
    elif task in ("report_trouble", "answer") or facts.has(bit("other_trouble")):
        if not _states_damage(facts):
            return
        slots["trouble"] = "other"


def _states_damage(facts: Facts) -> bool:
    return facts.has(DAMAGE)


def _shoots(slots: dict[str, Any], facts: Facts) -> None:
    if "percent" in slots:
        return
    if facts.has(NONE | NOT | bit("not_yet")):
        slots["shoots"] = "none"
    elif facts.has(bit("few") | SOME | bit("light")) and not facts.has(bit("everywhere")):
        slots["shoots"] = "few"
    elif facts.has(bit("everywhere") | bit("many") | ALL | bit("full") | bit("per_plant")):
        slots["shoots"] = "many"


def _jobs(slots: dict[str, Any], task: str, facts: Facts, asking: str | None) -> None:
    if task not in JOB_TASKS:
        return
    jobs: list[Any] = list(facts.jobs)
    if not jobs:
        kinds = _job_kinds(facts, task, asking)
        if task == "answer" and asking != "job":
            kinds = []
        if task == "ask" or task == "todays_jobs":
            kinds = [kind for kind in kinds if kind in ("cut", "clean", "defoliate", "rest")]
        watering = facts.has(bit("water") | bit("irrigate")) and not facts.has(bit("spray")) and "rest" not in kinds
        if task == "plan" and watering and facts.has(bit("after")) and kinds and kinds[0] != "water":
            kinds = ["water"]
        if len(kinds) > 1 and facts.has(bit("after") | bit("before")):
            kinds = kinds[:1]
        jobs = list(kinds)
    if jobs:
        slots["job"] = _one_or_list(jobs)
        if "copper" in jobs and slots.get("product") == "copper":
            del slots["product"]


def _job_kinds(facts: Facts, task: str, asking: str | None) -> list[str]:
    kinds: list[str] = []
    for at, item in enumerate(facts.items):
        for mask, name in JOB_KINDS:
            if name == "cut" and at + 1 < len(facts.items) and facts.items[at + 1].mask & bit("branch"):
                if facts.has(bit("clean") | bit("cleaned")):
                    continue  # "cut twigs carried out"
            if item.mask & mask and name not in kinds:
                kinds.append(name)
        if item.mask & bit("first_water") and "water" not in kinds and task in WATER_JOBS:
            kinds.append("water")
        if item.mask & bit("copper") and (task in COPPER_IS_A_JOB or asking == "job") and "copper" not in kinds:
            kinds.append("copper")
    if facts.has(bit("sucker")):
        kinds = [kind for kind in kinds if kind != "cut"]
    if facts.has(bit("clean")) and "clean" not in kinds:
        kinds.append("clean")
    asked_for = asking == "job" and task == "answer" and facts.has(bit("leaf_fall_job"))
    if (facts.has(bit("defoliate")) or asked_for) and "defoliate" not in kinds:
        kinds.append("defoliate")
    if facts.has(bit("rest")) and facts.has(bit("tod")) and not facts.has(bit("water")):  # "tan todla"
        return ["water"]
    resting = facts.has(bit("rest")) or (
        facts.has(bit("halt"))
        and facts.has(bit("irrigate") | bit("drip") | bit("flood") | bit("sprinkler") | bit("water"))
    )
    if resting and "rest" not in kinds:
        kinds.insert(0, "rest")
    watered = bit("water") | bit("irrigate") | bit("irrigated") | bit("first_water")
    if not kinds and facts.has(watered) and not facts.has(bit("spray") | bit("sprayed")):
        if task in WATER_JOBS or asking == "job":
            kinds.append("water")
    return kinds


def _names(slots: dict[str, Any], task: str, facts: Facts, asking: str | None) -> None:
    if task == "join" or task == "register_block":
        name = _name_after_cue(facts) or (_block_name(facts) if task == "register_block" else _name_after_join(facts))
        if name:
            slots["name"] = name
    elif asking == "name" and task == "answer":
        words = [item.raw for item in facts.items if item.word[:1].isalpha() and not item.mask & bit("polite")]
        cued = _name_after_cue(facts)
        if cued:
            slots["name"] = cued
        elif words and len(words) <= 4:
            slots["name"] = " ".join(words)


_CUE = bit("name_is") | bit("i_am")
_CUE_AFTER = bit("i_am_after")  # Hindi "golu hun"
_NAME_STOPS = bit("filler") | bit("is") | bit("polite")


def _name_after_cue(facts: Facts) -> str | None:
    """The words after "my name is", "named", "I am", up to a mark, a number or a word of the trade."""
    items = facts.items
    for at, item in enumerate(items):
        if item.mask & _CUE_AFTER and not item.mask & _CUE:
            start = at
            while start and at - start < 3 and not items[start - 1].known and items[start - 1].word[:1].isalpha():
                start -= 1
            if start < at:
                return " ".join(each.raw for each in items[start:at])
        if not item.mask & _CUE:
            continue
        taken: list[str] = []
        for following in items[at + 1 :]:
            if not taken and (following.raw in ":-=" or following.mask & bit("is")):
                continue
            if not following.word[:1].isalpha() or following.number is not None:
                break
            if taken and following.glued and following.word[:1].isalpha():
                taken[-1] += following.raw  # a name of two listed words run together
                continue
            nameable = bit("place") | bit("place_word") | bit("name_like")
            known = following.known and following.mask  # a block's name has lost its own meanings
            if known and not following.mask & nameable and not (not taken and following.raw[0].isupper()):
                break
            taken.append(following.raw)
            if len(taken) == 3:
                break
        if taken:
            return " ".join(taken)
        before: list[str] = []  # "Suresh naam hai"
        step = at - 1
        nameable = bit("place") | bit("place_word") | bit("name_like")
        while (
            step >= 0
            and (not items[step].known or items[step].mask & nameable)
            and items[step].word[:1].isalpha()
            and len(before) < 2
        ):
            before.insert(0, items[step].raw)
            step -= 1
        if before:
            return " ".join(before)
    return None


def _name_after_join(facts: Facts) -> str | None:
    """The words that nobody knows right after the word for joining: "join sunanda"."""
    for at, item in enumerate(facts.items):
        if item.mask & bit("join_word"):
            taken = list(takewhile(lambda each: not each.known and len(each.raw) > 2, facts.items[at + 1 : at + 3]))
            return " ".join(each.raw for each in taken) or None
    return None


def _block_name(facts: Facts) -> str | None:
    """In a registration, the words of a name beside the word for block, as typed."""
    for block in facts.blocks:
        if block.isdigit() or block == "all":
            continue
        parts = block.split()
        for at in range(len(facts.items) - len(parts) + 1):
            run = facts.items[at : at + len(parts)]
            if [item.raw.lower() for item in run] == parts:
                article = facts.items[at - 1 : at]
                if (
                    article
                    and article[0].mask & (ARTICLES | bit("filler"))
                    and article[0].raw[0].isupper()
                    and run[0].raw[0].isupper()
                ):
                    run = [*article, *run]  # "El Pozo"
                return " ".join(item.raw for item in run)
    items = facts.items
    for at, item in enumerate(items):
        if item.mask & (bit("block") | bit("field_word")):
            taken = []
            for following in items[at + 1 : at + 4]:
                nameable = not following.known or following.mask & (bit("place") | bit("place_word"))
                proper = following.raw[0].isupper() and not following.raw.isupper()
                nameable = nameable or (proper and not following.mask & OF_A_BLOCK)
                if following.number is not None or not following.word[:1].isalpha() or not nameable:
                    break
                taken.append(following.raw)
            if taken:
                return " ".join(taken)
    return None


def _of_one_litre(items: Sequence[Item]) -> bool:
    """Whether one litre is named, with or without its number."""
    return any(
        item.mask & bit("litre") and (at == 0 or items[at - 1].number in (None, 1)) for at, item in enumerate(items)
    )


def share_that_cannot_be(facts: Facts) -> float | None:
    """A share over 100 ("leaf 150"): no slot, but read, so that it can be refused with what is possible."""
    told = [each.value for each in facts.amounts.quantities if each.kind == "percent"]
    told = told or [each.value for each in facts.amounts.bare]
    return told[0] if len(told) == 1 and 100 < told[0] < 1000 else None


def _instead(items: Sequence[Item]) -> float | None:
    """The number of a text that is nothing but "no" and a number: "no 21"."""
    words = [
        item for item in items if item.word[:1].isalnum() and (item.number is not None or item.mask & ~_SAYS_NOTHING)
    ]
    if len(words) != 2 or not words[0].mask & (bit("no") | NOT | bit("wrong")) or not words[1].spelt[:1].isdigit():
        return None
    return words[1].number


_SAYS_NOTHING = bit("filler") | bit("is") | bit("mm")


def extra_slots(facts: Facts, villages: Sequence[str], today: date) -> dict[str, Any]:
    """What else was read that dialogues can use: label strength, pump size, village, feet, that it corrects."""
    extra: dict[str, Any] = {}
    items = facts.items
    litre, gram = bit("litre"), bit("gram")
    for at, item in enumerate(items):
        if item.number is None:
            continue
        following = items[at + 1 : at + 5]
        units = [each.mask for each in following]
        if units and units[0] & gram and any(mask & litre for mask in units[1:]):
            extra["grams_per_litre"] = item.number
        elif units and units[0] & gram and _of_one_litre(items[max(0, at - 4) : at]):
            extra["grams_per_litre"] = item.number  # "in 1 litre 390 gram"
        elif units and units[0] & bit("percent") and (facts.has(bit("label")) or facts.has(bit("ethephon"))):
            extra.setdefault("grams_per_litre", item.number * 10)
            extra.setdefault("strength_from_percent", True)
        elif at and items[at - 1].mask & bit("label") and not (units and units[0] & ANY_UNIT):
            extra["grams_per_litre"] = item.number
        if (
            units
            and units[0] & litre
            and (
                any(mask & bit("container") for mask in units[1:3])
                or any(each.mask & bit("container") for each in items[max(0, at - 2) : at])
            )
        ):
            extra["pump_l"] = item.number
    if facts.has(bit("flower")) and facts.has(bit("want")):
        extra["flowering"] = True
    if any(item.mask & bit("i_am") for item in items) and _name_after_cue(facts):
        extra["own_name"] = True  # who says so gives his own name, not a block's
    free = [each for each in facts.amounts.bare if not items[each.at].used]
    if len(facts.blocks) > 1 and len(free) == len(facts.blocks):
        extra["of_each"] = [_number(each.value) for each in free]  # "block 1: 90, block 2: 70", asked which block
    if (instead := _instead(items)) is not None:
        extra["instead"] = _number(instead)
    rest = [at for at, item in enumerate(items) if item.mask & (bit("stopped_water") | bit("rest") | bit("halt"))]
    dated = [day for day in facts.days if day.kind in ("day", "offset", "either", "weekday")]
    if rest and dated:
        day = min(dated, key=lambda day: min(2 * abs(day.at - at) + (day.at < at) for at in rest))
        begun = resolve(day, today, -1)
        if begun is not None:
            extra["rest_day"] = begun.isoformat()
    areas = facts.amounts.of("area")
    if len(areas) == 1:
        extra["area_typed_ha"] = areas[0]
    if any(facts.amounts.spacings_ft):
        extra["spacing_ft"] = facts.amounts.spacings_ft[0]
    if facts.amounts.refused:
        extra["corrects"] = True
    village = _village(facts, villages)
    if village:
        extra["village"] = village
    return extra


def _village(facts: Facts, villages: Sequence[str]) -> str | None:
    words = [plain(item.raw) for item in facts.items]
    for village in villages:
        parts = plain(village).split()
        for at in range(len(words) - len(parts) + 1):
            if words[at : at + len(parts)] == parts:
                return village
    return None
