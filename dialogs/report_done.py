"""Record that a job is done, on the whole block or, for the cut, on a part of it.

grower   half done, 200 plants
cutday   Kept: cut 200 of 400 plants, block 1, Fri 22 Jan (UNDO). On these second spray Sun 24 Jan ...
grower   all cut finished
cutday   Kept: cut done, block 1, Mon 25 Jan (UNDO). Second spray Wed 27 Jan, ... first light water Mon 1 Feb.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from dialogs.answers import about, listed, meant, merged, own_blocks, past_day, several_blocks, the_blocks
from dialogs.dialog import Ask, AskAgain, Dialog, Filled, Matter, Outcome, Refused, Reply, told
from dialogs.farm import Farm, NewEntry
from dialogs.jobs import Work, choices, coming, cut_begun, day_told, job_told, only_due, told_work
from service.orchard.block import Block
from service.orchard.plan import Plan

AFTER_THE_CUT = ("second_spray", "clean", "second_clean")
# A cut reported this many days before its day is no slip of the pen any more: it is asked back.
EARLY_CUT_DAYS = 3
WHOLE = 100
IN_ONE_TEXT = 3


def _works(filled: Filled, farm: Farm) -> list[Work]:
    """Each block and the job done on it."""
    if filled.get("job") is not None:
        return told_work(filled, farm)
    return only_due(filled, farm, farm.today)


def _job_open(filled: Filled, farm: Farm) -> bool:
    return filled.get("job") is None and not only_due(filled, farm, farm.today)


def _block_open(filled: Filled, farm: Farm) -> bool:
    if not several_blocks(filled, farm):
        return False
    return filled.get("job") is not None or len(only_due(filled, farm, farm.today)) != 1


def _which_job(filled: Filled, farm: Farm) -> Mapping[str, Any]:
    return {"jobs": choices(filled, farm, farm.today)}


def _possible_plants(value: Any, filled: Filled, farm: Farm) -> Any:
    """No more plants than the block has."""
    blocks = meant(filled, farm)
    for said in listed(value):
        known = farm.blocks[blocks[0]].plants if len(blocks) == 1 else None
        if said < 1 or (known is not None and said > known):
            raise AskAgain("report_done.so_many", block=blocks[0], all_plants=known or said)
    return value


def is_part(amount: Mapping[str, Any], block: Block) -> bool:
    """Whether less than the whole block is told."""
    if "plants" in amount:
        return block.plants is None or amount["plants"] < block.plants
    return "percent" in amount and amount["percent"] < WHOLE


def _cut_too_early(filled: Filled, farm: Farm) -> bool:
    return bool(_early_cuts(filled, farm))


def _early_cuts(filled: Filled, farm: Farm) -> list[str]:
    """Blocks reported cut whose leaf spray is not reported, or whose rest has days to go."""
    return [
        number
        for (number, kind), day in _days(_works(filled, farm), filled, farm)
        if kind == "cut" and (plan := farm.plan(number)) is not None and _is_early(plan, day)
    ]


def _is_early(plan: Plan, day: date) -> bool:
    cut, spray = plan.job("cut"), plan.job("defoliate")
    if plan.ended or cut is None or not cut.is_open or cut_begun(plan):
        return False
    return (spray is not None and spray.is_open) or day < plan.cut - timedelta(EARLY_CUT_DAYS)


def _early_cut(filled: Filled, farm: Farm) -> Mapping[str, Any]:
    early = _early_cuts(filled, farm)
    plan = farm.plan(early[0])
    day = next(day for (number, _), day in _days(_works(filled, farm), filled, farm) if number == early[0])
    spray = plan.job("defoliate") if plan is not None else None
    if plan is None or (spray is not None and spray.is_open):
        reason: Mapping[str, Any] = {"key": "early.unsprayed"}
    else:
        reason = {"key": "early.in_rest", "cut": plan.cut.isoformat()}
    return {"block": early[0], "date": day.isoformat(), "reason": reason}


def _days(works: Sequence[Work], filled: Filled, farm: Farm) -> list[tuple[Work, date]]:
    """The day of each work: lists of the same length run in step."""
    said = [date.fromisoformat(day) for day in listed(filled["date"])] if filled.get("date") else []
    if not said:
        return [(work, farm.sent_on) for work in works]
    return [(work, _of_each(said, i, len(works))) for i, work in enumerate(works)]


def _of_each(values: Sequence[Any], position: int, works: int) -> Any:
    """The value for one of the works; lists of another length are not guessed at."""
    if len(values) not in (1, works):
        raise Refused("jobs.one_by_one")
    return values[min(position, len(values) - 1)]


def _keep(filled: Filled, farm: Farm) -> Outcome:
    if filled.get("confirm") is False:
        return Outcome((Reply("report_done.not_kept"),))
    works = _works(filled, farm)
    if works and all(kind in ("leaf_check", "water") for _, kind in works):
        return Outcome(then=_its_own_log(works, filled))
    days = [(work, day) for work, day in _days(works, filled, farm) if work[1] not in ("leaf_check", "water")]
    new: list[tuple[Work, NewEntry]] = []
    on_file: list[Refused] = []
    for i, (work, day) in enumerate(days):
        try:
            new.append((work, _entry(work, day, _amount(filled, i, len(days), farm), bool(filled.get("date")), farm)))
        except Refused as refused:  # told of several blocks, it is news of the others
            if refused.key != "report_done.already" or len(days) == 1:
                raise
            on_file.append(refused)
    if not new:
        raise on_file[0]
    already = [{"key": "report_done.several.item_already", **one.values} for one in on_file]
    outcome = kept([work for work, _ in new], tuple(entry for _, entry in new), farm, already=already)
    if filled.get("confirm"):
        return Outcome(outcome.replies, outcome.entries, matter=Matter("early_cut", days[0][0][0]))
    return outcome


def _its_own_log(works: Sequence[Work], filled: Filled) -> tuple[str, Filled]:
    """A leaf check and a watering have figures of their own: their own dialogue asks for them."""
    kind = works[0][1]
    known = {"block": [number for number, each in works if each == kind]}
    known |= {slot: filled[slot] for slot in ("date", "percent") if filled.get(slot) is not None and kind != "water"}
    known |= {slot: filled[slot] for slot in ("date", "minutes") if filled.get(slot) is not None and kind == "water"}
    return "log_leaf_drop" if kind == "leaf_check" else "log_watering", known


def _amount(filled: Filled, position: int, works: int, farm: Farm) -> dict[str, Any]:
    """How much of the block is told: plants, else percent; what was told as cut in all is less by what is on file."""
    slot = "plants" if filled.get("plants") is not None else "percent"
    if filled.get(slot) is None:
        return {}
    amount = _of_each(listed(filled[slot]), position, works)
    earlier = _earlier_part(filled, farm)
    if slot == "percent" and earlier is not None and (filled.get("more") is False or _is_in_all(earlier, amount)):
        if amount <= earlier.percent:
            raise Refused("report_done.not_kept")
        if earlier.of is not None:
            return {"plants": round(earlier.of * amount / WHOLE) - earlier.plants}
        return {slot: amount - earlier.percent}
    return {slot: amount}


@dataclass(frozen=True)
class _Earlier:
    """What of a block is cut by the diary: plants of all its plants, or a share where those are not known."""

    block: str
    plants: int
    of: int | None
    percent: float


def _earlier_part(filled: Filled, farm: Farm) -> _Earlier | None:
    """The part that was cut before one told by its share; None where there is no doubt what it is a share of."""
    if filled.get("percent") is None or filled.get("plants") is not None:
        return None
    found = [one for number, kind in _works(filled, farm) if kind == "cut" and (one := _cut_so_far(number, farm))]
    if found and len(_works(filled, farm)) > 1:
        raise Refused("jobs.one_by_one")
    return found[0] if found else None


def _cut_so_far(number: str, farm: Farm) -> _Earlier | None:
    plan, of = farm.plan(number), farm.blocks[number].plants
    if plan is None or plan.ended or not cut_begun(plan) or _done_on(plan, "cut") is not None:
        return None
    cuts = [
        entry.values
        for entry in farm.about(number)
        if entry.id >= plan.cycle and entry.kind == "done" and entry.values["job"] == "cut"
    ]
    shares = sum(cut.get("percent") or 0 for cut in cuts)
    if of is None:
        return _Earlier(number, sum(cut.get("plants") or 0 for cut in cuts), None, shares)
    plants = sum(cut.get("plants") or round(of * (cut.get("percent") or 0) / WHOLE) for cut in cuts)
    return _Earlier(number, plants, of, plants / of * WHOLE)


def _is_in_all(earlier: _Earlier, percent: float) -> bool:
    """So large a share cannot be cut beside the earlier one: it is what is cut in all."""
    return earlier.percent < percent < WHOLE < earlier.percent + percent


def _more_or_in_all(filled: Filled, farm: Farm) -> bool:
    earlier = _earlier_part(filled, farm)
    return earlier is not None and bool(earlier.percent + listed(filled["percent"])[0] <= WHOLE)


def _share_in_doubt(filled: Filled, farm: Farm) -> bool:
    """Less than is on file, and too much to be cut beside it."""
    earlier = _earlier_part(filled, farm)
    if earlier is None or earlier.of is None:
        return False
    percent = listed(filled["percent"])[0]
    return bool(percent <= earlier.percent and percent < WHOLE < earlier.percent + percent)


def _both_meanings(filled: Filled, farm: Farm) -> Mapping[str, Any]:
    earlier = _earlier_part(filled, farm)
    if earlier is None:
        return {}
    percent = listed(filled["percent"])[0]
    return {"block": earlier.block, "more": _in_words(earlier, percent), **_in_all(earlier, percent)}


def _in_words(earlier: _Earlier, percent: float) -> Mapping[str, Any]:
    if earlier.of is None:
        return {"key": "amount.percent", "percent": percent}
    return {"key": "amount.plants", "plants": round(earlier.of * percent / WHOLE)}


def _in_all(earlier: _Earlier, percent: float) -> Mapping[str, Any]:
    return {"before": _in_words(earlier, earlier.percent), "in_all": _in_words(earlier, earlier.percent + percent)}


def _all_plants(filled: Filled, farm: Farm) -> Mapping[str, Any]:
    earlier = _earlier_part(filled, farm)
    return {} if earlier is None else {"block": earlier.block, "all_plants": earlier.of}


def _entry(work: Work, day: date, amount: Mapping[str, Any], dated: bool, farm: Farm) -> NewEntry:
    """The diary entry of a job done; raises Refused where it cannot be done yet or is on file already.

    dated: the day was told
    """
    number, kind = work
    plan, block = farm.plan(number), farm.blocks[number]
    if plan is not None and not plan.ended:
        if kind in AFTER_THE_CUT and not cut_begun(plan):
            raise Refused("report_done.cut_first", block=number, job=kind, cut=plan.cut.isoformat())
        done = _done_on(plan, kind)
        if done is not None and (kind != "rest" or not dated or day == done):
            raise Refused("report_done.already", block=number, job=kind, date=done.isoformat())
    if kind == "rest":
        if is_part(amount, block):
            raise Refused("report_done.not_all", block=number, job=kind)
        return NewEntry("rest_begun", number, day, {})
    values: dict[str, Any] = {"job": kind}
    if is_part(amount, block):
        if kind == "cut":
            values |= amount
        elif kind not in AFTER_THE_CUT or plan is None or len([job for job in plan.jobs if job.kind == kind]) < 2:
            raise Refused("report_done.not_all", block=number, job=kind)
    return NewEntry("done", number, day, values)


def _done_on(plan: Plan, kind: str) -> date | None:
    """The day on which all of a job was done; None while any of it is open."""
    if kind == "rest":
        return plan.rest_start if plan.rest_reported else None
    days = [job.done for job in plan.jobs if job.kind == kind]
    return max(day for day in days if day) if days and all(days) else None


def kept(
    works: Sequence[Work],
    entries: tuple[NewEntry, ...],
    farm: Farm,
    what: Mapping[str, Any] | None = None,
    already: Sequence[Mapping[str, Any]] = (),
) -> Outcome:
    """The echo of jobs done, with what hangs on each.

    what: the part of the sentence that says what was done; else it is the job's name
    already: items of what was told again
    """
    after = farm.after(entries)
    told = [
        (number, kind, *_told(number, kind, entry, farm, after))
        for (number, kind), entry in zip(works, entries, strict=True)
    ]
    first = told[0]
    values: dict[str, Any] = {"date": entries[0].day.isoformat()}
    if not already and all(each[1:] == first[1:] for each in told) and len({entry.day for entry in entries}) == 1:
        blocks = [number for number, *_ in told]
        done = what or {"key": "done.job", "job": first[1]}
        values |= {"job": first[1], "done": done, **first[3], **about(blocks, farm)}
        items = (
            tuple({"block": number, "job": kind} for number, kind, *_ in told)
            if len(told) > 1
            else _parts(first[0], after)
        )
        return Outcome((Reply(first[2], values, items),), entries, matter=_for_adviser(blocks, farm, after))
    items = tuple(
        {
            "key": "report_done.several.item",
            "block": number,
            "job": kind,
            "date": entry.day.isoformat(),
            "next": coming(after.plan(number), farm.today),
            **{name: value for name, value in worded.items() if name != "next"},
        }
        for (number, kind, _, worded), entry in zip(told, entries, strict=True)
    )
    blocks = list(dict.fromkeys(number for number, *_ in told))
    matter = _for_adviser(blocks, farm, after)
    texts = in_texts("report_done.several", about(blocks, farm), [*items, *already])
    return Outcome(texts[:1], entries, matter=matter, more=texts[1:])


def in_texts(key: str, values: Mapping[str, Any], items: Sequence[Mapping[str, Any]]) -> tuple[Reply, ...]:
    """A text on several blocks, those alike told as one; what it only counts follows on asking."""
    told = merged(items)
    return tuple(Reply(key, values, told[at:]) for at in range(0, len(told), IN_ONE_TEXT))


def _told(number: str, kind: str, entry: NewEntry, farm: Farm, after: Farm) -> tuple[str, dict[str, Any]]:
    """The text for a job done on a block, and its values."""
    plan = after.plan(number)
    if plan is None:
        return "report_done.kept", {}
    dates = plan.values()
    if kind == "rest":
        return "report_done.rest", dates
    if kind == "defoliate":
        return "report_done.defoliate", dates
    if kind == "cut":
        return _told_cut(plan, entry, after.blocks[number], _cut_so_far(number, farm))
    following = coming(plan, after.today)
    if following["key"] == "next.none":
        return "report_done.kept", dates
    return "report_done.kept_next", {**dates, "next": following}


def _told_cut(plan: Plan, entry: NewEntry, block: Block, earlier: _Earlier | None) -> tuple[str, dict[str, Any]]:
    cut_parts = [job for job in plan.jobs if job.kind == "clean" and job.open_since is not None]
    part = next((job.part for job in cut_parts if job.date == entry.day), cut_parts[-1].part if cut_parts else None)
    spray, clean = plan.job("second_spray", part), plan.job("clean", part)
    values = plan.values()
    values |= {job.kind: job.date.isoformat() for job in (spray, clean) if job is not None and job.dropped is None}
    if clean is not None:
        values["clean"] = clean.last.isoformat()
    bare = "_bare" if spray is None or spray.dropped is not None else ""
    cut = plan.job("cut")
    if cut is None or not cut.is_open:
        return "report_done.cut" + bare, values
    cut_now = entry.values.get("plants")
    if cut_now is None and block.plants is not None and "percent" in entry.values:
        cut_now = round(block.plants * entry.values["percent"] / 100)
    if cut_now is not None:
        values["plants"] = cut_now
    if "percent" in entry.values:
        values["percent"] = entry.values["percent"]
    if earlier is not None and cut_now is not None and block.plants is not None:
        in_all = earlier.plants + cut_now
        values["amount"] = {"key": "amount.more", "plants": cut_now, "in_all": in_all, "all_plants": block.plants}
    elif cut_now is not None and block.plants is not None:
        values["amount"] = {"key": "amount.of", "plants": cut_now, "all_plants": block.plants}
    elif cut_now is not None:
        values["amount"] = {"key": "amount.plants", "plants": cut_now}
    else:
        values["amount"] = {"key": "amount.percent", "percent": entry.values["percent"]}
    return "report_done.part" + bare, values


def _parts(number: str, after: Farm) -> tuple[Mapping[str, Any], ...]:
    """What hangs on each part of a cut, where it was done in parts."""
    plan = after.plan(number)
    if plan is None or not any(job.part is not None and job.part > 1 for job in plan.jobs):
        return ()
    return tuple(
        {
            "block": number,
            "job": job.kind,
            "part": job.part,
            "plants": job.plants,
            "date": day_told(job).isoformat(),
        }
        for job in plan.jobs
        if job.part is not None and job.kind in ("second_spray", "clean") and job.is_open
    )


def _for_adviser(blocks: Sequence[str], farm: Farm, after: Farm) -> Matter | None:
    """What this report has newly put on the adviser's list."""
    for number in blocks:
        before, now = farm.plan(number), after.plan(number)
        known = before.for_adviser if before is not None else ()
        for reason in now.for_adviser if now is not None else ():
            if reason not in known:
                return Matter(reason, number)
    return None


REPORT_DONE = Dialog(
    "report_done",
    asks=(
        told("block", own_blocks),
        told("date", past_day),
        Ask("job", "jobs.which_done", job_told, when=_job_open, values=_which_job),
        Ask("block", "block.which", own_blocks, when=_block_open, values=the_blocks),
        told("plants", _possible_plants),
        told("percent"),
        Ask("more", "report_done.is_it_more", when=_more_or_in_all, values=_both_meanings, reads="confirm"),
        Ask("plants", "report_done.so_many", _possible_plants, when=_share_in_doubt, values=_all_plants),
        Ask("confirm", "report_done.is_it_cut", when=_cut_too_early, values=_early_cut),
    ),
    finish=_keep,
)
