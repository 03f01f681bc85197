"""`cutday replay`: its lines in and out, its errors, and that it plays a season the same each time."""

import io
import json
from pathlib import Path
from typing import Any

import pytest

from service.commands import replay
from tests.service.world import SUNANDA, description

JOINED = [
    {"at": "2026-10-23T18:40", "from": SUNANDA, "text": "join"},
    {"at": "2026-10-23T18:41", "from": SUNANDA, "text": "yes"},
    {"at": "2026-10-23T18:42", "from": SUNANDA, "text": "cancel"},
    {
        "at": "2026-10-23T18:43",
        "from": SUNANDA,
        "text": "block 1 240 plants 12x8 feet black soil drip planted july 2021",
    },
    {"at": "2026-10-23T18:44", "from": SUNANDA, "text": "no"},
    {"at": "2026-10-23T18:45", "from": SUNANDA, "text": "cut block 1 on 4 jan 2027"},
]


def play(lines: list[Any], database: str | None = None) -> tuple[list[dict[str, Any]], str, int]:
    """The lines that come out, what is said on stderr, the exit code."""
    given = "\n".join(line if isinstance(line, str) else json.dumps(line) for line in lines)
    out, err = io.StringIO(), io.StringIO()
    code = replay.run(io.StringIO(given), out, err, database)
    return [json.loads(line) for line in out.getvalue().splitlines()], err.getvalue(), code


def test_text_is_answered_in_one_line() -> None:
    (line,), err, code = play(JOINED[:1])

    assert (err, code) == ("", 0)
    assert list(line) == [
        "at", "to", "text", "because", "template", "values", "language", "encoding", "segments",
    ]  # fmt: skip
    assert (line["at"], line["to"], line["because"], line["template"], line["encoding"], line["segments"]) == (
        "2026-10-23T18:40:00", SUNANDA, "reply", "join.agree", "gsm7", 1,
    )  # fmt: skip


def test_what_falls_due_on_the_way_happens_at_its_own_time() -> None:
    """45 days before 4 Jan 2027 is 20 Nov 2026."""
    lines, err, code = play([*JOINED, {"at": "2026-12-01T12:00", "advance": True}])

    assert (err, code) == ("", 0)
    reminders = [line for line in lines if line["because"] == "reminder"]
    assert [(line["at"], line["values"]["job"], line["values"]["block"]) for line in reminders] == [
        ("2026-11-20T06:30:00", "rest", "1"),
        ("2026-11-21T06:30:00", "rest", "1"),
        ("2026-11-24T06:30:00", "rest", "1"),
    ]
    assert [line["at"] for line in lines] == sorted(line["at"] for line in lines)


def test_same_input_gives_the_same_bytes() -> None:
    lines = [
        *JOINED,
        {"at": "2026-11-20T17:00", "from": SUNANDA, "text": "rain 30"},
        {"at": "2026-12-20T09:00", "gauge": {"date": "2026-12-19", "rain_mm": 22.5}},
        {"at": "2027-02-01T12:00", "advance": True},
    ]

    assert play(lines) == play(lines)


def test_many_small_steps_come_to_the_same_as_one_large() -> None:
    """Nothing hangs on how often the clock is moved."""
    days = [
        {"at": f"2026-11-{day:02}T{hour:02}:17", "advance": True} for day in range(1, 29) for hour in range(0, 24, 5)
    ]

    assert play([*JOINED, *days])[0] == play([*JOINED, days[-1]])[0]


def test_database_that_was_played_goes_on_from_where_it_was_left(tmp_path: Path) -> None:
    """Two inputs one after the other come to the same as both in one; the reminders between them are sent in time."""
    url = f"sqlite:///{tmp_path}/cutday.db"
    rest = [{"at": "2026-11-25T12:00", "advance": True}, {"at": "2026-11-25T12:01", "from": SUNANDA, "text": "help"}]

    parts = play(JOINED, url)[0] + play(rest, url)[0]

    assert parts == play([*JOINED, *rest])[0]
    _, err, code = play(JOINED[:1], url)
    assert (err, code) == ("line 1: time goes back: 2026-10-23T18:40\n", 2)


@pytest.mark.parametrize(
    "bad",
    [
        "rain 12",
        "[1, 2]",
        "{}",
        {"at": "2026-10-24T09:00"},
        {"at": "2026-10-24T09:00", "from": SUNANDA},
        {"at": "2026-10-24T09:00", "text": "rain 12"},
        {"at": "2026-10-24T09:00", "from": SUNANDA, "text": 12},
        {"at": "2026-10-24T09:00", "from": SUNANDA, "text": "rain 12", "advance": True},
        {"at": "2026-10-24T09:00", "advance": False},
        {"at": "2026-10-24", "advance": True},
        {"at": "2026-10-24T25:00", "advance": True},
        {"at": "2026-02-30T09:00", "advance": True},
        {"at": 20261024, "advance": True},
        {"at": "2026-10-22T09:00", "advance": True},
        {"at": "2026-10-24T09:00", "gauge": 12},
        {"at": "2026-10-24T09:00", "gauge": {"rain_mm": 12}},
        {"at": "2026-10-24T09:00", "gauge": {"date": "2026-10-24"}},
        {"at": "2026-10-24T09:00", "gauge": {"date": "2026-10-24", "rain_mm": "much"}},
        {"at": "2026-10-24T09:00", "gauge": {"date": "2026-10-24", "rain_mm": -1}},
        {"at": "2026-10-24T09:00", "adviser": {"to": "+919000000009", "block": "1", "ruling": "withdrawn"}},
        {"at": "2026-10-24T09:00", "adviser": {"to": SUNANDA, "block": "7", "ruling": "withdrawn"}},
        {"at": "2026-10-24T09:00", "adviser": {"to": SUNANDA, "block": "1", "ruling": "perhaps"}},
        {"at": "2026-10-24T09:00", "adviser": {"to": SUNANDA, "block": "1", "ruling": "cut_fixed"}},
        {"at": "2026-10-24T09:00", "adviser": {"to": SUNANDA, "block": "1", "ruling": "cut_fixed", "date": "soon"}},
        {"cooperative": description()},
    ],
    ids=str,
)
def test_bad_line_ends_it_with_its_number(bad: Any) -> None:
    """What came before is printed, nothing after it is read; a blank line counts as a line and is no fault."""
    lines, err, code = play([JOINED[0], "", bad, JOINED[1]])

    assert code == 2
    assert err.startswith("line 3: ")
    assert err.count("\n") == 1
    assert [line["template"] for line in lines] == ["join.agree"]


@pytest.mark.parametrize(
    "wrong",
    [
        {"timezone": "Mars/Base"},
        {"timezone": 5},
        {"normals": []},
        {"normals": [{}] * 12},
        {"latitude": "north"},
        {"settings": {"no_such_setting": 1}},
        {"settings": {"morning": "late"}},
        {"settings": []},
        {"villages": [{"name": "Red Bank"}]},
        {"villages": "Red Bank"},
        {"name": None},
    ],
    ids=str,
)
def test_wrong_cooperative(wrong: dict[str, Any]) -> None:
    lines, err, code = play([{"cooperative": description(**wrong)}, JOINED[0]])

    assert (lines, code) == ([], 2)
    assert err.startswith("line 1: cooperative: ")
    assert err.count("\n") == 1


def test_cooperative_of_the_first_line() -> None:
    """Its language, its hours."""
    settings = {"morning": "07:15", "quiet": ["21:00", "06:00"]}
    lines, err, _ = play(
        [{"cooperative": description(settings=settings)}, *JOINED, {"at": "2026-11-20T12:00", "advance": True}]
    )

    assert err == ""
    assert lines[-1]["at"] == "2026-11-20T07:15:00"


def test_hour_that_comes_twice_needs_its_offset_and_shows_it() -> None:
    """Madrid, 25 Oct 2026: 02:30 is first +02:00, then +01:00 (tz database)."""
    madrid = {"cooperative": description(timezone="Europe/Madrid")}

    lines, err, code = play(
        [
            madrid,
            {"at": "2026-10-25T01:30", "from": SUNANDA, "text": "join"},
            {"at": "2026-10-25T02:30+02:00", "from": SUNANDA, "text": "join"},
            {"at": "2026-10-25T02:30+01:00", "from": SUNANDA, "text": "join"},
            {"at": "2026-10-25T03:30", "from": SUNANDA, "text": "join"},
        ]
    )
    assert (err, code) == ("", 0)
    assert [line["at"] for line in lines] == [
        "2026-10-25T01:30:00",
        "2026-10-25T02:30:00+02:00",
        "2026-10-25T02:30:00+01:00",
        "2026-10-25T03:30:00",
    ]

    lines, err, code = play([madrid, {"at": "2026-10-25T02:30", "from": SUNANDA, "text": "join"}])
    assert (lines, code) == ([], 2)
    assert "offset" in err
