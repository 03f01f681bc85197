"""The season board: blocks on one calendar, a page at a time; as many plans are computed as rows are shown."""

from __future__ import annotations

from datetime import date
from typing import Any

from starlette.responses import Response
from starlette.routing import Route

from dialogs.farm import Farm
from service import farms
from service.orchard.diary import blocks
from service.store import diary, growers, ledger
from service.store.ledger import STAGES, Sieve
from service.web.desk import names
from service.web.desk.desk import Asking, Desk
from service.web.desk.paging import pages_of
from service.web.desk.strip import Span, strip

ADDRESS = "/desk/board"
ROWS = 40


def routes(desk: Desk) -> list[Route]:
    return [desk.route(ADDRESS, show)]


def show(desk: Desk, asking: Asking) -> Response:
    sieve = Sieve(asking.asked("village"), asking.asked("stage", STAGES), asking.asked("wanted"))
    id_ = asking.cooperative_id
    with desk.database.reading() as connection:
        page = pages_of(ledger.count(connection, id_, sieve, asking.today), ROWS, asking.page_number)
        rows = ledger.blocks(connection, id_, sieve, asking.today, ROWS, max(page.first - 1, 0))
        shown = {row.grower_id for row in rows}
        kept = diary.live_of(connection, shown)
        people = growers.first_people(connection, shown)
        villages = ledger.villages(connection, id_)
    all_farms = {
        grower_id: farms.farm(asking.cooperative, person, kept[grower_id], asking.now, desk.languages)
        for grower_id, person in people.items()
    }
    span = Span.around(asking.today, asking.language.direction == "rtl")
    lines = [_line(row, all_farms.get(row.grower_id), span, asking.today) for row in rows]
    return desk.show(
        asking, "desk/board.html", current="board", names=names, lines=lines, page=page, sieve=sieve, span=span,
        villages=villages, address=ADDRESS, stages={one: names.STAGES[one] for one in STAGES},
    )  # fmt: skip


def _line(row: Any, farm: Farm | None, span: Span, today: date) -> dict[str, Any]:
    block = None if farm is None else blocks(farm.entries).get(row.block)
    plan = None if farm is None or block is None else farm.plan(row.block)
    drawn = None if plan is None or plan.ended else strip(plan, span, today)
    return {"row": row, "block": block, "plan": plan, "strip": drawn}
