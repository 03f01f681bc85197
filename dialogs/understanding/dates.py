"""Days as growers name them: read first, resolved later, when the task says whether they look back or ahead."""

from calendar import monthrange
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta

from dialogs.lexicon import bit
from dialogs.understanding.tokens import Item

WEEKDAYS = [bit(f"weekday_{n}") for n in range(7)]  # Monday is 0
MONTHS = [bit(f"month_{n}") for n in range(1, 13)]
ANY_WEEKDAY = sum(WEEKDAYS)
ANY_MONTH = sum(MONTHS)
DAY, WEEK, MONTH, YEAR = bit("day"), bit("week"), bit("month_word"), bit("year")
DATE_WORD = bit("date_word")
DATE_ARTICLE = bit("date_article")  # an article that a day of the month may follow ("el 15"), but also a block
DATE_BEFORE = bit("date_before")  # a word for day that before a number names a date, after it counts days
ORDINAL = bit("ordinal")
AGO_BEFORE = bit("ago_before")  # languages that say "ago" before the number
AGO, AFTER, LATER, MORE = bit("ago"), bit("after"), bit("later"), bit("more_days")
ON = bit("on")
IN = bit("in")
FROM = bit("from")
OF = bit("of")
JOB = bit("job")
FIXED_DAYS = (
    (bit("today"), 0),
    (bit("yesterday"), -1),
    (bit("tomorrow"), 1),
    (bit("day_before_yesterday"), -2),
    (bit("day_after_tomorrow"), 2),
)
ANY_FIXED = sum(mask for mask, _ in FIXED_DAYS)
EITHER_WAY = ((bit("kal"), 1), (bit("parso"), 2))
ANY_EITHER = bit("kal") | bit("parso")
NEXT_WEEK, NEXT_MONTH, LAST_MONTH = bit("next_week"), bit("next_month"), bit("last_month")
NEXT_YEAR, LAST_YEAR, THIS_YEAR = bit("next_year"), bit("last_year"), bit("this_year")
MEASURE = 0
for _name in (
    "mm cm inch litre millilitre gram kilo quintal tonne acre hectare guntha feet metre hour minute percent ppm "
    "plant people container crate by numero other_area"
).split():
    MEASURE |= bit(_name)
CLOCK, AM, PM = bit("clock"), bit("am"), bit("pm")
TIMES_OF_DAY = tuple((bit(name), name) for name in ("morning", "noon", "evening", "night"))
ANY_TIME = sum(mask for mask, _ in TIMES_OF_DAY)
NAMES = bit("place") | bit("place_word") | bit("ordinal") | bit("all") | bit("both")
NUMBERED = bit("block") | bit("field_word")
RANGE = bit("to") | bit("or")
PLANNED = bit("cut") | bit("postpone_verb") | bit("will")
FARTHEST = {"offset": 3660, "delay": 3660, "years_back": 100}  # farther nobody counts [days, years]
MOST_BLOCKS = 12  # a higher number after an article is a day of the month, not a block


@dataclass(frozen=True)
class Day:
    """A day, month or delay as named.

    kind: "offset" (days from today) · "either" (that many days back or ahead) · "weekday" · "day" (with month and
    year as far as told) · "month" · "delay" (in days) · "years_back"
    """

    kind: str
    value: int = 0
    month: int | None = None
    year: int | None = None
    at: int = field(default=0, compare=False)  # the item it begins at
    month_first: bool = field(default=False, compare=False)

    def direction(self, today: date) -> int:
        """-1 where it can only be past, 1 where it can only be to come, else 0."""
        if self.kind == "offset":
            return (self.value > 0) - (self.value < 0)
        if self.kind == "delay":
            return 1
        return 0


def find_days(items: list[Item], today: date, asking: str | None) -> tuple[list[Day], list[str]]:
    """The days of a text in the order typed, and its times of day; the items they stand in are marked as used."""
    days: list[Day] = []
    refused: list[bool] = []
    times: list[str] = []
    if asking == "name":
        return days, times
    at = 0
    while at < len(items):
        day, end = _day_at(items, at, today, asking)
        if day is None and days and days[-1].month is not None and _another_day(items, at):
            day, end = Day("day", int(items[at].number or 0), days[-1].month, days[-1].year), at + 1
        if day is not None and abs(day.value) > FARTHEST.get(day.kind, abs(day.value)):
            for item in items[at:end]:
                item.used = True
            at = end
            continue
        if day is not None:
            days.append(replace(day, at=at))
            refused.append(_refused_at(items, at, end))
            for item in items[at:end]:
                item.used = True
                if day.kind == "delay":
                    item.mask &= ~LATER  # "4 days later" says when, not that it is put off
            if day.kind == "day" and at and _is(items[at - 1], DATE_BEFORE):
                items[at - 1].mask &= ~DAY  # "rain 12 on day 5 december": not 12 days
            at = end
            continue
        clock, end = _clock_at(items, at)
        if end > at:
            if clock:
                times.append(clock)
            for item in items[at:end]:
                item.used = True
            at = end
            continue
        at += 1
    for item in items:
        for mask, name in TIMES_OF_DAY:
            if item.mask & mask:
                times.append(name)
    if any(refused) and not all(refused):
        days = [day for day, is_refused in zip(days, refused, strict=True) if not is_refused]
    return days, times


def _another_day(items: list[Item], at: int) -> bool:
    """Whether a number is one more day of the month named before: "18 july 35 and 19 la 12 mm"."""
    value = _whole(items[at])
    after = items[at + 1] if at + 1 < len(items) else None
    return value is not None and MOST_BLOCKS < value <= 31 and items[at].spelt.isdigit() and _is(after, ON)


def _refused_at(items: list[Item], start: int, end: int) -> bool:
    """Whether a day is said not to be meant: "19 june not 16 june", "mangal nahi budh"."""
    before = start - 1
    while before >= 0 and items[before].mask & (ON | DATE_WORD):
        before -= 1
    if before >= 0 and items[before].mask & bit("not_next"):
        return True
    after = end
    while after < len(items) and items[after].mask & (ON | DATE_WORD):
        after += 1
    if after >= len(items) or not items[after].mask & bit("not_prev"):
        return False
    if after + 1 == len(items) or items[after + 1].raw == ",":
        return True  # counts only where another day is named
    following = items[after + 1]
    return bool(following.mask & (ANY_WEEKDAY | ANY_FIXED | ANY_EITHER | ANY_MONTH)) or (
        following.number is not None
        and after + 2 < len(items)
        and bool(items[after + 2].mask & (ANY_MONTH | DATE_WORD | DAY | WEEK))
    )


def _is(item: Item | None, mask: int) -> bool:
    return item is not None and bool(item.mask & mask)


def _whole(item: Item | None) -> int | None:
    """The value of an unused item that is a whole number in digits or words."""
    if item is None or item.used or item.number is None or item.number != int(item.number):
        return None
    return int(item.number)


def _year_of(item: Item | None) -> int | None:
    value = _whole(item)
    if value is not None and item is not None:
        if 1990 <= value <= 2060:
            return value
        if len(item.spelt) == 2 and item.spelt.isdigit() and 10 <= value <= 60:
            return 2000 + value
    return None


def _counts_something(items: Sequence[Item], at: int, today: date) -> bool:
    """Whether two digits that may be a year count something: "aug 3 12 mm", or are of a year too far ahead."""
    if len(items[at].spelt) != 2:
        return False
    after = items[at + 1] if at + 1 < len(items) else None
    return _is(after, MEASURE | ON | IN) or 2000 + int(items[at].number or 0) > today.year + 1


def valid(year: int, month: int, day: int) -> bool:
    """Whether there is such a day."""
    return 1 <= month <= 12 and 1 <= day <= monthrange(year, month)[1]


def _month_in(item: Item | None) -> int | None:
    if item is None or not item.mask & ANY_MONTH:
        return None
    for number, mask in enumerate(MONTHS, 1):
        if item.mask & mask:
            return number
    return None


def _day_at(items: list[Item], at: int, today: date, asking: str | None) -> tuple[Day | None, int]:
    item = items[at]

    def look(step: int) -> Item | None:
        return items[at + step] if 0 <= at + step < len(items) else None

    if item.number is not None or (item.word[:1].isdigit() and not item.mask):
        return _numeric_day(items, at, today, asking)
    mask = item.mask
    if not mask:
        return None, at
    if mask & ANY_FIXED:
        for fixed, offset in FIXED_DAYS:
            if mask & fixed:
                return Day("offset", offset), at + 1
    if mask & ANY_EITHER:
        for either, offset in EITHER_WAY:
            if mask & either:
                return Day("either", offset), at + 1
    month = _month_in(item)
    if month is not None:
        number, step = look(1), 1
        if _is(number, DATE_WORD | OF) and _whole(look(2)) is not None:
            number, step = look(2), 2
        value = _whole(number)
        named_at = step + 1
        while _is(look(named_at), ORDINAL):
            named_at += 1
        following = look(named_at)
        # "in june 2nd block", but "june 5 block 2" is a day and a block
        names = _is(following, NUMBERED | JOB) and _whole(look(named_at + 1)) is None
        if value is not None and 1 <= value <= 31 and not names and not _is(following, MEASURE) and number is not None:
            year_at = step + 1
            while _is(look(year_at), ORDINAL) or _mark(look(year_at)) == ",":
                year_at += 1
            year = _year_of(look(year_at))
            if year is not None and _counts_something(items, at + year_at, today):
                year = None  # "aug 3 12 mm"
            short = len(number.spelt) == 2 and value > 12 and asking == "planted"
            if short:
                return Day("month", month=month, year=2000 + value), at + step + 1
            return Day("day", value, month, year, 0, True), at + (year_at + 1 if year else step + 1)
        year_step = 1
        while _is(look(year_step), IN | OF | MONTH | YEAR) or _mark(look(year_step)) == ",":
            year_step += 1
        year = _year_of(look(year_step))
        if year is None and _is(look(1), LAST_YEAR):
            return Day("month", month=month, year=today.year - 1), at + 2
        return Day("month", month=month, year=year), at + (year_step + 1 if year else 1)
    if mask & ANY_WEEKDAY:
        for days_after_monday, weekday in enumerate(WEEKDAYS):
            if mask & weekday:
                return Day("weekday", days_after_monday), at + 1
    if mask & NEXT_WEEK:
        return Day("delay", 7), at + 1
    if mask & (NEXT_MONTH | LAST_MONTH):
        ahead = 1 if mask & NEXT_MONTH else -1
        index = today.year * 12 + today.month - 1 + ahead
        return Day("month", month=index % 12 + 1, year=index // 12), at + 1
    if mask & (WEEK | MONTH | YEAR):
        one = _spell(items, at, 1, at)
        if one is not None:
            return one
        if asking == "delay_days" and len(items) <= 2 and not mask & YEAR:
            return Day("delay", 7 if mask & WEEK else 30), at + 1
        named = _whole(look(1))
        counted = at > 0 and items[at - 1].number is not None
        if mask & MONTH and not counted and named is not None and 1 <= named <= 12 and not _is(look(2), MEASURE | DAY):
            year_at = 3 if _is(look(2), YEAR) else 2
            year = _year_of(look(year_at))
            return Day("month", month=named, year=year), at + (year_at + 1 if year else 2)  # "month 3 year 2017"
    if mask & LAST_YEAR:
        ahead = 1
        while _is(look(ahead), IN | OF | MONTH):
            ahead += 1
        named_day, end = _day_at(items, at + ahead, today, asking) if look(ahead) else (None, at)
        if named_day is not None and named_day.month is not None and named_day.year is None:
            return replace(named_day, year=today.year - 1), end  # "last year january", "last year on 5 january"
        if asking == "planted":
            return Day("years_back", 1), at + 1
    if mask & (DATE_WORD | DATE_BEFORE):
        value = _whole(look(1))
        if (
            value is not None
            and 1 <= value <= 31
            and not _is(look(2), MEASURE | ANY_MONTH | DAY | WEEK | YEAR)
            and not (_is(look(2), MONTH) and _whole(look(3)) is not None)
            and not (_is(look(2), OF) and _month_in(look(3)))
            and _mark(look(2)) not in "/-"
        ):
            return Day("day", value), at + 2
    return None, at


def _mark(item: Item | None) -> str:
    """The mark an item is; a space where it is none."""
    return item.raw if item is not None and len(item.raw) == 1 and not item.raw.isalnum() else " "


def _spell(items: list[Item], unit_at: int, count: float, start: int) -> tuple[Day, int] | None:
    """A stretch of time with what tells its side: "3 days ago", "after 2 weeks", "5 saal purana"."""
    unit = items[unit_at].mask
    after = items[unit_at + 1] if unit_at + 1 < len(items) else None
    after_next = items[unit_at + 2] if unit_at + 2 < len(items) else None
    before = items[start - 1] if start else None
    length = 1 if unit & DAY else 7 if unit & WEEK else 30
    if unit & YEAR:
        return None
    end = unit_at + 1
    if _is(after, AGO) or (_is(after, bit("filler") | FROM) and _is(after_next, AGO)) or _is(before, AGO_BEFORE):
        end += 1 if _is(after, AGO) else 2 if _is(after_next, AGO) else 0
        return Day("offset", -round(count * length)), end
    if (
        _is(after, AFTER | LATER | MORE)
        or (_is(after, bit("filler") | OF | FROM) and _is(after_next, AFTER | LATER))
        or _is(before, AFTER | IN | MORE | bit("by_days") | LATER)
    ):
        end += 1 if _is(after, AFTER | LATER | MORE) else 0
        return Day("delay", round(count * length)), end
    return None


def _numeric_day(items: list[Item], at: int, today: date, asking: str | None) -> tuple[Day | None, int]:
    item = items[at]

    def look(step: int) -> Item | None:
        return items[at + step] if 0 <= at + step < len(items) else None

    if item.number is None and item.raw.count(".") == 2:  # 12.06.2025
        parts = item.raw.split(".")
        day = _from_parts([int(part) for part in parts if part.isdigit()], parts)
        return (day, at + 1) if day else (None, at)
    value = _whole(item)
    if value is None:
        if item.number is not None and "." in item.spelt and asking == "date":
            head, _, tail = item.spelt.partition(".")
            if head and tail and valid(2024, int(tail), int(head)):
                return Day("day", int(head), int(tail)), at + 1
        if item.number is not None and not item.used:
            unit_at = at + 1
            if unit_at < len(items) and items[unit_at].mask & (DAY | WEEK | MONTH):
                spell = _spell(items, unit_at, item.number, at)
                if spell:
                    return spell
        return None, at
    second, third = look(1), look(2)
    mark = _mark(second)
    if mark in "/-" and third is not None and _whole(third) is not None:
        fifth = look(4)
        if _mark(look(3)) == mark and fifth is not None and _whole(fifth) is not None:
            day = _from_parts(
                [value, int(third.number or 0), int(fifth.number or 0)], [item.spelt, third.spelt, fifth.spelt]
            )
            if day is not None:
                return day, at + 5
        elif mark == "/" or asking == "date" or _is(look(-1), ON | DATE_WORD) or _is(look(3), ON | DATE_WORD):
            last = int(third.number or 0)
            if asking == "planted" and 1 <= value <= 12 and 1990 <= last <= 2060:
                return Day("month", month=value, year=last), at + 3
            if item.spelt and valid(2024, last, value) and not _is(look(3), MEASURE):
                return Day("day", value, last), at + 3
    if 1 <= value <= 31:
        step = 1
        while _is(look(step), ORDINAL | DATE_WORD | OF | bit("numero")) and not _month_in(look(step)):
            step += 1
        month = _month_in(look(step))
        if _is(look(-1), NUMBERED) and step == 1 and (_whole(look(step + 1)) is not None or not _named(look(-2))):
            month = None  # "block 2 nov 10th"
        if month is not None and not _is(second, MEASURE):
            year_at = step + 1
            if _mark(look(year_at)) in "/-,":
                year_at += 1
            if _is(look(year_at), OF) and (_whole(look(year_at + 1)) or 0) > 99:  # "4 de enero de 2025"
                year_at += 1
            year = _year_of(look(year_at))
            if year is not None and _counts_something(items, at + year_at, today):
                year = None
            if year is None and _is(look(step + 1), LAST_YEAR):
                return Day("day", value, month, today.year - 1), at + step + 2
            return Day("day", value, month, year), at + (year_at + 1 if year else step + 1)
        if mark in "/-" and _month_in(third) is not None:  # 5-jan-26
            year = _year_of(look(4)) if _mark(look(3)) in "/-" else None
            return Day("day", value, _month_in(third), year), at + (5 if year else 3)
        if _is(second, DATE_WORD) and not _is(third, DAY) and _mark(look(3)) not in "/-":
            return Day("day", value), at + 2
        dated = asking == "date" or _is(look(-1), ON | FROM | DATE_WORD | RANGE | bit("by_days"))
        if _is(second, ORDINAL) and dated and not _is(third, bit("block") | bit("field_word") | bit("job") | MEASURE):
            return Day("day", value), at + 2
        if asking == "date" and len(items) <= 2 and item.spelt:
            return Day("day", value), at + 1
        if item.spelt and value > MOST_BLOCKS and _is(second, ON) and any(each.mask & PLANNED for each in items):
            return Day("day", value), at + 1
        if asking == "date" and item.spelt and _is(look(-1), DATE_ARTICLE) and not _is(second, MEASURE | DAY | WEEK):
            return Day("day", value), at + 1
        open_to_days = asking in (None, "date", "confirm")
        counted = _is(second, MEASURE | ORDINAL | DAY | WEEK | YEAR)
        counted = counted or (_is(second, NUMBERED) and _whole(third) is None)
        if open_to_days and item.spelt and _is(look(-1), DATE_ARTICLE) and not counted:
            if value > MOST_BLOCKS or any(each.mask & PLANNED for each in items):
                return Day("day", value), at + 1
    if _is(second, MORE) and second is not None and not _is(look(-1), NUMBERED):  # "two more days"
        if _is(third, DAY | WEEK | MONTH):
            length = 1 if _is(third, DAY) else 7 if _is(third, WEEK) else 30
            return Day("delay", value * length), at + 3
        if " " in second.word:  # a phrase that has the word for days in it
            return Day("delay", value), at + 2
    if _is(second, DATE_BEFORE) and third is not None and (_is(look(-1), NUMBERED) or _month_in(look(3)) is not None):
        return None, at  # "block 1 on day 5", "rain 12 on day 5 december"
    if _is(second, DAY | WEEK | MONTH):
        spell = _spell(items, at + 1, value, at)
        if spell:
            return spell
        if asking == "delay_days" or _postponed(items):
            length = 1 if _is(second, DAY) else 7 if _is(second, WEEK) else 30
            return Day("delay", value * length), at + 2
        item.used = True
        return None, at
    if _is(second, YEAR):
        item.used = True
        return Day("years_back", value), at + 2
    year = _year_of(item)
    month_at = 2 if _is(second, OF | IN) else 1  # "2019 ke july"
    named_month = _month_in(look(month_at))
    if year is not None and year == value and named_month is not None:
        return Day("month", month=named_month, year=year), at + month_at + 1
    if (
        year is not None
        and year == value
        and asking in (None, "planted", "date")
        and (item.spelt or asking == "planted")
        and not _is(second, MEASURE | bit("rupee"))
    ):
        return Day("month", year=year), at + 1
    return None, at


def _named(item: Item | None) -> bool:
    """Whether an item before the word for block may be the block's number or name."""
    return item is not None and (item.number is not None or not item.known or item.mask & NAMES != 0)


def _postponed(items: Sequence[Item]) -> bool:
    return any(item.mask & (bit("postpone_verb") | bit("move")) for item in items)


def _from_parts(values: Sequence[int], spelt: Sequence[str]) -> Day | None:
    """Day, month and year of three numbers; the year may come first where it has four digits."""
    if len(values) != 3:
        return None
    if len(spelt[0]) == 4:
        year, month, day = values
    else:
        day, month, year = values
        if year < 100:
            year += 2000
    if 1990 <= year <= 2100 and valid(year, month, day):
        return Day("day", day, month, year)
    return None


def _clock_at(items: list[Item], at: int) -> tuple[str | None, int]:
    """A time by the clock, consumed so that it counts nothing; its part of the day where am or pm is plain."""
    item = items[at]
    hour: float | None = item.number
    timed = False
    if item.mask & CLOCK and hour is None and at + 1 < len(items):  # "a las 6"
        told = items[at + 1]
        if (told.number is not None and not told.used and 0 <= told.number <= 24) or ":" in told.raw:
            after = items[at + 2] if at + 2 < len(items) else None
            listed = _is(after, bit("and")) and _whole(items[at + 3] if at + 3 < len(items) else None) is not None
            if not (listed or _is(after, MEASURE | NUMBERED)):
                part, end = _clock_at(items, at + 1)
                return part, max(end, at + 2)
    before_colon, colon, _ = item.raw.partition(":")
    if hour is None and colon and before_colon.isdigit():  # not "1,6:30"
        hour, timed = float(before_colon), True
    if hour is None or item.used or not 0 <= hour <= 24:
        return None, at
    second = items[at + 1] if at + 1 < len(items) else None
    if second is not None and second.mask & (AM | PM):
        if second.mask & AM:
            return "morning", at + 2
        return ("noon" if hour == 12 or hour < 4 else "evening" if hour < 8 else "night"), at + 2
    if second is not None and second.mask & CLOCK:
        return None, at + 2
    third = items[at + 2] if at + 2 < len(items) else None
    if at and hour <= 12 and _is(items[at - 1], IN) and _is(second, OF) and _is(third, ANY_TIME):
        return None, at + 2  # "at 10 in the morning"
    if at and hour <= 12 and _is(second, ON) and any(items[at - 1].mask & part for part, _ in TIMES_OF_DAY):
        return None, at + 2
    return (None, at + 1) if timed else (None, at)


def resolve(day: Day, today: date, direction: int) -> date | None:
    """The date of a day. direction: -1 the past, 1 the future, 0 the nearest either way."""
    if day.kind == "offset":
        return today + timedelta(days=day.value)
    if day.kind == "either":
        return today + timedelta(days=day.value if direction > 0 else -day.value)
    if day.kind == "weekday":
        if direction > 0:
            return today + timedelta(days=(day.value - today.weekday() - 1) % 7 + 1)
        return today - timedelta(days=(today.weekday() - day.value - 1) % 7 + 1)
    if day.kind != "day":
        return None
    if day.month is not None:
        if day.year is not None:
            return date(day.year, day.month, day.value) if valid(day.year, day.month, day.value) else None
        candidates = [
            date(year, day.month, day.value)
            for year in range(today.year - 4, today.year + 5)
            if valid(year, day.month, day.value)
        ]
    else:
        candidates = []
        for index in range(today.year * 12 + today.month - 4, today.year * 12 + today.month + 4):
            year, month = divmod(index, 12)
            if valid(year, month + 1, day.value):
                candidates.append(date(year, month + 1, day.value))
    return _nearest(candidates, today, direction)


def _nearest(candidates: Iterable[date], today: date, direction: int) -> date | None:
    fitting = [each for each in candidates if direction == 0 or (each - today).days * direction >= 0]
    return min(fitting, key=lambda each: (abs((each - today).days), each), default=None)


def month_of(day: Day, today: date, direction: int) -> str | None:
    """A month named alone, as YYYY-MM: this month counts as past and as to come."""
    if day.kind != "month" or day.month is None:
        return None
    if day.year is not None:
        return f"{day.year:04d}-{day.month:02d}"
    now = today.year * 12 + today.month - 1
    options = [year * 12 + day.month - 1 for year in (today.year - 1, today.year, today.year + 1)]
    fitting = [each for each in options if direction == 0 or (each - now) * direction >= 0]
    best = min(fitting, key=lambda each: (abs(each - now), each))
    return f"{best // 12:04d}-{best % 12 + 1:02d}"
