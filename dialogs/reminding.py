"""The words of reminders, and of plans that something else than the grower's own word has moved.

cutday   Thu 31 Dec: leaf spray block 1 before 9 am. 38 ml in a 15 l pump, 24 pumps, label 390 g/L ...

Each text stands alone: what, where, which day, how much, the one word to text back, the shortest caution.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import timedelta
from typing import Any

from dialogs import cut_rules
from dialogs.answers import about, merged
from dialogs.care import care
from dialogs.dialog import Reply
from dialogs.farm import Farm
from dialogs.jobs import coming
from dialogs.spraying import Water, allowed_ppm, block_water, bordeaux_values, ethephon_values, whole_pump
from service.orchard.cautions import spraying_hours
from service.orchard.job import Job
from service.orchard.plan import Due, Plan
from service.orchard.plan import moved as what_moved

IN_ONE_TEXT = 3
SPRAYS = ("defoliate", "copper", "second_spray")
# The texts that tell the dose of one block: several blocks are items.
DOSED = (*SPRAYS, *(f"{job}_pump" for job in SPRAYS))


def words(dues: Sequence[Due], farm: Farm) -> Reply:
    """One text for all reminders that fall together, the work of the day before questions on old jobs.

    Blocks with the same words are merged, else each is an item; at most one question in it is answered by yes or no.
    """
    dues = in_order(dues)
    put = question(dues, farm)
    told = [(due, *_job_words(due, put, farm)) for due in dues]
    first, key, values = told[0]
    same = all(each[1:] == (key, values) and each[0].for_date == first.for_date for each in told)
    if same and (len(told) == 1 or key not in DOSED):
        blocks = list(dict.fromkeys(due.block for due, _, _ in told))
        items = tuple(_identity(due, farm) for due, _, _ in told) if len(told) > 1 else ()
        common = {"when": _when(first, farm), **_about_job(first)}
        where = _where(_part(first, farm), blocks)
        return Reply("reminder." + key, {**where, **common, **values, **about(blocks, farm)}, items)
    latest = max((due for due in dues if due.occasion != "ask"), key=_for_date, default=first)
    return Reply("reminder.several", {"when": _when(latest, farm), "close": _close(told)}, _items(told, farm))


def in_order(dues: Sequence[Due]) -> list[Due]:
    """Reminders as their text names them: what is asked after stands last."""
    return sorted(dues, key=lambda due: due.occasion == "ask")


def question(dues: Sequence[Due], farm: Farm) -> Due | None:
    """The reminder whose question a bare answer is to: how much leaf fell, what the label says, or was it done."""
    return min(
        (due for due in in_order(dues) if due.occasion == "ask" or due.job in ("leaf_check", "defoliate")),
        key=lambda due: _weight(due, farm),
        default=None,
    )


def _weight(due: Due, farm: Farm) -> int:
    """Of several questions the one that the text of several jobs puts in words, too."""
    if due.occasion == "ask":
        return 2
    if due.job == "leaf_check":
        return 0
    return 1 if due.occasion == "eve" and not farm.grower.evenings_only else 3


def asked_together(due: Due, put: Due) -> bool:
    """Whether a reminder puts the same question as another, on its own block."""
    return (due.job, due.part, due.occasion, due.for_date) == (put.job, put.part, put.occasion, put.for_date)


def _close(told: Sequence[tuple[Due, str, Mapping[str, Any]]]) -> Mapping[str, Any]:
    """The end of a text on several jobs: what its sprays have in common, and their cautions."""
    doses = [values for _, key, values in told if key in DOSED]
    strengths = [values for values in doses if "grams_per_litre" in values]
    if strengths:
        strongest = max(strengths, key=lambda values: float(values["ppm"]))
        return {
            "key": "close.both" if len(strengths) < len(doses) else "close.ethephon",
            **{name: strongest[name] for name in ("pump_l", "grams_per_litre", "if_label")},
        }
    return {"key": "close.copper", "pump_l": doses[0]["pump_l"]} if doses else {"key": "close.plain"}


def further(dues: Sequence[Due], farm: Farm) -> tuple[Reply, ...]:
    """What is told on asking after a reminder: the jobs that its text only counts, then rules and cautions in full."""
    text = words(dues, farm)
    rest = tuple(
        Reply(text.key, text.values, text.items[at : at + IN_ONE_TEXT])
        for at in range(IN_ONE_TEXT, len(text.items), IN_ONE_TEXT)
        if text.key == "reminder.several"
    )
    work = [due for due in in_order(dues) if due.occasion not in ("ask", "twigs")]
    texts = [*rest]
    for due in work:
        texts += cut_rules.the_rest() if due.job == "cut" else care(due.job)
    return tuple({text.key + str(text.items): text for text in texts}.values())


def _for_date(due: Due) -> Any:
    return due.for_date


def _items(told: Sequence[tuple[Due, str, Mapping[str, Any]]], farm: Farm) -> tuple[Mapping[str, Any], ...]:
    """What is told, one item a job: blocks alike are one, but for a dose that counts a block's pumps."""
    items = [{"key": "reminder.several.item_" + key, **_identity(due, farm), **values} for due, key, values in told]
    counted = ["reminder.several.item_" + job for job in SPRAYS]
    return tuple({**item, **_where(item, item["blocks"], "where.cut_on")} for item in merged(items, alone=counted))


def _where(part: Mapping[str, Any], blocks: Sequence[str], of_a_part: str = "where.part") -> dict[str, Any]:
    """Where the work is: blocks, or the part of a block that was cut on its own, by its day and, where there is room,
    its plants."""
    if "cut_on" in part:
        named = {name: part[name] for name in ("plants", "cut_on") if name in part}
        return {
            **part,
            "where": {"key": of_a_part if "plants" in part else "where.cut_on", "block": blocks[0], **named},
        }
    return {**part, "where": {"key": "where.blocks", "blocks": list(blocks)}}


def _identity(due: Due, farm: Farm) -> dict[str, Any]:
    return {"block": due.block, **_about_job(due), **_part(due, farm)}


def _about_job(due: Due) -> dict[str, Any]:
    """The job that a text is about; a look at the twigs is none."""
    return {} if due.occasion == "twigs" else {"job": due.job, "date": due.for_date.isoformat()}


def _part(due: Due, farm: Farm) -> dict[str, Any]:
    """Which part of the block, where the cut was done in parts."""
    job = _job(due, farm)
    if due.part is None:
        return {}
    known = {"plants": job.plants, "cut_on": job.cut_on and job.cut_on.isoformat()} if job else {}
    return {"part": due.part, **{name: value for name, value in known.items() if value}}


def _job(due: Due, farm: Farm) -> Job | None:
    plan = farm.plan(due.block)
    jobs = plan.jobs if plan is not None else ()
    return next((job for job in jobs if job.kind == due.job and job.part == due.part), None)


def _when(due: Due, farm: Farm) -> Mapping[str, Any]:
    """The opening of the text: the day, the next day named as such, or since when the job has been open."""
    day = due.for_date.isoformat()
    if due.for_date < farm.today:
        return {"key": "when.open_since", "date": day}
    if due.for_date == farm.today + timedelta(1):
        return {"key": "when.next_day", "date": day}
    return {"key": "when.day", "date": day}


def _job_words(due: Due, put: Due | None, farm: Farm) -> tuple[str, dict[str, Any]]:
    """The text for one reminder (the end of its key) and the figures that it names.

    put: the reminder whose question this text puts
    """
    block, plan, job = farm.blocks[due.block], farm.plan(due.block), _job(due, farm)
    if due.occasion == "ask":
        key = "ask" if put is not None and asked_together(due, put) else "unheard"
        return key, {"job": due.job, "date": due.for_date.isoformat()}
    if due.occasion == "twigs" and plan is not None:
        days = (due.for_date - plan.rest_start).days - 1
        return "twigs", {"days": days, "rest_start": plan.rest_start.isoformat()}
    evening_before = due.occasion == "eve" and not farm.grower.evenings_only
    if due.job == "rest":
        return "rest", {"rest_days": plan.rest_days if plan else farm.settings.rest_days_for(None, block.soil)}
    if due.job == "cut":
        return ("cut_eve", {}) if evening_before else ("cut", {})
    if due.job == "defoliate" and evening_before:
        return "defoliate_eve", {}
    if due.job in SPRAYS:
        pump_l = whole_pump(None, farm.settings)
        plants = job.plants if job is not None else None
        water = block_water(block, due.for_date, pump_l, farm.settings, plants)
        hours = {"hours": spraying_hours(farm.place(block), max(due.for_date, farm.today))}
        key = due.job if water is not None else f"{due.job}_pump"
        return key, {**hours, **_dose(due, water or Water(pump_l, pump_l, whole=False), farm)}
    if due.job == "clean" and job is not None:
        return "clean", {"last": job.last.isoformat()}
    if due.job == "leaf_check":
        return "leaf_check", {}
    return due.job, {}


def _dose(due: Due, water: Water, farm: Farm) -> dict[str, Any]:
    if due.job == "copper":
        return bordeaux_values(water)
    ppm = allowed_ppm(farm.blocks[due.block], due.job, farm.settings)
    values = ethephon_values(water, ppm, farm.settings.grams_per_litre, farm.settings)
    return {**values, "if_label": _if_label(values, farm)}


def _if_label(values: Mapping[str, Any], farm: Farm) -> Mapping[str, Any]:
    """For which label the dose holds: its strength is the usual one, not read off a bottle."""
    label = {"key": "label.if", "grams_per_litre": values["grams_per_litre"]}
    return {**label, "key": "label.if_strong", "ppm": values["ppm"]} if values["ppm"] > farm.settings.ppm else label


def moved(before: Mapping[str, Plan], after: Mapping[str, Plan], reason: Mapping[str, Any], farm: Farm) -> Reply | None:
    """The text on plans moved by the gauge, the adviser or a setting; None where the grower need not be told.

    reason: `kind` (gauge, rain, weather, setting, ruling), and of mm, date, block, ruling, adviser what is known
    """
    if reason["kind"] == "ruling":
        return _ruled(before, after, reason, farm)
    items = tuple(item for number, plan in after.items() if (item := _move(before.get(number), plan, farm)) is not None)
    if not items:
        return None
    known = {name: reason[name] for name in ("mm", "date") if reason.get(name) is not None}
    values = {"cause": _cause(known), **known}
    if len(items) == 1:
        item = dict(items[0])
        return Reply(str(item.pop("key")).replace("several.item_", ""), {**values, **item})
    return Reply("moved.several", values, items)


def _cause(known: Mapping[str, Any]) -> Mapping[str, Any]:
    if known.keys() >= {"mm", "date"}:
        return {"key": "cause.gauge", **known}
    return {"key": "cause.other"}


def _move(before: Plan | None, after: Plan, farm: Farm) -> dict[str, Any] | None:
    """What is told of one block: a cut that moved by a day or more, or a job moved that is already announced."""
    change = what_moved(before, after)
    if before is None or change is None:
        return None
    announced = any(old <= farm.today + timedelta(1) for _, _, old, _ in change.jobs)
    if not change.cut_days and not announced:
        return None
    values = {
        "block": after.block,
        "old_cut": before.cut.isoformat(),
        **after.values(),
        "next": coming(after, farm.today),
    }
    if after.season_missed and not before.season_missed:
        return {"key": "moved.several.item_season_missed", **values}
    if change.cut_days:
        return {"key": "moved.several.item_cut", **values}
    return {"key": "moved.several.item_job", **values}


def _ruled(
    before: Mapping[str, Plan], after: Mapping[str, Plan], reason: Mapping[str, Any], farm: Farm
) -> Reply | None:
    """The adviser's word on one block, by his name, with what it does to the plan."""
    number = reason.get("block")
    plan, old = (after.get(str(number)), before.get(str(number))) if number is not None else (None, None)
    if plan is None:
        return None
    who = (
        {"key": "adviser.named", "adviser": reason["adviser"]} if reason.get("adviser") else {"key": "adviser.unnamed"}
    )
    values: dict[str, Any] = {
        "block": number,
        "who": who,
        "ruling": reason["ruling"],
        "old_cut": (old or plan).cut.isoformat(),
        **plan.values(),
        "next": coming(plan, farm.today),
    }
    if reason.get("date"):
        values["date"] = reason["date"]
    if reason["ruling"] == "rest_not_enough" and not reason.get("date"):
        return Reply("ruling.no_cut_yet", values)
    return Reply("ruling." + str(reason["ruling"]), values)
