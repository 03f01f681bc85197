"""One's own account: the language of the pages, the password, where one has entered."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sqlalchemy import Connection
from starlette.responses import Response
from starlette.routing import Route

from service.accounts import SHORTEST_PASSWORD
from service.store import accounts
from service.web.desk.desk import Asking, Desk, redirect

ADDRESS = "/desk/account"


def routes(desk: Desk) -> list[Route]:
    return [
        desk.route(ADDRESS, show),
        desk.route(f"{ADDRESS}/language", change_language, method="POST"),
        desk.route(f"{ADDRESS}/password", change_password, method="POST"),
        desk.route(f"{ADDRESS}/others", end_others, method="POST"),
    ]


def show(desk: Desk, asking: Asking, status: int = 200, wrong: str = "") -> Response:
    return desk.show(
        asking, "desk/account.html", status, sessions=desk.accounts.sessions(asking.entered), wrong=wrong,
        shortest=SHORTEST_PASSWORD,
    )  # fmt: skip


def change_language(desk: Desk, asking: Asking) -> Response:
    chosen = asking.form.get("language", "")
    if chosen not in desk.pages.languages:
        return show(desk, asking, 422)

    def deed(connection: Connection) -> Mapping[str, Any]:
        accounts.change(connection, asking.entered.staff.id, {"language": chosen})
        return {"what": "language"}

    return desk.write(asking, deed, ADDRESS)


def change_password(desk: Desk, asking: Asking) -> Response:
    try:
        if not desk.accounts.change_password(asking.entered, asking.form.get("old", ""), asking.form.get("new", "")):
            return show(desk, asking, 422, "old")
    except ValueError:
        return show(desk, asking, 422, "new")
    return redirect(ADDRESS)


def end_others(desk: Desk, asking: Asking) -> Response:
    def deed(connection: Connection) -> Mapping[str, Any]:
        ended = accounts.end_others(connection, asking.entered.staff.id, asking.entered.session.id, asking.now)
        return {"what": "others_ended", "count": ended}

    return desk.write(asking, deed, ADDRESS)
