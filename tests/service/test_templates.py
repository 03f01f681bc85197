"""Texts listed for registration, and the ids that come back from it."""

import csv
from collections.abc import Iterator
from io import StringIO
from pathlib import Path
from typing import Any

import pytest

from service.commands import templates
from service.store import migrate, schema
from service.store.session import Database
from service.templates import Templates
from service.wording import spoken
from tests.service.world import LINE, World

SENDER, TEMPLATE = "1101234567890123456", "1107161234567890123"  # 19 digits, as they are given out in one country


class Listed:
    """A cooperative in a database of this release, and the command run on it."""

    def __init__(self, folder: Path) -> None:
        self.url = f"sqlite:///{folder}/cutday.db"
        self.file = folder / "ids.csv"
        self.database = Database(self.url)
        migrate.upgrade(self.database)
        self.world = World(self.database)

    def rows(self, language: str = "en") -> dict[str, dict[str, str]]:
        out = StringIO()
        assert templates.run(language, True, None, LINE, self.url, out) == 0
        return {row["key"]: row for row in csv.DictReader(StringIO(out.getvalue()))}

    def enter(self, *rows: dict[str, Any], language: str = "en", delimiter: str = ",") -> int:
        with self.file.open("w", encoding="utf-8-sig", newline="") as file:
            writer = csv.DictWriter(file, templates.COLUMNS, delimiter=delimiter)
            writer.writeheader()
            writer.writerows(rows)
        return templates.run(language, False, str(self.file), LINE, self.url)


@pytest.fixture
def listed(tmp_path: Path) -> Iterator[Listed]:
    listed = Listed(tmp_path)
    yield listed
    listed.database.close()


def test_a_row_a_text(listed: Listed) -> None:
    rows = listed.rows()

    assert rows["thanks"] == {
        "key": "thanks", "text": "Thank you.", "variables": "", "encoding": "gsm7", "segments": "1", "sender_id": "",
        "template_id": "", "status": "",
    }  # fmt: skip
    assert rows["todays_jobs.none"]["text"] == "No work on {date}. Next: {next}."
    date, next_ = rows["todays_jobs.none"]["variables"].split(" | ")
    assert date.startswith("{date} ")
    assert date.endswith(" (10)")
    assert next_.startswith("{next} second clean up, open since Wed ")
    assert not {"job.cut", "form.blocks", "list.last", "reminder.several.item_cut", "said.date"} & rows.keys()


@pytest.mark.parametrize("language", spoken())
def test_every_text_with_each_of_its_variables(language: str, listed: Listed) -> None:
    rows = listed.rows(language)

    assert rows.keys() == Templates("en").outgoing.keys()
    for row in rows.values():
        named = [each.partition(" ")[0] for each in row["variables"].split(" | ") if each]
        assert all(mark in row["text"] for mark in named)
        assert row["text"].count("{") == sum(row["text"].count(mark) for mark in named)


def test_list_to_read(listed: Listed) -> None:
    out = StringIO()

    templates.run("en", False, None, LINE, listed.url, out)

    assert "\nthanks  (gsm7, 1 at worst)\n    Thank you.\n" in out.getvalue()


def test_ids_travel_with_the_text(listed: Listed) -> None:
    row = listed.rows()["join.agree"] | {"sender_id": SENDER, "template_id": TEMPLATE}
    assert listed.enter(row) == 0
    assert listed.rows()["join.agree"] == row | {"status": "registered"}

    listed.world.says("hello")
    listed.world.says("मला नोंदणी करायची आहे", "+919000000002")

    english, marathi = listed.world.channel.texts
    assert (english.sender_id, english.template_id) == (SENDER, TEMPLATE)
    assert (marathi.sender_id, marathi.template_id) == (None, None)  # registered in its own language, or not at all
    assert (listed.world.sent[0].sender_id, listed.world.sent[0].template_id) == (SENDER, TEMPLATE)


def test_text_that_changed_since_is_shown(listed: Listed) -> None:
    with listed.database.writing() as connection:
        connection.execute(
            schema.registered_texts.insert().values(
                cooperative_id=listed.world.cooperative_id, language="en", key="thanks", text="Thanks!",
                sender_id=SENDER, template_id=TEMPLATE, by="test", at=listed.world.clock.now(),
            )
        )  # fmt: skip

    assert listed.rows()["thanks"]["status"] == "changed"


def test_newest_ids_hold_and_empty_ones_withdraw(listed: Listed) -> None:
    row = listed.rows()["thanks"]
    for template_id in (TEMPLATE, "T-2", "T-2", ""):
        assert listed.enter(row | {"template_id": template_id}, delimiter=";") == 0

    assert listed.rows()["thanks"]["template_id"] == ""
    assert [one.template_id for one in listed.world.rows(schema.registered_texts)] == [TEMPLATE, "T-2", None]


@pytest.mark.parametrize(
    ("change", "why"),
    [
        ({"key": "no_such.text"}, "no text of that key"),
        ({"key": "join.agree"}, "join.agree stands in an earlier row already"),
        ({"template_id": "1.10716E+18"}, "rounded by a spreadsheet"),
        ({"template_id": "1,10716E+18"}, "rounded by a spreadsheet"),
        ({"template_id": "110 716"}, "is no id"),
        ({"sender_id": "x" * 65}, "is no id"),
        ({"text": "Thanks."}, "not the one that goes out now"),
    ],
)
def test_one_bad_row_and_nothing_is_entered(
    listed: Listed, change: dict[str, str], why: str, capsys: pytest.CaptureFixture[str]
) -> None:
    rows = listed.rows()
    good = rows["join.agree"] | {"template_id": TEMPLATE}

    assert listed.enter(good, rows["thanks"] | {"template_id": TEMPLATE} | change) == 2

    complaint = capsys.readouterr().err
    assert complaint.count("\n") == 1
    assert "ids.csv: row 3: " in complaint
    assert why in complaint
    assert listed.world.rows(schema.registered_texts) == []


def test_file_without_its_columns(listed: Listed, capsys: pytest.CaptureFixture[str]) -> None:
    listed.file.write_text("key,id\nthanks,1\n")

    assert templates.run("en", False, str(listed.file), LINE, listed.url) == 2
    assert "row 1: no column text, sender_id, template_id" in capsys.readouterr().err


def test_without_a_database_the_texts_are_listed_all_the_same(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = StringIO()

    assert templates.run("hi", True, None, None, f"sqlite:///{tmp_path}/none.db", out) == 0
    assert "without ids: no database" in capsys.readouterr().err
    assert len(out.getvalue().splitlines()) == len(Templates("hi").outgoing) + 1


def test_unknown_language(listed: Listed) -> None:
    with pytest.raises(SystemExit, match=r"no texts in 'fr'; there are: ar, en"):
        templates.run("fr", True, None, LINE, listed.url)
