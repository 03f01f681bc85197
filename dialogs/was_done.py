"""Opened by a reminder after a job's last day has passed without a word: was it done?

cutday   The cut of block 1 was due Mon 18 Jan. Was it done? YES or NO.
grower   yes
cutday   On which day? Send e.g. 20 JAN.
grower   20 jan
cutday   Kept: cut done, block 1, Wed 20 Jan (UNDO). ...
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from dialogs.answers import about, meant, past_day
from dialogs.dialog import Ask, Dialog, Filled, Matter, Outcome, Reply, told
from dialogs.farm import Farm


def _done(filled: Filled, farm: Farm) -> bool:
    return bool(filled.get("confirm"))


def _what(filled: Filled, farm: Farm) -> Mapping[str, Any]:
    blocks = meant(filled, farm)
    plan = farm.plan(blocks[0])
    job = next((job for job in plan.jobs if job.kind == filled["job"] and job.is_open), None) if plan else None
    date = (job.date if job is not None else farm.today).isoformat()
    return {**about(blocks, farm), "job": filled["job"], "date": date}


def _go_on(filled: Filled, farm: Farm) -> Outcome:
    if not filled["confirm"]:
        blocks = meant(filled, farm)
        text = Reply("was_done.to_person", {**about(blocks, farm), "job": filled["job"]})
        return Outcome((text,), matter=Matter("not_done", blocks[0]))
    return Outcome(then=("report_done", {slot: filled[slot] for slot in ("block", "job", "date")}))


WAS_DONE = Dialog(
    "was_done",
    asks=(
        told("block"),
        told("job"),
        Ask("confirm", "was_done.was_it", values=_what),
        Ask("date", "was_done.which_day", past_day, when=_done, values=_what),
    ),
    finish=_go_on,
)
