"""Record a rain, and say what it moved.

grower   rain 30
cutday   Kept: 30 mm, Mon 7 Dec, blocks 1 and 2. Block 1: 14 days lost, cut Mon 4 Jan > Mon 18 Jan. UNDO.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from dialogs.answers import about, between, listed, own_blocks, past_day, told_day
from dialogs.dialog import Ask, Dialog, Filled, Outcome, Refused, Reply, told
from dialogs.farm import Farm, NewEntry
from service.orchard.plan import Plan

# Above this a day's rain is asked back once: a nought too many is the usual slip.
MUCH_MM = 100
# More than any day of rain that a grower here has seen; the range is told.
MOST_MM = 500

possible_rain = between(0, MOST_MM, "log_rain.impossible")


def _how_much_is_open(filled: Filled, farm: Farm) -> bool:
    return not filled.get("rain_word")


def _unknown_amount(filled: Filled, farm: Farm) -> bool:
    return filled.get("amount_mm") is None


def _is_very_much(filled: Filled, farm: Farm) -> bool:
    amount = filled.get("amount_mm")
    return amount is not None and max(listed(amount)) > MUCH_MM


def _very_much(filled: Filled, farm: Farm) -> Mapping[str, Any]:
    most = max(listed(filled["amount_mm"]))
    return {"mm": most, "tenth": round(most / 10, 1)}


def _keep(filled: Filled, farm: Farm) -> Outcome:
    if not farm.blocks:
        raise Refused("block.none_yet")
    amounts = listed(filled.get("amount_mm"))
    if filled.get("amount_sure") is not None:
        amounts = listed(filled["amount_sure"])
    word = filled.get("rain_word")
    if amounts == [None] and word is None:
        raise Refused("log_rain.not_kept")
    days = [date.fromisoformat(day) for day in listed(filled["date"])] if filled.get("date") else [_day(filled, farm)]
    blocks: list[str | None] = list(filled["block"]) if filled.get("block") else [None]
    entries = _entries(amounts, word if amounts == [None] else None, days, blocks, farm)
    reply, why = kept(entries, farm)
    return Outcome((reply,), entries, why=why)


def _day(filled: Filled, farm: Farm) -> date:
    """The day of a rain told without one: today, or for a correction the day of the rain that is put right."""
    if filled.get("corrects"):
        rains = [entry for entry in farm.entries if entry.kind == "rain"]
        if rains:
            return rains[-1].day
    return told_day(filled, farm)


def _entries(
    amounts: Sequence[Any], word: Any, days: Sequence[date], blocks: Sequence[str | None], farm: Farm
) -> tuple[NewEntry, ...]:
    """One entry for each block and day; lists of the same length run in step."""
    steps = max(len(amounts), len(days), len(blocks) if len(amounts) > 1 else 1)
    if len(amounts) > 1 or len(days) > 1:
        pairs = [(amounts[min(i, len(amounts) - 1)], days[min(i, len(days) - 1)]) for i in range(steps)]
        if len(blocks) == steps:
            return tuple(_rain(amount, word, day, block) for (amount, day), block in zip(pairs, blocks, strict=True))
        return tuple(_rain(amount, word, day, block) for amount, day in pairs for block in blocks)
    return tuple(_rain(amounts[0], word, days[0], block) for block in blocks)


def _rain(amount: Any, word: Any, day: date, block: str | None) -> NewEntry:
    values = {"amount_mm": amount} if amount is not None else {"rain_word": listed(word)[0]}
    return NewEntry("rain", block, day, values)


def kept(entries: Sequence[NewEntry], farm: Farm) -> tuple[Reply, Reply | None]:
    """The echo of a rain: what was kept, and for each block in rest what it moved."""
    first = entries[0]
    named = [entry.block for entry in entries if entry.block is not None] or list(farm.blocks)
    blocks = list(dict.fromkeys(named))
    after = farm.after(entries)
    moves = [
        move
        for number in blocks
        if (move := _move(number, farm.plan(number), after.plan(number), first.day)) is not None
    ]
    values: dict[str, Any] = {"date": first.day.isoformat(), **about(blocks, farm), "what": _what(entries, farm)}
    if "amount_mm" in first.values:
        values["mm"] = first.values["amount_mm"]
    else:
        values["rain_word"] = first.values["rain_word"]
    why = Reply("why.rest", dict(moves[0])) if moves else None
    if not moves:
        return Reply("log_rain.kept", values), why
    if len(moves) == 1 and len(blocks) == 1:
        return Reply(f"log_rain.{moves[0]['outcome']}", {**values, **moves[0]}), why
    items = tuple({"key": f"log_rain.kept_several.item.{move['outcome']}", **move} for move in moves)
    return Reply("log_rain.kept_several", values, items), why


def _what(entries: Sequence[NewEntry], farm: Farm) -> list[Mapping[str, Any]]:
    """What was kept, in the words of the echo: one part for each amount and day, with the blocks it is about."""
    about_blocks: dict[tuple[date, Any], list[str]] = {}
    for entry in entries:
        said = entry.values.get("amount_mm", entry.values.get("rain_word"))
        about_blocks.setdefault((entry.day, said), []).extend([entry.block] if entry.block else farm.blocks)
    return [
        {
            "key": "rain.one",
            "rain": {"key": "rain.word", "rain_word": said}
            if isinstance(said, str)
            else {"key": "rain.mm", "mm": said},
            "date": day.isoformat(),
            "blocks": blocks,
        }
        for (day, said), blocks in about_blocks.items()
    ]


def _move(number: str, before: Plan | None, after: Plan | None, day: date) -> dict[str, Any] | None:
    """What a rain did to a block in rest; None where no rest is under way or planned over that day."""
    if before is None or after is None or after.ended or day <= after.rest_start:
        return None
    values = {"block": number, "old_cut": before.cut.isoformat(), **after.values()}
    sprayed = after.job("defoliate")
    cut = after.job("cut")
    if cut is not None and cut.done:
        return None
    if after.season_missed and not before.season_missed:
        return {"outcome": "missed", **values}
    if sprayed is not None and sprayed.done and day >= sprayed.done:
        return {"outcome": "bare", **values}
    if after.cut == before.cut:
        return {"outcome": "stands", **values}
    return {"outcome": "moved", **values}


LOG_RAIN = Dialog(
    "log_rain",
    asks=(
        told("block", own_blocks),  # without a block it is rain on all of them
        told("date", past_day),
        told("rain_word"),
        Ask("amount_mm", "log_rain.how_much", possible_rain, when=_how_much_is_open, optional=True),
        Ask("rain_word", "log_rain.how_heavy", when=_unknown_amount, optional=True),
        Ask("amount_sure", "log_rain.so_much", possible_rain, when=_is_very_much, values=_very_much, reads="amount_mm"),
    ),
    finish=_keep,
    asks_itself=_is_very_much,  # "12 or 120?" is the question back
)
