"""Record a spray; ethephon and copper also close the job that they are.

grower   sprayed 23 pump
cutday   Kept: ethephon, 345 l, block 1, Thu 31 Dec (UNDO). Keep out as label says. Leaf check ...
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from dialogs.answers import about, between, in_step, listed, meant, own_blocks, past_day, several_blocks, the_blocks
from dialogs.dialog import Ask, AskAgain, Dialog, Filled, Matter, Outcome, Refused, Reply, told
from dialogs.farm import Farm, NewEntry
from dialogs.jobs import coming, cut_begun, open_work
from dialogs.report_done import in_texts, is_part, kept

PRODUCTS = ("ethephon", "bordeaux", "copper", "other")
ETHEPHON, COPPER = ("ethephon",), ("bordeaux", "copper")
LEAST_L, MOST_L = 1, 50_000
# The product of a spray job, where the report does not name it.
OF_JOB = {"defoliate": "ethephon", "second_spray": "ethephon", "copper": "bordeaux"}

# A spray that is the job of the plan whose day it is.
JOB = "job"
# Why the adviser has to know, the gravest first.
MATTERS = ("sprays_too_close", "second_leaf_spray", "early_spray")

possible_volume = between(LEAST_L, MOST_L, "mix_spray.litres_possible")


def known_product(value: Any, filled: Filled, farm: Farm) -> str:
    product = str(listed(value)[0])
    if product not in PRODUCTS:
        raise AskAgain("log_spray.which_product")
    return product


def due_sprays(filled: Filled, farm: Farm, by: date) -> list[tuple[str, str]]:
    """(block, product) of the sprays whose day has come by `by`."""
    work = open_work(farm, meant(filled, farm), by)
    return [(number, OF_JOB[job.kind]) for number, job in work if job.kind in OF_JOB]


def _product(filled: Filled, farm: Farm) -> str | None:
    """What was sprayed: as told, else that of the spray that is due, if all that is due is one product."""
    if filled.get("product"):
        return str(filled["product"])
    due = {product for _, product in due_sprays(filled, farm, farm.today)}
    return due.pop() if len(due) == 1 else None


def _product_open(filled: Filled, farm: Farm) -> bool:
    return _product(filled, farm) is None


def _one_due(filled: Filled, farm: Farm) -> list[str]:
    """The only block on which this spray is due, where none was told."""
    due = {number for number, product in due_sprays(filled, farm, farm.today) if product == _product(filled, farm)}
    return list(due) if len(due) == 1 and not filled.get("product") else []


def _block_open(filled: Filled, farm: Farm) -> bool:
    return several_blocks(filled, farm) and not _one_due(filled, farm)


def _keep(filled: Filled, farm: Farm) -> Outcome:
    product = str(_product(filled, farm))
    known = {**filled, "block": list(filled.get("block") or _one_due(filled, farm) or farm.blocks)}
    rows = in_step(known, farm, "volume_l")
    for number, _, _ in rows:
        _refuse_part(number, product, filled, farm)
    entries = tuple(NewEntry("spray", number, day, {"product": product, **used}) for number, day, used in rows)
    what = {"key": "done.sprayed_volume" if "volume_l" in entries[0].values else "done.sprayed", **entries[0].values}
    blocks = list(dict.fromkeys(number for number, _, _ in rows))
    values = {**entries[0].values, "date": entries[0].day.isoformat(), "done": what, **about(blocks, farm)}
    jobs = [_job(number, product, farm) for number, _, _ in rows]
    after = farm.after(entries)
    ends = [_end(number, product, job, day, farm, after) for (number, day, _), job in zip(rows, jobs, strict=True)]
    told = {end.key for end in ends}
    if told == {JOB}:
        return kept([(number, str(job)) for (number, _, _), job in zip(rows, jobs, strict=True)], entries, farm, what)
    matters = [(end.matter, number) for end, (number, _, _) in zip(ends, rows, strict=True) if end.matter is not None]
    kinds = sorted({kind for kind, _ in matters}, key=MATTERS.index)
    matter = Matter(kinds[0], matters[0][1] if len(matters) == 1 or len(rows) == 1 else None) if kinds else None
    if all(end == ends[0] for end in ends):
        text = Reply(ends[0].key, {**ends[0].values, **values})
        return Outcome((text,), entries, matter=matter)
    items = [
        {"key": _item_key(end.key), **end.values, **used, "block": number, "date": day.isoformat()}
        for end, (number, day, used) in zip(ends, rows, strict=True)
    ]
    end = {"key": "end.adviser_told" if matter else "end.keep_out"}
    texts = in_texts("log_spray.several", {**values, "end": end}, items)
    return Outcome(texts[:1], entries, matter=matter, more=texts[1:])


@dataclass(frozen=True)
class _End:
    """What a spray comes to on one block: its text, the figures that this names, and why the adviser has to know."""

    key: str
    values: Mapping[str, Any]
    matter: str | None = None


def _end(number: str, product: str, job: str | None, day: date, farm: Farm, after: Farm) -> _End:
    if (close := _too_close(number, product, day, farm)) is not None:
        return _End("log_spray.too_close", close, "sprays_too_close")
    if job == "defoliate" and _sprayed_before(number, farm):
        return _End("log_spray.once_more", {"job": job}, "second_leaf_spray")
    if job is None:
        return _End("log_spray.kept", {})
    plan = after.plan(number)
    if _is_early(number, farm, after):
        return _End("log_spray.early", {**(plan.values() if plan else {}), "job": "defoliate"}, "early_spray")
    return _End(JOB, {**(plan.values() if plan else {}), "job": job, "next": coming(plan, farm.today)})


def _item_key(key: str) -> str:
    return "log_spray.several.item_" + key.rpartition(".")[2]


def _job(number: str, product: str, farm: Farm) -> str | None:
    """The job of the block's plan that a spray of this product is."""
    plan = farm.plan(number)
    if plan is None or plan.ended:
        return None
    if product in ETHEPHON:
        return "second_spray" if cut_begun(plan) else "defoliate"
    return "copper" if product in COPPER and not cut_begun(plan) else None


def _refuse_part(number: str, product: str, filled: Filled, farm: Farm) -> None:
    """A spray that is a job of the plan is kept once all of the block has it; after a cut in parts, once a part has."""
    job, plan, block = _job(number, product, farm), farm.plan(number), farm.blocks[number]
    amount = {slot: listed(filled[slot])[0] for slot in ("plants", "percent") if filled.get(slot) is not None}
    if job is None or plan is None or not is_part(amount, block):
        return
    parts = [each for each in plan.jobs if each.kind == job and each.is_open and each.part is not None]
    share = amount["plants"] if "plants" in amount else (block.plants or 0) * amount["percent"] / 100
    if not any(each.plants == share for each in parts[:1]):
        raise Refused("report_done.not_all", block=number, job=job)


def _sprayed_before(number: str, farm: Farm) -> bool:
    plan = farm.plan(number)
    spray = plan.job("defoliate") if plan is not None else None
    return spray is not None and spray.done is not None


def _is_early(number: str, farm: Farm, after: Farm) -> bool:
    now = after.plan(number)
    before = farm.plan(number)
    return (
        now is not None
        and "early_spray" in now.for_adviser
        and (before is None or "early_spray" not in before.for_adviser)
    )


def _too_close(number: str, product: str, day: date, farm: Farm) -> dict[str, Any] | None:
    """The other of ethephon and copper, where it was sprayed fewer days away than the two have to stand apart."""
    if product not in (*ETHEPHON, *COPPER):
        return None
    others = COPPER if product in ETHEPHON else ETHEPHON
    gap = farm.settings.copper_ethephon_gap_days
    near = [
        (abs((day - entry.day).days), entry.day)
        for entry in farm.about(number)
        if _sprayed(entry.kind, entry.values) in others and abs((day - entry.day).days) < gap
    ]
    if not near:
        return None
    apart, other_day = min(near)
    return {"apart": apart, "gap": gap, "other": {"key": "product." + others[0]}, "other_date": other_day.isoformat()}


def _sprayed(kind: str, values: Mapping[str, Any]) -> str | None:
    """The product of a diary entry that is a spray, told as a spray or as a job."""
    if kind == "spray":
        return str(values.get("product"))
    return OF_JOB.get(str(values.get("job"))) if kind == "done" else None


LOG_SPRAY = Dialog(
    "log_spray",
    asks=(
        told("block", own_blocks),
        told("date", past_day),
        Ask("product", "log_spray.which_product", known_product, when=_product_open),
        Ask("block", "block.which", own_blocks, when=_block_open, values=the_blocks),
        told("volume_l", possible_volume),
        told("plants"),
        told("percent"),
    ),
    finish=_keep,
)
