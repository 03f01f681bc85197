"""Plans that the gauge and the adviser move, each told once, and seasons over a clock change and a year's end.

Black soil, cut set for 4 Jan 2027: rest 20 Nov, leaf spray 17 Dec. Days lost are those of by_hand.
"""

from datetime import date
from typing import Any

import pytest

from service.commands.replay import demo_cooperative
from tests.seasons.by_hand import days_of_rest
from tests.seasons.test_seasons import GROWER, PLACE, cut, morning, play, reminders, says, spray

WATER_OFF = date(2026, 11, 20)
RESTED = [
    says("2026-10-23T18:40", "hello sunanda upper neem. 240 plants 12x8 feet black soil drip planted july 2021"),
    says("2026-10-23T18:41", "yes"),
    says("2026-10-23T18:42", "no"),
    says("2026-10-23T18:43", "cut 4 jan"),
    says("2026-10-23T18:44", "yes"),
    says("2026-10-23T18:45", "never"),
    says("2026-11-20T09:00", "stopped water on block 1"),
]
OTHER = "+919000000002"
ON_SAND = [
    {**line, "from": OTHER, "text": line["text"].replace("upper neem", "far well").replace("black", "sandy")}
    for line in RESTED
]
BOTH = sorted([*RESTED, *ON_SAND], key=lambda line: str(line["at"]))


def advance(to: str) -> dict[str, Any]:
    return {"at": to, "advance": True}


def gauge(at: str, day: str, mm: float, **village: str) -> dict[str, Any]:
    return {"at": at, "gauge": {"date": day, "rain_mm": mm, **village}}


def rules(at: str, ruling: str, **values: str) -> dict[str, Any]:
    return {"at": at, "adviser": {"to": GROWER, "block": "1", "ruling": ruling, **values}}


def since(sent: list[dict[str, Any]], at: str) -> list[tuple[str, str, str, str, int]]:
    """(local time, number, template, cut, days lost) of what was sent unasked from then on."""
    return [
        (text["at"][:16], text["to"], text["template"], text["values"]["cut"], text["values"]["days_lost"])
        for text in sent
        if text["at"] >= at and text["because"] == "reminder" and "cut" in text["values"]
    ]


def lost(soil: str, rain: dict[date, float]) -> int:
    return days_of_rest(WATER_OFF, rain, soil, 45, PLACE) - 45


def test_gauge_moves_every_grower_in_rest_and_tells_each_once() -> None:
    """30 mm: 17 days on black soil, 10 on sand; posted in quiet hours, told as they end."""
    assert (lost("black", {date(2026, 12, 8): 30}), lost("sandy", {date(2026, 12, 8): 30})) == (17, 10)

    sent = play([*BOTH, gauge("2026-12-09T05:10", "2026-12-08", 30), advance("2026-12-12T12:00")])

    assert since(sent, "2026-12-01") == [
        ("2026-12-09T06:00", GROWER, "moved.cut", "2027-01-21", 17),
        ("2026-12-09T06:00", OTHER, "moved.cut", "2027-01-14", 10),
    ]


def test_gauge_is_told_in_the_next_hour_and_the_announced_job_again_on_its_new_day() -> None:
    """The evening before the spray it rains 30 mm: 17 days, spray 3 Jan; no text of 17 Dec goes out any more."""
    assert lost("black", {date(2026, 12, 16): 30}) == 17

    sent = play([*RESTED, gauge("2026-12-16T19:10", "2026-12-16", 30), advance("2027-01-03T12:00")])

    assert since(sent, "2026-12-16T19") == [("2026-12-16T20:00", GROWER, "moved.cut", "2027-01-21", 17)]
    assert reminders(sent) == [
        *morning("2026-11-20", "rest"),
        ("2026-12-16T18:30", "defoliate", "2026-12-17"),
        *spray("2027-01-02", "2027-01-03"),
    ]


def test_the_growers_own_report_beats_the_gauge() -> None:
    """Before it and after it: a post that comes later moves nothing and is not told."""
    sent = play(
        [
            *RESTED,
            gauge("2026-12-09T05:10", "2026-12-08", 30),
            says("2026-12-09T12:10", "rain 0 yesterday"),
            gauge("2026-12-09T13:00", "2026-12-08", 60),
            advance("2026-12-09T18:00"),
        ]
    )

    assert [text["template"] for text in sent[-2:]] == ["moved.cut", "log_rain.moved"]
    assert (sent[-1]["values"]["cut"], sent[-1]["values"]["days_lost"]) == ("2027-01-04", 0)


def test_a_villages_own_post_counts_there_alone() -> None:
    sent = play([*BOTH, gauge("2026-12-09T09:10", "2026-12-08", 30, village="Far Well"), advance("2026-12-10T12:00")])

    assert since(sent, "2026-12-01") == [("2026-12-09T10:00", OTHER, "moved.cut", "2027-01-14", 10)]


def test_a_rain_that_moves_nothing_is_not_told() -> None:
    """Under a fifth of the day's ETo (about 4 mm in December) rain costs nothing."""
    sent = play([*RESTED, gauge("2026-12-09T09:10", "2026-12-08", 0.5), advance("2026-12-10T12:00")])

    assert since(sent, "2026-12-01") == []


def test_rulings_outrank_the_count_until_withdrawn() -> None:
    """60 mm on 8 Dec: cut 22 Jan. Each word is told at its hour, after quiet hours, one text an hour."""
    assert lost("black", {date(2026, 12, 8): 60}) == 18
    sent = play(
        [
            *RESTED,
            says("2026-12-08T19:00", "rain 60"),
            rules("2026-12-09T10:20", "rain_not_counted", date="2026-12-08", adviser="Meera"),
            rules("2026-12-09T11:20", "withdrawn"),
            rules("2026-12-09T12:20", "rest_enough", date="2027-01-07"),
            rules("2026-12-09T21:20", "rest_not_enough"),
            advance("2026-12-10T07:00"),
            rules("2026-12-10T10:20", "withdrawn"),
            rules("2026-12-10T10:30", "rest_not_enough", date="2027-02-01"),
            advance("2026-12-11T10:00"),
            rules("2026-12-11T10:30", "cut_fixed", date="2027-01-15"),
            advance("2026-12-11T12:00"),
        ]
    )

    assert since(sent, "2026-12-09") == [
        ("2026-12-09T10:20", GROWER, "ruling.rain_not_counted", "2027-01-04", 0),
        ("2026-12-09T11:20", GROWER, "ruling.withdrawn", "2027-01-22", 18),
        ("2026-12-09T12:20", GROWER, "ruling.rest_enough", "2027-01-07", 18),
        ("2026-12-10T06:00", GROWER, "ruling.no_cut_yet", "2027-01-22", 18),
        ("2026-12-10T10:20", GROWER, "ruling.withdrawn", "2027-01-07", 18),
        ("2026-12-10T11:30", GROWER, "ruling.rest_not_enough", "2027-02-01", 18),
        ("2026-12-11T10:30", GROWER, "ruling.cut_fixed", "2027-01-15", 18),
    ]


def test_no_reminder_while_the_rest_is_not_enough() -> None:
    """At all until withdrawn; then the spray that became late meanwhile is told on the next morning."""
    sent = play(
        [
            *RESTED,
            rules("2026-12-15T10:00", "rest_not_enough"),
            advance("2026-12-18T12:00"),
            rules("2026-12-18T13:00", "withdrawn"),
            advance("2026-12-19T12:00"),
        ]
    )

    assert reminders(sent)[1:] == [*morning("2026-12-19", "defoliate", "2026-12-17")]


def test_a_fixed_cut_is_not_moved_by_rain_and_its_spray_is_not_early() -> None:
    """Fixed on 15 Jan, so sprayed on 28 Dec, 18 days before it, though the count would be complete later."""
    sent = play(
        [
            *RESTED,
            rules("2026-12-09T10:20", "cut_fixed", date="2027-01-15", adviser="Meera"),
            says("2026-12-10T19:00", "rain 60"),
            says("2026-12-28T10:00", "sprayed"),
            says("2027-01-07T10:00", "leaf 90"),
            advance("2027-01-15T12:00"),
        ]
    )

    by_template = {text["template"]: text["values"] for text in sent}
    assert by_template["log_rain.stands"]["cut"] == "2027-01-15"
    assert by_template["report_done.defoliate"]["cut"] == "2027-01-15"
    assert reminders(sent)[1:4] == [*spray("2026-12-27", "2026-12-28"), *morning("2027-01-07", "leaf_check")]
    assert cut("2027-01-14", "2027-01-15")[0] in reminders(sent)


def test_a_spray_called_off_leaves_the_leaf_check() -> None:
    """It drops the next ethephon job: leaf check on 27 Dec all the same; the second spray stays."""
    sent = play(
        [
            *RESTED,
            rules("2026-12-10T10:00", "spray_called_off"),
            says("2026-12-27T12:00", "leaf 90"),
            says("2027-01-01T12:00", "copper sprayed"),
            says("2027-01-04T18:00", "cut done"),
            advance("2027-01-06T12:00"),
        ]
    )

    assert reminders(sent)[1:] == [
        *morning("2026-12-27", "leaf_check"),
        *morning("2027-01-01", "copper"),
        *cut("2027-01-03", "2027-01-04"),
        *morning("2027-01-05", "clean", "2027-01-04"),
        ("2027-01-06T06:30", "second_spray", "2027-01-06"),
        ("2027-01-06T06:30", "clean", "2027-01-04"),
    ]


@pytest.mark.parametrize(
    ("asked", "texts", "wanted"),
    [
        # The night to 25 Oct 2026 has an hour more: 45 days before 9 Dec is 25 Oct.
        ("9 dec", [], [*morning("2026-10-25", "rest"), *morning("2026-10-26", "rest", "2026-10-25")]),
        # The night to 28 Mar 2027 has an hour less: cut on that day, 45 days from 11 Feb, sprayed on 10 Mar.
        (
            "28 march 2027",
            [
                ("2027-02-11T09:00", "stopped water on block 1"),
                ("2027-03-10T09:00", "sprayed"),
                ("2027-03-20T09:00", "leaf 90"),
                ("2027-03-25T09:00", "copper sprayed"),
            ],
            [
                *morning("2027-02-11", "rest"),
                *spray("2027-03-09", "2027-03-10"),
                *morning("2027-03-20", "leaf_check"),
                *morning("2027-03-25", "copper"),
                *cut("2027-03-27", "2027-03-28"),
            ],
        ),
        # Over the year's end.
        (
            "17 jan 2027",
            [("2026-12-03T09:00", "stopped water on block 1"), ("2026-12-30T09:00", "sprayed")],
            [
                *morning("2026-12-03", "rest"),
                *spray("2026-12-29", "2026-12-30"),
                *morning("2027-01-09", "leaf_check"),
            ],
        ),
    ],
)
def test_the_morning_hour_is_the_local_one_through_clock_changes_and_the_years_end(
    asked: str, texts: list[tuple[str, str]], wanted: list[tuple[str, str, str]]
) -> None:
    there = demo_cooperative() | {"timezone": "Europe/Madrid", "latitude": 37.6, "longitude": -1.0, "villages": []}
    joined = [{**line, "at": line["at"].replace("2026-10-23", "2026-10-20")} for line in RESTED[:-1]]
    joined[3]["text"] = f"cut {asked}"
    last = max([at for at, _ in texts] + [at for at, _, _ in wanted])

    sent = play([{"cooperative": there}, *joined, *(says(*text) for text in texts), advance(f"{last[:10]}T12:00")])

    assert reminders(sent) == wanted
