"""Composition: a database, a clock and channels become a service.

What only `serve` needs (the web framework, the scheduler) is imported where it is used: a replay starts without it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from dialogs.language import load_languages
from service.channels.channel import Channel
from service.clock import Clock
from service.inbox import Inbox
from service.office import Office
from service.outbox import Outbox
from service.reminders import Reminders
from service.store.session import Database
from service.wording import Wording, spoken


@dataclass(frozen=True)
class Service:
    """The use cases over one database."""

    database: Database
    clock: Clock
    inbox: Inbox
    outbox: Outbox
    reminders: Reminders
    office: Office


def assemble(database: Database, clock: Clock, channel: Callable[[str], Channel]) -> Service:
    """channel: the channel of a receiving line"""
    languages = load_languages()
    tags = tuple(languages)
    return Service(
        database,
        clock,
        Inbox(database, clock, languages),
        Outbox(database, clock, Wording(spoken()), channel),
        Reminders(database, clock, tags),
        Office(database, clock, tags),
    )
