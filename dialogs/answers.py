"""What is possible: checks that several dialogues share. Each returns a JSON-able value or raises AskAgain."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from datetime import date
from typing import Any

from dialogs.dialog import Ask, AskAgain, Filled, Refused
from dialogs.farm import Farm

# How far back a grower may report: a log older than this is a slip of the thumb, not a memory.
LONGEST_MEMORY_DAYS = 400


def listed(value: Any) -> list[Any]:
    """One value or several, always as a list."""
    return list(value) if isinstance(value, list | tuple) else [value]


def own_blocks(value: Any, filled: Filled, farm: Farm) -> list[str]:
    """The numbers of the grower's blocks that are meant: by number, by name, or all of them."""
    if not farm.blocks:
        raise Refused("block.none_yet")
    if value == "all":
        return list(farm.blocks)
    numbers = []
    for said in listed(value):
        if said == "all":
            return list(farm.blocks)
        number = block_number(str(said), farm)
        if number is None:
            raise AskAgain("block.unknown", said=str(said)[:20], blocks=list(farm.blocks))
        numbers.append(number)
    return list(dict.fromkeys(numbers))


def one_block(value: Any, filled: Filled, farm: Farm) -> list[str]:
    """A single block, where several cannot be dealt with at once."""
    numbers = own_blocks(value, filled, farm)
    if len(numbers) != 1:
        raise AskAgain("block.one_at_a_time", blocks=list(farm.blocks))
    return numbers


def block_number(said: str, farm: Farm) -> str | None:
    """The block that is meant by a number or a name; None where it is none of the grower's."""
    if said in farm.blocks:
        return said
    named = [number for number, block in farm.blocks.items() if block.name and block.name.lower() == said.lower()]
    return named[0] if len(named) == 1 else None


def several_blocks(filled: Filled, farm: Farm) -> bool:
    return len(farm.blocks) != 1


def which_block(when: Callable[[Filled, Farm], bool] = several_blocks) -> Ask:
    """Which block is meant; with one block nobody is asked."""
    return Ask("block", "block.which", own_blocks, when=when, values=the_blocks)


def the_blocks(filled: Filled, farm: Farm) -> Mapping[str, Any]:
    if not farm.blocks:
        raise Refused("block.none_yet")
    return {"blocks": list(farm.blocks)}


def meant(filled: Filled, farm: Farm) -> list[str]:
    """The blocks of a filled dialogue: the ones told, or the only one."""
    return list(filled.get("block") or farm.blocks)


def past_day(value: Any, filled: Filled, farm: Farm) -> Any:
    """A day on which something can have happened: not to come, and not too long ago."""
    for said in listed(value):
        day = date.fromisoformat(said)
        if day > farm.today:
            raise AskAgain("day.still_to_come", date=said)
        if (farm.today - day).days > LONGEST_MEMORY_DAYS:
            raise AskAgain("day.too_long_ago", date=said)
    return value


def coming_day(value: Any, filled: Filled, farm: Farm) -> Any:
    """A day that can still be planned: today or within about a year."""
    day = date.fromisoformat(listed(value)[0])
    if day < farm.today:
        raise AskAgain("day.is_past", date=day.isoformat())
    if (day - farm.today).days > LONGEST_MEMORY_DAYS:
        raise AskAgain("day.too_far", date=day.isoformat())
    return day.isoformat()


def told_day(filled: Filled, farm: Farm) -> date:
    """The day that a log is about: the one told, else the day on which the text was sent."""
    said = filled.get("date")
    return date.fromisoformat(listed(said)[0]) if said else farm.sent_on


def between(least: float, most: float, key: str) -> Callable[[Any, Filled, Farm], Any]:
    """A number within what is possible; else asked again under `key`, with the range."""

    def check(value: Any, filled: Filled, farm: Farm) -> Any:
        for said in listed(value):
            if not least <= said <= most:
                raise AskAgain(key, least=least, most=most)
        return value

    return check


def about(blocks: Sequence[str], farm: Farm) -> dict[str, Any]:
    """The block values of a reply: the contract's `block`, and the list that the text names."""
    every = set(farm.blocks)
    if len(blocks) == 1:
        return {"block": blocks[0], "blocks": list(blocks)}
    return {"block": "all", "blocks": list(blocks)} if set(blocks) == every else {"blocks": list(blocks)}


def merged(items: Sequence[Mapping[str, Any]], alone: Collection[str] = ()) -> tuple[Mapping[str, Any], ...]:
    """Items that differ in nothing but their block as one: `blocks` are those it is about, `each` the items it stands
    for. alone: keys of items that are never put together."""
    alike: list[list[Mapping[str, Any]]] = []
    for item in items:
        likes = () if item["key"] in alone else alike
        same = next((some for some in likes if _but_for_block(some[0]) == _but_for_block(item)), None)
        if same is None:
            alike.append([item])
        else:
            same.append(item)
    return tuple(
        {**some[0], "blocks": [some[0]["block"]]}
        if len(some) == 1
        else {**_but_for_block(some[0]), "blocks": [item["block"] for item in some], "each": some}
        for some in alike
    )


def _but_for_block(item: Mapping[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in item.items() if name != "block"}


def in_step(filled: Filled, farm: Farm, *slots: str) -> list[tuple[str, date, dict[str, Any]]]:
    """What was told, one row a block and day: (block, day, the slots told). Lists of the same length run in step.

    Raises Refused where lists differ in length: nothing is guessed about which figure is for which block.
    """
    blocks, days = meant(filled, farm), [told_day(filled, farm)]
    if filled.get("date"):
        days = [date.fromisoformat(said) for said in listed(filled["date"])]
    said = {slot: listed(filled[slot]) for slot in slots if filled.get(slot) is not None}
    lists: list[list[Any]] = [blocks, days, *said.values()]
    steps = max(len(values) for values in lists)
    if any(len(values) not in (1, steps) for values in lists):
        raise Refused("jobs.one_by_one")
    rows = [
        (
            blocks[min(i, len(blocks) - 1)],
            days[min(i, len(days) - 1)],
            {slot: values[min(i, len(values) - 1)] for slot, values in said.items()},
        )
        for i in range(steps)
    ]
    if len({(number, day) for number, day, _ in rows}) < len(rows):  # two figures for one block and day
        raise Refused("jobs.one_by_one")
    return rows
