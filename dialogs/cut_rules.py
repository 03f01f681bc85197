"""How the cut is made: three rules ride in its reminder, the rest is told on asking."""

from __future__ import annotations

from dialogs.care import care
from dialogs.dialog import Reply


def in_short() -> Reply:
    """The three rules alone, where no reminder carries them."""
    return Reply("cut_rules.in_short")


def the_rest() -> tuple[Reply, ...]:
    """What the three rules leave out, and the cautions."""
    return (Reply("cut_rules.shape"), Reply("cut_rules.sick_wood"), *care("cut"))
