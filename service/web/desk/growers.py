"""Growers and blocks: the ledger of blocks, a grower's page, a block's page."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

from sqlalchemy import Connection
from starlette.responses import Response
from starlette.routing import Route

from service import farms
from service.orchard.block import Block
from service.orchard.diary import Entry, blocks, of_block
from service.store import diary, growers, ledger
from service.store.ledger import STAGES, Sieve
from service.web.desk import names
from service.web.desk.desk import Asking, Desk, Missing
from service.web.desk.paging import pages_of

ADDRESS = "/desk/growers"
ROWS = 50
TEXTS = 40


def routes(desk: Desk) -> list[Route]:
    return [
        desk.route(ADDRESS, listed),
        desk.route(ADDRESS + "/{grower}", of_grower),
        desk.route(ADDRESS + "/{grower}/blocks/{block}", of_one_block),
    ]


def listed(desk: Desk, asking: Asking) -> Response:
    """A page of blocks from the snapshot; what a block is comes from the diary of the growers shown."""
    stage = asking.asked("stage", (*STAGES, "no_block"))
    sieve = Sieve(asking.asked("village"), stage, asking.asked("wanted"))
    id_ = asking.cooperative_id
    with desk.database.reading() as connection:
        if stage == "no_block":
            page = pages_of(ledger.count_without_a_block(connection, id_, sieve.wanted), ROWS, asking.page_number)
            rows = ledger.without_a_block(connection, id_, sieve.wanted, ROWS, max(page.first - 1, 0))
            known: Mapping[int, Mapping[str, Block]] = {}
        else:
            page = pages_of(ledger.count(connection, id_, sieve, asking.today), ROWS, asking.page_number)
            rows = ledger.blocks(connection, id_, sieve, asking.today, ROWS, max(page.first - 1, 0))
            known = _blocks(connection, id_, {row.grower_id for row in rows})
        villages = ledger.villages(connection, id_)
    return desk.show(
        asking, "desk/growers.html", current="growers", names=names, rows=rows, known=known, page=page, sieve=sieve,
        villages=villages, address=ADDRESS,
    )  # fmt: skip


def _blocks(connection: Connection, cooperative_id: int, grower_ids: set[int]) -> dict[int, Mapping[str, Block]]:
    told: dict[int, list[Entry]] = {id_: [] for id_ in grower_ids}
    for row in ledger.told_of_blocks(connection, cooperative_id, grower_ids):
        told[row.grower_id].append(_entry(row))
    return {id_: blocks(entries) for id_, entries in told.items()}


def _entry(row: Any) -> Entry:
    return Entry(row.id, row.kind, row.block, row.day, row.values, row.at, row.said_by)


def of_grower(desk: Desk, asking: Asking) -> Response:
    id_, grower_id = asking.cooperative_id, asking.id("grower")
    with desk.database.reading() as connection:
        grower = ledger.grower(connection, id_, grower_id)
        if grower is None:
            raise Missing(str(grower_id))
        numbers = ledger.numbers_of(connection, id_, grower_id)
        rows = ledger.blocks_of(connection, id_, grower_id)
        known = _blocks(connection, id_, {grower_id})
        texts = ledger.texts(connection, id_, grower_id, TEXTS)
    return desk.show(
        asking, "desk/grower.html", current="growers", names=names, grower=grower, numbers=numbers, rows=rows,
        known=known[grower_id], texts=texts,
    )  # fmt: skip


def of_one_block(desk: Desk, asking: Asking) -> Response:
    """The block's facts, how it stands in a sentence, its plan, its diary with what was taken back, the texts."""
    id_, grower_id, number = asking.cooperative_id, asking.id("grower"), asking.request.path_params["block"]
    with desk.database.reading() as connection:
        grower = ledger.grower(connection, id_, grower_id)
        person = growers.first_person(connection, grower_id) if grower is not None else None
        if grower is None or person is None:
            raise Missing(str(grower_id))
        kept = diary.live(connection, grower_id)
        rows = ledger.diary(connection, id_, grower_id)
        texts = ledger.texts(connection, id_, grower_id, TEXTS)
    farm = farms.farm(asking.cooperative, person, kept, asking.now, desk.languages)
    block = farm.every_block.get(number)
    if block is None:
        raise Missing(number)
    about = {entry.id for entry in of_block([_entry(row) for row in rows], block)}
    plan = farm.plan(number)
    by_day = sorted((row for row in rows if row.id in about), key=lambda row: (row.day, row.id), reverse=True)
    return desk.show(
        asking, "desk/block.html", current="growers", names=names, grower=grower, number=person.number, block=block,
        plan=plan, diary=by_day, texts=texts,
        told_of=lambda row: _told(asking, row),
    )  # fmt: skip


def _told(asking: Asking, row: Any) -> list[str]:
    """The values of an entry in words, each for itself."""
    language, values = asking.language, row.values
    figure, word, found = language.figure, language.word, []
    for name, value in values.items():
        match name, value:
            case (("date" | "until"), str()):
                found.append(language.day(date.fromisoformat(value), asking.today))
            case "month", str():
                found.append(language.words.value("", value, asking.today))
            case "job", str():
                found.append(word("job", value))
            case (("soil" | "water_source" | "trouble" | "product" | "rain_word" | "shoots"), str()):
                found.append(word(name, value))
            case "season", str():
                found.append(language.text(names.SEASONS.get(value, value)))
            case "ruling", str():
                found.append(language.text(names.RULINGS.get(value, value)))
            case "picked", bool():
                found.append(language.text("all picked") if value else language.text("not all picked"))
            case _, (int() | float()) if name in names.FIGURES:
                found.append(language.text(names.FIGURES[name], number=figure(value)))
            case "spacing_ft", [first, second]:
                found.append(language.text("%(row)s × %(plant)s ft", row=figure(first), plant=figure(second)))
            case "spacing_m", [first, second] if "spacing_ft" not in values:
                found.append(language.text("%(row)s × %(plant)s m", row=figure(first), plant=figure(second)))
            case "planted", str():
                found.append(language.text("planted %(when)s", when=language.month(value)))
            case (("village" | "name" | "reason" | "adviser"), str()):
                found.append(value)
            case _, (int() | float()):
                found.append(f"{name.replace('_', ' ')} {figure(value)}")
    return found
