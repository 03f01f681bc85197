"""A language told in a costlier script is offered in Latin letters, once to each number.

A text in Devanagari holds 70 letters a part, one in Latin letters 160: the same words cost more than twice as much.

grower   (in Hindi) dates
cutday   ...
cutday   If you can read English letters text ENGLISH LETTERS: half the cost for the cooperative.

It is a text of its own of one part behind another reply: put into that reply it would make it a part longer and so cost
the same. Nothing is switched but by the grower.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace

from dialogs.dialog import Reply, Turn
from dialogs.farm import Farm

# What ends a conversation without asking for anything to be done: one more text pushes nothing away.
QUIET = ("plan.", "change_language.", "thanks")


def in_latin_letters(tag: str, languages: Collection[str]) -> str | None:
    """The same language in Latin letters ("hi_Latn" for "hi"), where there is one."""
    latin = f"{tag.partition('_')[0]}_Latn"
    return latin if latin != tag and latin in languages else None


def with_offer(taken: Turn, farm: Farm) -> Turn:
    """The turn with the offer behind its reply, where it is due."""
    language = taken.grower.get("language", farm.grower.language)
    latin = in_latin_letters(language, farm.languages)
    if (
        farm.grower.script_offered
        or latin in (None, farm.grower.language)  # who has just left it knows it
        or not farm.grower.joined
        or farm.grower.stopped
        or not taken.progress
        or len(taken.replies) != 1
        or not _is_quiet(taken.replies[0])
        or taken.conversation.open is not None
        or taken.conversation.more
    ):
        return taken
    offer = Reply("cheaper_script.offer")
    return replace(taken, replies=(*taken.replies, offer), grower={**taken.grower, "script_offered": True})


def _is_quiet(reply: Reply) -> bool:
    return reply.key != "thanks.report" and reply.key.startswith(QUIET)
