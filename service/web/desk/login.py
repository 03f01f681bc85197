"""The door: entering and leaving. Whatever is wrong with a login, the page says the same."""

from __future__ import annotations

from collections.abc import Mapping

from babel import negotiate_locale
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from service.accounts import ABSOLUTE
from service.web.desk.desk import LOGIN, Asking, Desk, cookie_name, from_our_page, is_safe, redirect, sent

FIRST_PAGE = "/desk/today"


def routes(desk: Desk) -> list[Route]:
    async def show(request: Request) -> Response:
        return _page(desk, request, request.query_params.get("next", ""), 200, False)

    async def enter(request: Request) -> Response:
        return await run_in_threadpool(_enter, desk, request, await sent(request))

    async def door(request: Request) -> Response:
        return redirect(FIRST_PAGE)

    return [
        Route(LOGIN, show, methods=["GET"]),
        Route(LOGIN, enter, methods=["POST"]),
        Route("/desk", door),
        Route("/", door),
        desk.route("/desk/leave", _leave, method="POST"),
    ]


def _enter(desk: Desk, request: Request, form: Mapping[str, str]) -> Response:
    then = form.get("next", "")
    if not (is_safe(request) and from_our_page(request)):
        return _page(desk, request, then, 403, True)
    address = request.client.host if request.client else ""
    name = cookie_name(request)
    entered = desk.accounts.enter(
        form.get("login", ""), form.get("password", ""), address, request.headers.get("user-agent", ""),
        request.cookies.get(name),
    )  # fmt: skip
    if entered is None:
        return _page(desk, request, then, 403, True, form.get("login", ""))
    response = redirect(then if _is_ours(then) else FIRST_PAGE)
    response.set_cookie(
        name, entered.token, max_age=int(ABSOLUTE.total_seconds()), secure=request.url.scheme == "https",
        httponly=True, samesite="lax", path="/",
    )  # fmt: skip
    return response


def _leave(desk: Desk, asking: Asking) -> Response:
    desk.accounts.leave(asking.entered)
    response = redirect(LOGIN)
    response.delete_cookie(cookie_name(asking.request), path="/", secure=asking.request.url.scheme == "https")
    return response


def _is_ours(path: str) -> bool:
    return path.startswith("/desk/") and "\\" not in path and path.isprintable()


def _page(desk: Desk, request: Request, then: str, status: int, failed: bool, login: str = "") -> Response:
    values = {
        "then": then if _is_ours(then) else "", "failed": failed, "login": login[:64], "safe": is_safe(request),
        "address": LOGIN,
    }  # fmt: skip
    return desk.pages.page(_language(desk, request), "desk/login.html", values, status)


def _language(desk: Desk, request: Request) -> str:
    """The language asked for, else the first that the browser wants and we have."""
    asked = request.query_params.get("language", "")
    if asked in desk.pages.languages:
        return asked
    wanted = [
        one.partition(";")[0].strip() for one in request.headers.get("accept-language", "").split(",") if one.strip()
    ]
    return negotiate_locale(wanted, list(desk.pages.languages), sep="-") or "en"
