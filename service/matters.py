"""What needs a person: in which order, and what people do with it.

A matter is taken by a name, given back, put off until a day with a reason, closed with what was done, or opened again.
Deeds are never overwritten; each says which deed its doer saw last, so that of two who act at once one is told.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime, time

from sqlalchemy import Connection

from service.store import matters
from service.store.accounts import Staff
from service.store.matters import Standing

NOON = time(12)
LONGEST_SAID = 500  # characters

# In order of harm, and within a group again.
GROUPS: Mapping[str, tuple[str, ...]] = {
    "hurt": ("hurt",),
    "harm": (
        "trouble", "shoots", "sprays_too_close", "leaves_fell_by_themselves", "early_spray", "second_leaf_spray",
        "rest_too_long", "leaves_not_falling", "early_cut",
    ),
    "season": (
        "season_missed", "cut_unreported", "defoliate_unreported", "rest_unreported", "leaf_check_unreported",
        "copper_unreported", "second_spray_unreported", "clean_unreported", "second_clean_unreported",
        "water_unreported", "fixed_cut_postponed", "postponed_too_long", "not_done",
    ),
    "asked": ("question", "person", "choose_season", "water_need", "not_understood", "crew", "flowering", "harvest"),
    "texts": ("set_aside", "unreadable", "not_delivered", "no_text", "reminder_failed", "too_many_texts"),
}  # fmt: skip
GROUP_OF = {kind: group for group, kinds in GROUPS.items() for kind in kinds}
RANKS = {kind: rank for rank, kind in enumerate(kind for kinds in GROUPS.values() for kind in kinds)}
UNKNOWN = "asked"  # the group of a kind that stands in none: somebody waits


class Stale(Exception):
    """Somebody has done something with the matter since the page was made; `standing` is how it stands now."""

    def __init__(self, standing: Standing) -> None:
        super().__init__(standing.id)
        self.standing = standing


class Unfit(ValueError):
    """What is asked makes no sense for the matter as it stands, or says too little; the value is the field."""


def group_of(kind: str) -> str:
    return GROUP_OF.get(kind, UNKNOWN)


def done(
    connection: Connection, who: Staff, matter_id: int, deed: str, seen: int, said: str, until: date | None,
    today: date, at: datetime,
) -> Standing:  # fmt: skip
    """Write what somebody did with a matter, and say how it stands then.

    seen: the id of the newest deed that the person saw, 0 for none
    said: the reason of putting it off, or what was done about it: wanted for these two
    Raises LookupError where the cooperative has no such matter, Stale, and Unfit.
    """
    standing = matters.standing(connection, who.cooperative_id, matter_id)
    if standing is None:
        raise LookupError(f"no matter {matter_id}")
    if standing.deed_id != seen:
        raise Stale(standing)
    said = said.strip()
    if (deed in ("put_off", "closed") and not said) or len(said) > LONGEST_SAID:
        raise Unfit("said")
    if deed == "put_off" and (until is None or until <= today):
        raise Unfit("until")
    possible = ("opened_again",) if standing.state == "closed" else ("taken", "given_back", "put_off", "closed")
    if deed not in possible or (deed == "given_back" and standing.deed not in ("taken", "put_off")):
        raise Unfit("deed")
    if not matters.add_deed(
        connection, who.cooperative_id, matter_id, seen, who.id, deed, said, until if deed == "put_off" else None, at
    ):
        now = matters.standing(connection, who.cooperative_id, matter_id)
        raise Stale(now or standing)
    after = matters.standing(connection, who.cooperative_id, matter_id)
    assert after is not None  # noqa: S101  written above, in the same transaction
    return after
