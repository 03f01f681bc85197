"""Today: what needs a person, in order of harm; and a matter's own page, where it is taken, put off or closed."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date, datetime, timedelta
from itertools import groupby
from typing import Any

from sqlalchemy import Connection
from starlette.responses import Response
from starlette.routing import Route

from service.accounts import Right
from service.clock import instant
from service.matters import GROUP_OF, GROUPS, NOON, RANKS, UNKNOWN, Unfit, done, group_of
from service.orchard.job import steps
from service.store import ledger, matters
from service.store.matters import SHOWN, Standing
from service.web.desk import names
from service.web.desk.desk import Asking, Desk, Missing
from service.web.desk.paging import pages_of

ADDRESS = "/desk/today"
ROWS = 50
DAYS_TO_PUT_OFF = 14
FORTNIGHT = 14
PLACES = {group: place for place, group in enumerate(GROUPS)}


def routes(desk: Desk) -> list[Route]:
    return [
        desk.route(ADDRESS, show),
        desk.route("/desk/matters/{matter}", one),
        desk.route("/desk/matters/{matter}/{deed}", act, Right.ATTEND, "POST"),
    ]


def show(desk: Desk, asking: Asking) -> Response:
    chosen = asking.asked("show", SHOWN) or SHOWN[0]
    left_since = _noon(asking) if chosen == "waiting" and asking.here.time() >= NOON else None
    with desk.database.reading() as connection:
        by_kind = matters.counts(connection, asking.cooperative_id, chosen, asking.entered.staff.id, asking.today)
        page = pages_of(sum(by_kind.values()), ROWS, asking.page_number)
        rows = matters.listed(
            connection, asking.cooperative_id, chosen, asking.entered.staff.id, asking.today,
            groups={kind: PLACES[group] for kind, group in GROUP_OF.items()}, ranks=RANKS, unknown=PLACES[UNKNOWN],
            left_since=left_since, limit=ROWS, offset=page.first - 1 if page.sum else 0,
        )  # fmt: skip
        days = ledger.jobs_by_day(connection, asking.cooperative_id, asking.today, FORTNIGHT)
        figures = ledger.figures_of_the_day(connection, asking.cooperative_id, asking.today, _midnight(asking))
    in_group: dict[str, int] = {}
    for kind, count in by_kind.items():
        in_group[group_of(kind)] = in_group.get(group_of(kind), 0) + count
    return desk.show(
        asking, "desk/today.html", current="today", names=names, show=chosen, shown=SHOWN, page=page,
        groups=list(_grouped(rows, chosen)), in_group=in_group, left_since=left_since, figures=figures,
        fortnight=_fortnight(days, asking.today), jobs=tuple(steps()), address=ADDRESS,
    )  # fmt: skip


def _grouped(rows: list[Standing], show: str) -> Iterator[tuple[str | None, list[Standing]]]:
    """The rows under the names of their groups; closed ones stand in one list."""

    def group(row: Standing) -> str | None:
        return None if show == "closed" else group_of(row.kind)

    return ((name, list(of_group)) for name, of_group in groupby(rows, group))


def _fortnight(days: Mapping[tuple[date, str], int], today: date) -> list[tuple[date, dict[str, int]]]:
    return [
        (day, {job: days.get((day, job), 0) for job in steps()})
        for day in (today + timedelta(ahead) for ahead in range(FORTNIGHT))
    ]


def _noon(asking: Asking) -> datetime:
    return instant(datetime.combine(asking.today, NOON), asking.cooperative.zone)


def _midnight(asking: Asking) -> datetime:
    return instant(datetime.combine(asking.today, datetime.min.time()), asking.cooperative.zone)


def one(desk: Desk, asking: Asking, status: int = 200, wrong: str = "") -> Response:
    """A matter, what was done with it, and the forms for doing more."""
    with desk.database.reading() as connection:
        matter = matters.standing(connection, asking.cooperative_id, asking.id("matter"))
        if matter is None:
            raise Missing(asking.request.path_params["matter"])
        deeds = matters.history(connection, asking.cooperative_id, matter.id)
        texts = ledger.texts(connection, asking.cooperative_id, matter.grower_id, 8) if matter.grower_id else []
    days = [asking.today + timedelta(ahead) for ahead in range(1, DAYS_TO_PUT_OFF + 1)]
    return desk.show(
        asking, "desk/matter.html", status, current="today", names=names, matter=matter, deeds=deeds, days=days,
        texts=texts, wrong=wrong, group=group_of(matter.kind),
    )  # fmt: skip


def act(desk: Desk, asking: Asking) -> Response:
    """A form on a matter: taken, given_back, put_off, closed, opened_again."""
    matter_id, deed = asking.id("matter"), asking.request.path_params["deed"]
    form = asking.form
    seen = form.get("seen", "")
    if deed not in names.DEEDS or not (seen.isascii() and seen.isdigit() and len(seen) < 10):
        raise Missing(deed)

    def write(connection: Connection) -> Mapping[str, Any]:
        standing = done(
            connection, asking.entered.staff, matter_id, deed, int(seen), form.get("said", ""),
            _day(form.get("until", "")), asking.today, asking.now,
        )  # fmt: skip
        return {"what": "matter", "deed": deed, "matter": standing.id, "kind": standing.kind, "seen": standing.deed_id}

    try:
        return desk.write(asking, write, ADDRESS)
    except Unfit as refused:
        return one(desk, asking, 422, str(refused))
    except LookupError:
        raise Missing(str(matter_id)) from None


def _day(text: str) -> date | None:
    try:
        return date.fromisoformat(text)
    except ValueError:
        return None
