"""All addresses of the desk."""

from __future__ import annotations

from starlette.routing import Route

from service.accounts import Accounts
from service.clock import Clock
from service.store.session import Database
from service.web.desk import account, board, growers, login, today
from service.web.desk.desk import Desk
from service.web.pages.rendering import Pages


def routes(database: Database, clock: Clock, accounts: Accounts, languages: tuple[str, ...]) -> list[Route]:
    """languages: the tags that growers may text in"""
    desk = Desk(database, clock, accounts, Pages(), languages)
    return [
        *desk.pages.static.routes(),
        *login.routes(desk),
        *account.routes(desk),
        *today.routes(desk),
        *board.routes(desk),
        *growers.routes(desk),
    ]
