"""A season of each kind, from joining to the first water, on black soil and on sand, with 60 mm in the third week.

Dates follow from the cut by the plan's figures, worked out by hand: leaf spray 18 days before the cut, leaf check 10
after it (14 in a month whose mean is over 32 deg C), copper 3 before the cut, second spray 2 after, cleaning from the
day after the cut, first water 7 after, last cleaning 7 after the second spray. Days lost to rain are checked against
by_hand.
"""

import json
import subprocess
import sys
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache
from io import StringIO
from typing import Any

import pytest

from service.commands.replay import demo_cooperative, run
from tests.seasons.by_hand import days_of_rest

GROWER = "+919000000001"
PLACE = demo_cooperative()


def says(at: str, text: str) -> dict[str, Any]:
    return {"at": at, "from": GROWER, "text": text}


@dataclass(frozen=True)
class Season:
    """A block's season: what is texted, what must be sent unasked, and what the rain must move.

    asked: the day set for the cut; water_off and rest_days: the rest planned for it; rained: day of the 60 mm
    cut: the day to which the rain moves the cut by the count alone
    reminders: (local time, job, day of the job) in the order in which they must come
    """

    soil: str
    asked: str
    water_off: str
    rest_days: int
    rained: str
    cut: str
    texts: tuple[tuple[str, str], ...]
    reminders: tuple[tuple[str, str, str], ...]
    end: str

    @property
    def before(self) -> list[dict[str, Any]]:
        """Joined and registered, the cut set, two months before it."""
        day = (date.fromisoformat(self.asked) - timedelta(70)).isoformat()
        told = (
            f"hello sunanda upper neem. 240 plants 12x8 feet {self.soil} soil drip planted july 2018", "yes", "no",
            f"cut {date.fromisoformat(self.asked):%-d %b}", "yes", "never",
        )  # fmt: skip
        return [says(f"{day}T09:{minute:02}", text) for minute, text in enumerate(told)]

    @property
    def lines(self) -> list[dict[str, Any]]:
        texts = [says(at, text) for at, text in self.texts]
        return [*self.before, *texts, {"at": self.end, "advance": True}]


def spray(eve: str, day: str) -> tuple[tuple[str, str, str], ...]:
    return (f"{eve}T18:30", "defoliate", day), (f"{day}T06:30", "defoliate", day)


def cut(eve: str, day: str) -> tuple[tuple[str, str, str], ...]:
    return (f"{eve}T18:30", "cut", day), (f"{day}T06:30", "cut", day)


def morning(day: str, job: str, of: str | None = None) -> tuple[tuple[str, str, str], ...]:
    return ((f"{day}T06:30", job, of or day),)


SEASONS = {
    # ambe: 45 days before 4 Jan 2027 is 20 Nov; 60 mm on its 18th day
    "ambe on black soil": Season(
        "black", "2027-01-04", "2026-11-20", 45, "2026-12-08", "2027-01-22",
        (
            ("2026-11-20T09:00", "stopped water on block 1"),
            ("2026-12-08T19:00", "rain 60"),
            ("2027-01-04T10:00", "sprayed"),
            ("2027-01-14T10:00", "leaf 90"),
            ("2027-01-19T10:00", "copper sprayed"),
            ("2027-01-22T18:00", "cut done"),
            ("2027-01-23T18:00", "cleaned"),
            ("2027-01-24T10:00", "sprayed"),
            ("2027-01-29T10:00", "watered 70 minutes"),
            ("2027-01-31T18:00", "cleaned"),
        ),
        (
            *morning("2026-11-20", "rest"),
            *spray("2027-01-03", "2027-01-04"),
            *morning("2027-01-14", "leaf_check"),
            *morning("2027-01-19", "copper"),
            *cut("2027-01-21", "2027-01-22"),
            *morning("2027-01-23", "clean", "2027-01-22"),
            *morning("2027-01-24", "second_spray"),
            *morning("2027-01-29", "water"),
            *morning("2027-01-31", "second_clean"),
        ),
        "2027-03-01T12:00",
    ),
    "ambe on sand": Season(
        "sandy", "2027-01-04", "2026-11-20", 45, "2026-12-08", "2027-01-14",
        (
            ("2026-11-20T09:00", "stopped water on block 1"),
            ("2026-12-08T19:00", "rain 60"),
            ("2026-12-27T10:00", "sprayed"),
            ("2027-01-06T10:00", "leaf 90"),
            ("2027-01-11T10:00", "copper sprayed"),
            ("2027-01-14T18:00", "cut done"),
            ("2027-01-15T18:00", "cleaned"),
            ("2027-01-16T10:00", "sprayed"),
            ("2027-01-21T10:00", "watered 70 minutes"),
            ("2027-01-23T18:00", "cleaned"),
        ),
        (
            *morning("2026-11-20", "rest"),
            *spray("2026-12-26", "2026-12-27"),
            *morning("2027-01-06", "leaf_check"),
            *morning("2027-01-11", "copper"),
            *cut("2027-01-13", "2027-01-14"),
            *morning("2027-01-15", "clean", "2027-01-14"),
            *morning("2027-01-16", "second_spray"),
            *morning("2027-01-21", "water"),
            *morning("2027-01-23", "second_clean"),
        ),
        "2027-03-01T12:00",
    ),
    # mrig: 45 days before 20 May is 5 Apr; May's mean is 32.4 deg C, so the leaves are given 14 days
    "mrig on black soil": Season(
        "black", "2026-05-20", "2026-04-05", 45, "2026-04-23", "2026-06-06",
        (
            ("2026-04-05T09:00", "stopped water on block 1"),
            ("2026-04-23T19:00", "rain 60"),
            ("2026-05-19T08:00", "sprayed"),
            ("2026-06-02T10:00", "leaf 90"),
            ("2026-06-03T10:00", "copper sprayed"),
            ("2026-06-06T18:00", "cut done"),
            ("2026-06-07T18:00", "cleaned"),
            ("2026-06-08T10:00", "sprayed"),
            ("2026-06-13T10:00", "watered 70 minutes"),
            ("2026-06-15T18:00", "cleaned"),
        ),
        (
            *morning("2026-04-05", "rest"),
            *spray("2026-05-18", "2026-05-19"),
            *morning("2026-06-02", "leaf_check"),
            *morning("2026-06-03", "copper"),
            *cut("2026-06-05", "2026-06-06"),
            *morning("2026-06-07", "clean", "2026-06-06"),
            *morning("2026-06-08", "second_spray"),
            *morning("2026-06-13", "water"),
            *morning("2026-06-15", "second_clean"),
        ),
        "2026-08-01T12:00",
    ),
    "mrig on sand": Season(
        "sandy", "2026-05-20", "2026-04-05", 45, "2026-04-23", "2026-05-25",
        (
            ("2026-04-05T09:00", "stopped water on block 1"),
            ("2026-04-23T19:00", "rain 60"),
            ("2026-05-07T08:00", "sprayed"),
            ("2026-05-21T10:00", "leaf 90"),
            ("2026-05-22T10:00", "copper sprayed"),
            ("2026-05-25T18:00", "cut done"),
            ("2026-05-26T18:00", "cleaned"),
            ("2026-05-27T10:00", "sprayed"),
            ("2026-06-01T10:00", "watered 70 minutes"),
            ("2026-06-03T18:00", "cleaned"),
        ),
        (
            *morning("2026-04-05", "rest"),
            *spray("2026-05-06", "2026-05-07"),
            *morning("2026-05-21", "leaf_check"),
            *morning("2026-05-22", "copper"),
            *cut("2026-05-24", "2026-05-25"),
            *morning("2026-05-26", "clean", "2026-05-25"),
            *morning("2026-05-27", "second_spray"),
            *morning("2026-06-01", "water"),
            *morning("2026-06-03", "second_clean"),
        ),
        "2026-08-01T12:00",
    ),
    # hasta: 25 days before 11 Sep is 17 Aug, and the spray already on 24 Aug; it is wet, and nothing is sprayed: said
    # again, asked when its window ends. Then 60 mm on the 18th day: the spray is announced again for its new day.
    "hasta on black soil": Season(
        "black", "2026-09-11", "2026-08-17", 25, "2026-09-04", "2026-09-29",
        (
            ("2026-08-17T09:00", "stopped water on block 1"),
            ("2026-09-04T19:00", "rain 60"),
            ("2026-09-11T10:00", "sprayed"),
            ("2026-09-21T10:00", "leaf 90"),
            ("2026-09-26T10:00", "copper sprayed"),
            ("2026-09-29T18:00", "cut done"),
            ("2026-09-30T18:00", "cleaned"),
            ("2026-10-01T10:00", "sprayed"),
            ("2026-10-06T10:00", "watered 70 minutes"),
            ("2026-10-08T18:00", "cleaned"),
        ),
        (
            *morning("2026-08-17", "rest"),
            *spray("2026-08-23", "2026-08-24"),
            *morning("2026-08-25", "defoliate", "2026-08-24"),
            *morning("2026-08-30", "defoliate", "2026-08-24"),
            *spray("2026-09-10", "2026-09-11"),
            *morning("2026-09-21", "leaf_check"),
            *morning("2026-09-26", "copper"),
            *cut("2026-09-28", "2026-09-29"),
            *morning("2026-09-30", "clean", "2026-09-29"),
            *morning("2026-10-01", "second_spray"),
            *morning("2026-10-06", "water"),
            *morning("2026-10-08", "second_clean"),
        ),
        "2026-12-01T12:00",
    ),
    # On sand the cut moves to 19 Sep and its spray to 1 Sep, which is past: it is late and said on the next morning.
    # Sprayed on 5 Sep, the cut is never before 15 days after it: 20 Sep.
    "hasta on sand": Season(
        "sandy", "2026-09-11", "2026-08-17", 25, "2026-09-04", "2026-09-19",
        (
            ("2026-08-17T09:00", "stopped water on block 1"),
            ("2026-09-04T19:00", "rain 60"),
            ("2026-09-05T10:00", "sprayed"),
            ("2026-09-15T10:00", "leaf 90"),
            ("2026-09-17T10:00", "copper sprayed"),
            ("2026-09-20T18:00", "cut done"),
            ("2026-09-21T18:00", "cleaned"),
            ("2026-09-22T10:00", "sprayed"),
            ("2026-09-27T10:00", "watered 70 minutes"),
            ("2026-09-29T18:00", "cleaned"),
        ),
        (
            *morning("2026-08-17", "rest"),
            *spray("2026-08-23", "2026-08-24"),
            *morning("2026-08-25", "defoliate", "2026-08-24"),
            *morning("2026-08-30", "defoliate", "2026-08-24"),
            *morning("2026-09-05", "defoliate", "2026-09-01"),
            *morning("2026-09-15", "leaf_check"),
            *morning("2026-09-17", "copper"),
            *cut("2026-09-19", "2026-09-20"),
            *morning("2026-09-21", "clean", "2026-09-20"),
            *morning("2026-09-22", "second_spray"),
            *morning("2026-09-27", "water"),
            *morning("2026-09-29", "second_clean"),
        ),
        "2026-12-01T12:00",
    ),
}  # fmt: skip
each_season = pytest.mark.parametrize("name", SEASONS)


def play(lines: list[dict[str, Any]]) -> list[dict[str, Any]]:
    out, err = StringIO(), StringIO()
    status = run(StringIO(as_input(lines)), out, err, None)
    assert (status, err.getvalue()) == (0, "")
    return [json.loads(line) for line in out.getvalue().splitlines()]


def as_input(lines: list[dict[str, Any]]) -> str:
    return "".join(json.dumps(line) + "\n" for line in lines)


@cache
def played(name: str) -> list[dict[str, Any]]:
    return play(SEASONS[name].lines)


def reminders(sent: list[dict[str, Any]]) -> list[tuple[str, str, str]]:
    """(local time, job, day of the job) of each job that is said unasked, in order."""
    found = []
    for text in sent:
        if text["because"] == "reminder" and text["template"].startswith("reminder."):
            values = text["values"]
            for one in values.get("items") or [values]:
                found.append((text["at"][:16], one["job"], one["date"]))
    return found


def of(sent: list[dict[str, Any]], template: str) -> dict[str, Any]:
    """The values of the only text of this template."""
    (text,) = [text for text in sent if text["template"] == template]
    return dict(text["values"])


@each_season
def test_every_reminder_comes_on_its_morning_and_no_other(name: str) -> None:
    assert reminders(played(name)) == list(SEASONS[name].reminders)


@each_season
def test_the_plan_is_counted_back_from_the_day_set(name: str) -> None:
    season = SEASONS[name]
    values = of(played(name), "set_cut_day.kept")

    assert (values["cut"], values["date"], values["rest_start"]) == (season.asked, season.asked, season.water_off)
    assert values["defoliate"] == (date.fromisoformat(season.asked) - timedelta(18)).isoformat()


@each_season
def test_rain_in_the_third_week_moves_the_cut_by_its_soil(name: str) -> None:
    """The days lost are those of by_hand; black soil holds the water for longer than sand."""
    season = SEASONS[name]
    rained = date.fromisoformat(season.rained)
    water_off = date.fromisoformat(season.water_off)
    assert 15 <= (rained - water_off).days <= 21
    complete = days_of_rest(water_off, {rained: 60.0}, season.soil, season.rest_days, PLACE)

    values = of(played(name), "log_rain.moved")

    assert values["days_lost"] == complete - season.rest_days
    assert values["cut"] == season.cut == (water_off + timedelta(complete)).isoformat()


def test_black_soil_and_sand_are_moved_by_different_days() -> None:
    """60 mm: 18 and 10 days in ambe, 17 and 5 in the heat of mrig, 18 and 8 in hasta."""
    lost = {name: of(played(name), "log_rain.moved")["days_lost"] for name in SEASONS}

    assert lost == {
        "ambe on black soil": 18, "ambe on sand": 10, "mrig on black soil": 17, "mrig on sand": 5,
        "hasta on black soil": 18, "hasta on sand": 8,
    }  # fmt: skip


@each_season
def test_without_rain_the_cut_falls_on_the_day_set(name: str) -> None:
    """Every day counts one, as the trade counts them."""
    season = SEASONS[name]
    dry = [line for line in season.lines if line.get("text") != "rain 60" and line["at"] <= season.rained]
    sent = play([*dry, says(f"{season.rained}T19:00", "plan")])

    values = sent[-1]["values"]
    assert (values["days_lost"], values["rest_start"]) == (0, season.water_off)
    if values["defoliate"] >= season.rained:  # in hasta the spray is late by now, and what hangs on it waits
        assert values["cut"] == season.asked


def test_the_command_gives_the_same_bytes_each_time() -> None:
    """Two runs of `cutday replay` in processes of their own, and the run in this one."""
    name = "ambe on black soil"
    text = as_input([{"cooperative": PLACE}, *SEASONS[name].lines])
    command = [sys.executable, "-m", "service", "replay"]

    runs = [subprocess.run(command, input=text.encode(), capture_output=True, timeout=60) for _ in range(2)]

    assert [done.returncode for done in runs] == [0, 0], runs[0].stderr.decode()
    assert runs[0].stdout == runs[1].stdout
    assert [json.loads(line) for line in runs[0].stdout.splitlines()] == played(name)
