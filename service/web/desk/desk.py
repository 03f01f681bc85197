"""Who asks, and for which cooperative: decided here, before any page of the desk runs.

A page gets an `Asking`, whose cooperative is that of the account whose session the cookie opens, and nothing else;
every query names it. Forms are taken only from our own pages, bear the session's token, and have one effect each.
"""

from __future__ import annotations

import hmac
import ipaddress
import json
import secrets
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from functools import cached_property
from typing import Any
from urllib.parse import parse_qsl, quote, urlsplit

from sqlalchemy import Connection
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from service.accounts import Accounts, Entered, Right
from service.clock import Clock, local
from service.farms import Cooperatives
from service.forms import Forms, UsedForAnother
from service.matters import Stale
from service.store.cooperatives import Cooperative
from service.store.session import Database
from service.web.desk import names
from service.web.pages.language import N_, PageLanguage
from service.web.pages.rendering import HEADERS, Pages

LOGIN = "/desk/login"
FORM = "application/x-www-form-urlencoded"

# The pages, by our own words: (name, title, address).
CONTENTS = (
    ("today", N_("Today"), "/desk/today"),
    ("board", N_("Season board"), "/desk/board"),
    ("growers", N_("Growers and blocks"), "/desk/growers"),
)


class Missing(LookupError):
    """No such page, or none of this cooperative: which of the two, nobody is told."""


@dataclass(frozen=True)
class Asking:
    """A request of somebody who has entered.

    now: this instant; form: the fields of a form that was sent, already known to come from our own page
    """

    request: Request
    entered: Entered
    cooperative: Cooperative
    language: PageLanguage
    now: datetime
    form: Mapping[str, str]

    @property
    def cooperative_id(self) -> int:
        return self.entered.staff.cooperative_id

    @cached_property
    def here(self) -> datetime:
        """The cooperative's local time, naive."""
        return local(self.now, self.cooperative.zone)

    @property
    def today(self) -> date:
        return self.here.date()

    def asked(self, name: str, allowed: Sequence[str] | None = None) -> str:
        """A value of the address; "" where it is missing, or none of those allowed."""
        value: str = self.request.query_params.get(name, "").strip()[:100]
        return value if allowed is None or value in allowed else ""

    @property
    def page_number(self) -> int:
        """The page of a list, from 1."""
        asked = self.asked("page")
        return min(max(int(asked), 1), 1_000_000) if asked.isascii() and asked.isdigit() else 1

    def id(self, name: str) -> int:
        """A number in the path. Raises Missing where it is none that a table could hold."""
        value: str = self.request.path_params[name]
        if not (value.isascii() and value.isdigit() and len(value) < 10):
            raise Missing(value)
        return int(value)


Handler = Callable[["Desk", Asking], Response]


class Desk:
    """What the pages of the desk stand on."""

    def __init__(
        self, database: Database, clock: Clock, accounts: Accounts, pages: Pages, languages: tuple[str, ...]
    ) -> None:
        self.database = database
        self.clock = clock
        self.accounts = accounts
        self.pages = pages
        self.languages = languages
        self.forms = Forms(database, clock)
        self._cooperatives = Cooperatives()

    def route(self, path: str, handler: Handler, right: Right = Right.READ, method: str = "GET") -> Route:
        """A page, or a form's address, that only somebody with that right gets."""

        async def endpoint(request: Request) -> Response:
            form = await sent(request) if method == "POST" else {}
            return await run_in_threadpool(self._answer, handler, right, request, form)

        return Route(path, endpoint, methods=[method])

    def _answer(self, handler: Handler, right: Right, request: Request, form: Mapping[str, str]) -> Response:
        token = request.cookies.get(cookie_name(request))
        entered = self.accounts.entered(token) if token and is_safe(request) else None
        if entered is None:
            return self._to_login(request)
        with self.database.reading() as connection:
            cooperative = self._cooperatives.get(connection, entered.staff.cooperative_id)
        asking = Asking(
            request, entered, cooperative, self.pages.language(entered.staff.language), self.clock.now(), form
        )
        if not entered.may(right):
            return self.stopped(asking, 403, N_("Your account may not do that. Ask the administrator."))
        if request.method == "POST" and not (
            from_our_page(request) and hmac.compare_digest(form.get("token", "").encode(), entered.form_token.encode())
        ):
            return self.stopped(asking, 403, N_("That form was not made for you. Load the page anew."))
        try:
            return handler(self, asking)
        except Missing:
            return self.stopped(asking, 404, N_("There is no such page."))
        except UsedForAnother:
            return self.stopped(asking, 409, N_("That form was sent before with other words. Load the page anew."))
        except Stale as stale:
            return self.show(asking, "desk/meanwhile.html", 409, matter=stale.standing, form=form)

    def _to_login(self, request: Request) -> Response:
        path = request.url.path + (f"?{request.url.query}" if request.url.query else "")
        location = LOGIN if request.method == "POST" else f"{LOGIN}?next={quote(path, safe='')}"
        if "hx-request" in request.headers:  # a part of a page would swallow the login
            return Response("", 200, headers={**HEADERS, "HX-Redirect": location})
        return redirect(location)

    def show(self, asking: Asking, template: str, status: int = 200, **values: Any) -> Response:
        """A page for whoever asks, with what stands on every page of the desk."""
        key = asking.asked("told")
        told = self.forms.told(asking.entered.staff, key) if key else None
        common = {
            "asking": asking, "me": asking.entered.staff,
            "may": {right.value for right in Right if asking.entered.may(right)},
            "cooperative": asking.cooperative, "today": asking.today, "here": asking.here, "contents": CONTENTS,
            "day": lambda day: asking.language.day(day, asking.today),
            "local": lambda at: local(at, asking.cooperative.zone), "clock": asking.language.clock,
            "since": lambda at: asking.language.since(at, asking.now), "form_token": asking.entered.form_token,
            "once": lambda: secrets.token_urlsafe(16), "told": told, "current": "",
            "role_names": names.ROLES, "matter_names": names.MATTERS, "deed_names": names.DEEDS,
        }  # fmt: skip
        return self.pages.page(asking.language.tag, template, {**common, **values}, status)

    def stopped(self, asking: Asking, status: int, why: str) -> Response:
        return self.show(asking, "desk/stopped.html", status, why=asking.language.text(why))

    def write(self, asking: Asking, deed: Callable[[Connection], Mapping[str, Any]], back: str) -> Response:
        """Do what a form asks for, once, and lead on to `back`, which tells of it."""
        key = asking.form.get("once", "")
        if not key or len(key) > 64:
            raise UsedForAnother(key)
        content = json.dumps([asking.request.url.path, sorted(asking.form.items())])
        location = f"{back}{'&' if '?' in back else '?'}told={quote(key, safe='')}"
        return redirect(self.forms.once(asking.entered.staff, key, content, location, deed))


async def sent(request: Request) -> dict[str, str]:
    """The fields of a form; none where it is no form."""
    if request.headers.get("content-type", "").partition(";")[0].strip().lower() != FORM:
        return {}
    body = (await request.body()).decode("utf-8", "replace")
    return dict(parse_qsl(body, keep_blank_values=True, max_num_fields=200))


def redirect(location: str) -> Response:
    return RedirectResponse(location, 303, headers=HEADERS)


def from_our_page(request: Request) -> bool:
    """Whether a form comes from a page of ours, by what the browser says of it; every browser of today says it."""
    site = request.headers.get("sec-fetch-site")
    if site is not None and site != "same-origin":
        return False
    origin = request.headers.get("origin")
    if origin is None:
        return site == "same-origin"
    return urlsplit(origin).netloc == request.headers.get("host", "")


def is_safe(request: Request) -> bool:
    """Whether nobody on the way can read along: https, or the machine itself."""
    if request.url.scheme == "https":
        return True
    try:
        return request.client is not None and ipaddress.ip_address(request.client.host).is_loopback
    except ValueError:
        return False


def cookie_name(request: Request) -> str:
    """The prefix __Host- binds a cookie to https and to this host; the bare name is for the machine itself."""
    return "__Host-cutday" if request.url.scheme == "https" else "cutday"
