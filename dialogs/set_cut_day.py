"""Set or move the day of the cut: written at once, then told what hangs on it.

grower   cut 4 jan
cutday   Kept: cut Mon 4 Jan, block 1. Stop water Fri 20 Nov, leaf spray Thu 17 Dec, ... Rain can move these. UNDO.
cutday   Is all fruit picked from block 1? YES or NO.
grower   yes
cutday   When was block 1 last cut? Send month and year, e.g. JAN 2026. Or NO if never.
grower   jan 2026
cutday   Kept: fruit picked, last cut Jan 2026, block 1. UNDO if wrong.

A season or a month wanted for flowers is counted back to the cut, and asked before it is set. What the questions
find only warns.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from typing import Any

from dialogs.answers import about, coming_day, listed, meant, own_blocks, which_block
from dialogs.block_facts import first_of, old_enough_from
from dialogs.dialog import Ask, AskAgain, Dialog, Filled, Outcome, Refused, Reply, told
from dialogs.farm import Farm, NewEntry
from service.orchard.block import Block, forcing_age
from service.orchard.figures import table
from service.orchard.plan import Plan
from service.orchard.season import (
    cut_for_flowers_in,
    cut_for_season,
    first_possible_cut,
    months_since_last_cut,
)

LONGEST_DELAY_DAYS = 200
# The jobs that a new cut day is told with.
BEFORE_THE_CUT = ("rest_start", "defoliate", "leaf_check", "copper", "cut")


def _coming_days(value: Any, filled: Filled, farm: Farm) -> list[str]:
    """A day, or one for each block in the order told; a bare day is one of the month that is asked about."""
    if filled.get("day_of_month") and _a_month_to_cut_in(filled, farm):
        try:
            value = date.fromisoformat(f"{filled['month']}-{filled['day_of_month']:02}").isoformat()
        except ValueError:
            raise AskAgain("set_cut_day.which_day_in", month=filled["month"]) from None
    days = [coming_day(day, filled, farm) for day in listed(value)]
    if len(days) > 1 and len(days) != len(filled.get("block") or ()):
        raise AskAgain("set_cut_day.which_day")
    return days


def _coming_month(value: Any, filled: Filled, farm: Farm) -> str | None:
    """A month still to come; a past one says nothing, and the day is asked."""
    month = str(listed(value)[0])
    return month if month >= f"{farm.today:%Y-%m}" else None


def _possible_delay(value: Any, filled: Filled, farm: Farm) -> int:
    days = int(listed(value)[0])
    if not 1 <= days <= LONGEST_DELAY_DAYS:
        raise AskAgain("set_cut_day.which_day")
    return days


def _no_day_follows(filled: Filled, farm: Farm) -> bool:
    """Nothing told that a day can be counted from."""
    return not filled.get("season") and not filled.get("delay_days") and not filled.get("month")


def _a_month_to_cut_in(filled: Filled, farm: Farm) -> bool:
    return bool(filled.get("month")) and not filled.get("flowering") and not filled.get("delay_days")


def _is_counted_back(filled: Filled, farm: Farm) -> bool:
    """Not the cut was told but when flowers are wanted; a day beside it is theirs, not the cut's."""
    if filled.get("flowering"):
        return bool(filled.get("month") or filled.get("date"))
    return bool(filled.get("season")) and not filled.get("date")


def _counted_days(filled: Filled, farm: Farm) -> Mapping[str, Any]:
    numbers = meant(filled, farm)
    return {"blocks": numbers, "dates": sorted({day.isoformat() for day in _days(numbers, filled, farm)})}


def _another_month(filled: Filled, farm: Farm) -> bool:
    """A day told for a cut in a month, and it is not of that month."""
    return _a_month_to_cut_in(filled, farm) and any(day[:7] != filled["month"] for day in filled.get("date") or ())


def _day_and_month(filled: Filled, farm: Farm) -> Mapping[str, Any]:
    return {"date": filled["date"][0], "month": filled["month"]}


def _the_month(filled: Filled, farm: Farm) -> Mapping[str, Any]:
    return {"month": filled["month"]}


def _set(filled: Filled, farm: Farm) -> Outcome:
    if filled.get("confirm") is False:
        raise Refused("lost.say_again")
    numbers = meant(filled, farm)
    days = dict(zip(numbers, _days(numbers, filled, farm), strict=True))
    young = [number for number in numbers if forcing_age(farm.blocks[number], days[number]) == "refused"]
    old_enough = [number for number in numbers if number not in young]
    refusals = tuple(_too_young(farm.blocks[number]) for number in young)
    if not old_enough:
        return Outcome(refusals)
    season = {"season": filled["season"]} if filled.get("season") else {}
    entries = tuple(
        NewEntry("cut_set", number, farm.sent_on, {"date": days[number].isoformat(), **season}) for number in old_enough
    )
    after = farm.after(entries)
    replies = [*refusals, _told(old_enough, days, after)]
    barely = [number for number in old_enough if forcing_age(farm.blocks[number], days[number]) == "warned"]
    if barely:
        replies.append(Reply("set_cut_day.young", about(barely, farm)))
    return Outcome(tuple(replies), entries, then=("before_cut", {"block": old_enough}))


def _days(numbers: Sequence[str], filled: Filled, farm: Farm) -> list[date]:
    """The day set for each block."""
    if filled.get("date") and not filled.get("flowering"):
        days = [date.fromisoformat(day) for day in filled["date"]]
        return days if len(days) == len(numbers) else days[:1] * len(numbers)
    return [_counted(farm.blocks[number], filled, farm) for number in numbers]


def _counted(block: Block, filled: Filled, farm: Farm) -> date:
    plan = farm.plan(block.number)
    if filled.get("delay_days"):
        if plan is None or plan.ended:
            raise Refused("set_cut_day.none_to_move", block=block.number)
        return plan.cut + timedelta(filled["delay_days"])
    if filled.get("flowering"):
        wanted = filled.get("month") or filled["date"][0][: len("YYYY-MM")]
        year, month = wanted.split("-")
        cut = cut_for_flowers_in(int(year), int(month), farm.settings)
        if cut < farm.today:
            raise Refused("set_cut_day.too_late_for", month=wanted)
        return cut
    begun = plan.rest_start if plan is not None and plan.rest_reported and not plan.ended else farm.today
    earliest, _ = first_possible_cut(max(begun, farm.today - timedelta(60)), block.soil, farm.settings)
    return cut_for_season(filled["season"], max(earliest, farm.today), farm.settings)


def _too_young(block: Block) -> Reply:
    months = table("ages")["first_forced_crop_least_months"].value
    return Reply(
        "set_cut_day.too_young",
        {"block": block.number, "months": months, "date": old_enough_from(block, months).isoformat()},
    )


def _told(numbers: Sequence[str], days: Mapping[str, date], after: Farm) -> Reply:
    """The echo: what was asked for, and the plan that follows from it."""
    plans = {number: after.plan(number) for number in numbers}
    if len(numbers) == 1 or len({(days[number], _dates(plans[number])) for number in numbers}) == 1:
        number = numbers[0]
        return _of_one(days[number], plans[number], about(numbers, after))
    items = tuple(_item(number, days[number], plans[number]) for number in numbers)
    return Reply("set_cut_day.kept_several", about(numbers, after), items)


def _dates(plan: Plan | None) -> tuple[tuple[str, Any], ...]:
    return tuple(sorted(plan.values().items())) if plan else ()


def _of_one(day: date, plan: Plan | None, blocks: Mapping[str, Any]) -> Reply:
    values = {**(plan.values() if plan else {}), **blocks, "date": day.isoformat()}
    if plan is None:
        return Reply("set_cut_day.kept_day", values)
    values["last_good_day"] = plan.last_good_day.isoformat()
    if plan.season_missed and plan.held:  # a day past the season that the grower has chosen is told as any other
        return Reply("set_cut_day.kept_missed", values)
    if not all(job in values for job in BEFORE_THE_CUT):
        return Reply("set_cut_day.kept_short", values)
    if plan.cut > day:
        return Reply("set_cut_day.kept_later", values)
    return Reply("set_cut_day.kept_in_rest" if plan.rest_reported else "set_cut_day.kept", values)


def _item(number: str, day: date, plan: Plan | None) -> Mapping[str, Any]:
    values = {**(plan.values() if plan else {}), "block": number, "date": day.isoformat()}
    if plan is None:
        return {"key": "set_cut_day.kept_several.item", **values}
    key = "set_cut_day.kept_several.item_later" if plan.cut > day else "set_cut_day.kept_several.item"
    return {"key": key, **values}


# What is asked after it


def _last_cut(number: str, farm: Farm) -> date | None:
    cuts = [e.day for e in farm.about(number) if e.kind == "done" and e.values.get("job") == "cut"]
    return max(cuts, default=None)


def _fruit_is_picked(number: str, farm: Farm) -> bool:
    """Whether the grower has said so since the last cut on file."""
    last_cut = _last_cut(number, farm)
    told = [e for e in farm.about(number) if e.kind == "fruit" and (last_cut is None or e.day > last_cut)]
    return bool(told) and bool(told[-1].values["picked"])


def _months_between(number: str, farm: Farm) -> int | None:
    """Months from the last cut known to the one that is set."""
    plan = farm.plan(number)
    return None if plan is None else months_since_last_cut(farm.about(number), plan.cut)


def _fruit_unknown(filled: Filled, farm: Farm) -> bool:
    unknown = any(not _fruit_is_picked(number, farm) for number in filled["block"])
    return unknown and not filled.get("month")


def _last_cut_unknown(filled: Filled, farm: Farm) -> bool:
    return any(_months_between(number, farm) is None for number in filled["block"])


def _past_month(value: Any, filled: Filled, farm: Farm) -> str | None:
    """A past month. A year alone will do where even its December is long enough ago; else the month is asked."""
    month = str(listed(value)[0])
    if month > f"{farm.today:%Y-%m}":
        raise AskAgain("before_cut.month_to_come", month=month)
    if len(month) == len("YYYY"):
        plan = farm.plan(filled["block"][0])
        cut = plan.cut if plan else farm.today
        if (cut.year - int(month)) * 12 + cut.month - 12 < _least_months():
            raise AskAgain("before_cut.which_month", year=month)
        return None
    return month


def _picked_month(value: Any, filled: Filled, farm: Farm) -> str | None:
    month = str(listed(value)[0])
    return month if month <= f"{farm.today:%Y-%m}" else None


def _least_months() -> int:
    return int(table("ages")["between_forcings_least_months"].value)


def _blocks(filled: Filled, farm: Farm) -> Mapping[str, Any]:
    return {"blocks": filled["block"]}


def _keep_facts(filled: Filled, farm: Farm) -> Outcome:
    numbers: list[str] = filled["block"]
    facts: list[Mapping[str, Any]] = []
    entries: list[NewEntry] = []
    picked = filled.get("picked", True if filled.get("month") else None)
    if picked is not None:
        values = {"picked": picked, **({"month": filled["month"]} if picked and filled.get("month") else {})}
        entries += [NewEntry("fruit", number, farm.sent_on, values) for number in numbers]
        facts.append({"key": "cut_fact.picked" if picked else "cut_fact.hangs"})
    if filled.get("last_cut"):
        entries += [NewEntry("last_cut", number, farm.sent_on, {"month": filled["last_cut"]}) for number in numbers]
        facts.append({"key": "cut_fact.last_cut", "month": filled["last_cut"]})
    replies = []
    if entries:
        values = {**about(numbers, farm), "facts": facts, "date": farm.sent_on.isoformat()}
        replies.append(Reply("before_cut.kept", values))
    after = farm.after(entries)
    often = [n for n in numbers if (gap := _months_between(n, after)) is not None and gap < _least_months()]
    if often:
        replies.append(Reply("before_cut.too_often", {**about(often, farm), "months": _least_months()}))
    if picked is False:
        replies.append(Reply("before_cut.fruit_hangs", about(numbers, farm)))
    if not replies and "last_cut" in filled:  # answered by "never": there is nothing to keep
        replies.append(Reply("thanks"))
    return Outcome(tuple(replies), tuple(entries))


SET_CUT_DAY = Dialog(
    "set_cut_day",
    asks=(
        which_block(),
        told("season", first_of),
        told("delay_days", _possible_delay),
        told("month", _coming_month),
        Ask("date", "set_cut_day.which_day", _coming_days, when=_no_day_follows),
        Ask("date", "set_cut_day.which_day_in", _coming_days, when=_a_month_to_cut_in, values=_the_month),
        Ask("confirm", "set_cut_day.is_it", when=_another_month, values=_day_and_month),
        Ask("confirm", "set_cut_day.counted", when=_is_counted_back, values=_counted_days),
    ),
    finish=_set,
    asks_itself=_is_counted_back,
)
BEFORE_CUT = Dialog(
    "before_cut",
    asks=(
        told("block", own_blocks),
        told("month", _picked_month),
        Ask("picked", "before_cut.is_picked", when=_fruit_unknown, values=_blocks, reads="confirm"),
        Ask(
            "last_cut",
            "before_cut.last_cut",
            _past_month,
            when=_last_cut_unknown,
            values=_blocks,
            reads="planted",
            optional=True,
        ),
    ),
    finish=_keep_facts,
    takes=frozenset({"log_harvest"}),  # "picked in sept" says when
)
