"""`cutday templates`: lists the texts that can go out in a language, and takes in the ids they are registered under."""

from __future__ import annotations

import csv
import re
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import TextIO

from service.clock import SystemClock
from service.commands.opening import opened
from service.commands.serve import read_settings
from service.store import cooperatives
from service.store.cooperatives import Registered
from service.store.session import Database
from service.templates import Template, Templates
from service.wording import spoken

COLUMNS = ("key", "text", "variables", "encoding", "segments", "sender_id", "template_id", "status")
NEEDED = ("key", "text", "sender_id", "template_id")
ID = re.compile(r"[!-~]{1,64}")
ROUNDED = re.compile(r"\d([.,]\d+)?E\+?\d+", re.IGNORECASE)  # what a spreadsheet makes of 19 digits

Ids = Mapping[str, Registered]


class BadRows(ValueError):
    """What is wrong with a file of ids: a line for each row."""


def run(
    language: str, as_csv: bool, ids: str | None, line: str | None, database_url: str | None, out: TextIO = sys.stdout
) -> int:
    """List the texts, or enter ids; SystemExit or 2 with what is wrong."""
    if language not in spoken():
        raise SystemExit(f"no texts in {language!r}; there are: {', '.join(spoken())}")
    settings = read_settings()
    line, url = line or settings.line, database_url or settings.database
    outgoing = Templates(language).outgoing
    if ids is not None:
        return _enter(outgoing, language, ids, line, url)
    on_file = _on_file(language, line, url)
    if as_csv:
        rows = csv.writer(out)
        rows.writerow(COLUMNS)
        for template in outgoing.values():
            rows.writerow(_row(template, on_file.get(template.key)))
    else:
        for template in outgoing.values():
            _print(template, on_file.get(template.key), out)
    return 0


def _row(template: Template, registered: Registered | None) -> list[str]:
    variables = " | ".join(f"{one.mark} {one.longest} ({len(one.longest)})" for one in template.variables)
    return [
        template.key, template.text, variables, template.encoding, str(template.segments),
        (registered and registered.sender_id) or "", (registered and registered.template_id) or "",
        _status(template, registered),
    ]  # fmt: skip


def _status(template: Template, registered: Registered | None) -> str:
    if registered is None or not (registered.sender_id or registered.template_id):
        return ""
    return "registered" if registered.text == template.text else "changed"


def _print(template: Template, registered: Registered | None, out: TextIO) -> None:
    print(f"{template.key}  ({template.encoding}, {template.segments} at worst)\n    {template.text}", file=out)
    for one in template.variables:
        print(f"    {one.mark}  {one.longest}  ({len(one.longest)})", file=out)
    if registered is not None and (status := _status(template, registered)):
        print(f"    {status}: sender {registered.sender_id or '-'}, template {registered.template_id or '-'}", file=out)


def _on_file(language: str, line: str, url: str) -> Ids:
    """The ids of the line's cooperative; none where there is no database or no such line yet, which is said."""
    try:
        database = opened(url)
    except SystemExit as why:
        print(f"without ids: {why}", file=sys.stderr)
        return {}
    try:
        with database.reading() as connection:
            found = cooperatives.by_line(connection, line)
            if found is None:
                print(f"without ids: no cooperative has the line {line}", file=sys.stderr)
                return {}
            registered = cooperatives.find(connection, found[1]).registered
    finally:
        database.close()
    return {key: one for (tag, key), one in registered.items() if tag == language}


def _enter(outgoing: Mapping[str, Template], language: str, file: str, line: str, url: str) -> int:
    try:
        given = read_ids(Path(file), outgoing)
    except (OSError, UnicodeDecodeError, csv.Error) as error:
        raise SystemExit(f"{file}: {error}") from None
    except BadRows as error:
        print(error, file=sys.stderr)
        return 2
    database = opened(url)
    try:
        entered = _write(database, language, given, line)
    finally:
        database.close()
    print(f"{entered} of {len(given)} texts in {language} have other ids now")
    return 0


def _write(database: Database, language: str, given: Ids, line: str) -> int:
    with database.writing() as connection:
        found = cooperatives.by_line(connection, line)
        if found is None:
            raise SystemExit(f"no cooperative has the line {line}")
        registered = cooperatives.find(connection, found[1]).registered
        unknown = Registered("", None, None)
        new = {}
        for key, one in given.items():
            was = registered.get((language, key), unknown)
            if (one.sender_id, one.template_id) != (was.sender_id, was.template_id) or (
                one.template_id and one.text != was.text
            ):
                new[key] = one
        cooperatives.register_texts(connection, found[1], language, new, by="cutday templates", at=SystemClock().now())
    return len(new)


def read_ids(file: Path, outgoing: Mapping[str, Template]) -> Ids:
    """The ids in a CSV as this command writes it, by key. Raises BadRows.

    Rows are counted as a spreadsheet does, the heading being row 1; it may part columns by semicolons, too.
    """
    with file.open(encoding="utf-8-sig", newline="") as opened_file:
        heading = opened_file.readline()
        opened_file.seek(0)
        rows = list(csv.reader(opened_file, delimiter=";" if heading.count(";") > heading.count(",") else ","))
    columns = [name.strip() for name in rows[0]] if rows else []
    missing = [name for name in NEEDED if name not in columns]
    if missing:
        raise BadRows(f"{file}: row 1: no column {', '.join(missing)}")
    found: dict[str, Registered] = {}
    wrong = []
    for number, cells in enumerate(rows[1:], 2):
        if not any(cells):
            continue
        row = dict(zip(columns, (cell.strip() for cell in cells), strict=False))
        why = _wrong(row, found, outgoing)
        if why is not None:
            wrong.append(f"{file}: row {number}: {why}")
        else:
            found[row["key"]] = Registered(row["text"], row["sender_id"] or None, row["template_id"] or None)
    if wrong:
        raise BadRows("\n".join(wrong))
    return found


def _wrong(row: Mapping[str, str], found: Ids, outgoing: Mapping[str, Template]) -> str | None:
    """What is wrong with a row, if anything is."""
    key = row.get("key", "")
    if key not in outgoing:
        return f"no text of that key: {key!r}"
    if key in found:
        return f"{key} stands in an earlier row already"
    if any(name not in row for name in NEEDED):
        return f"{key}: cells are missing"
    for name in ("sender_id", "template_id"):
        if ROUNDED.fullmatch(row[name]):
            return f"{key}: {name}: {row[name]} was rounded by a spreadsheet; format the column as text"
        if row[name] and not ID.fullmatch(row[name]):
            return f"{key}: {name}: {row[name][:70]!r} is no id: up to 64 letters, digits and marks without spaces"
    if (row["sender_id"] or row["template_id"]) and row["text"] != outgoing[key].text:
        return f"{key}: the text is not the one that goes out now; register that, and list the texts anew"
    return None
