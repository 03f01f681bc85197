"""The cautions of a job in full, told on asking; the shortest of them ride in each text that gives a dose."""

from __future__ import annotations

from collections.abc import Mapping

from dialogs.dialog import Reply
from service.orchard.cautions import cautions
from service.orchard.job import JobKind

# Each text and the cautions that it covers.
TEXTS: Mapping[str, tuple[str, ...]] = {
    "care.body": ("gloves", "eyes", "mask", "wash"),
    "care.people": ("no_child_no_pregnant", "animals_off", "no_bottles"),
    "care.weather": ("wind", "dry_hours", "heat", "well_and_bees"),
    "care.label": ("label_first",),
    "care.ethephon": ("never_with_copper",),
    "care.copper": ("same_day", "blade_check", "never_with_ethephon"),
    "care.tools": ("tools", "paste", "tools_dipped"),
    "care.burning": ("no_burning",),
}


def care(job: JobKind) -> tuple[Reply, ...]:
    """The texts that together tell every caution of a job."""
    named = set(cautions(job))
    return tuple(Reply(key) for key, covered in TEXTS.items() if named & set(covered))
