"""Each reminder once, on its local morning, and none that the plan no longer says.

The plan behind these: black soil, cut on 4 Jan 2027, 45 days of rest, so water stops on 20 Nov (DESIGN's day 0), leaf
spray 18 days before the cut on 17 Dec, with the evening before.
"""

from datetime import date, timedelta
from typing import Any

import pytest
from sqlalchemy.exc import IntegrityError

from service import reminders as reminders_module
from service.orchard.plan import DayWeather
from service.store import schema
from service.store.session import Database
from tests.service.world import SUNANDA, World


def times(world: World) -> list[str]:
    return [at for at, _, _ in world.reminded()]


def test_water_is_to_be_stopped_on_its_morning_and_once_more(world: World) -> None:
    """Said at the morning hour, once more the next morning, asked after the window of 3 days, and then silence."""
    world.resting()

    world.go("2026-11-27T12:00")

    assert world.reminded() == [
        ("2026-11-20T06:30", "rest", "2026-11-20"),
        ("2026-11-21T06:30", "rest", "2026-11-20"),
        ("2026-11-24T06:30", "rest", "2026-11-20"),
    ]


def test_silence_once_it_is_done(world: World) -> None:
    grower_id = world.resting()
    world.go("2026-11-20T18:00")

    world.stopped_water(grower_id)
    world.go("2026-11-27T12:00")

    assert times(world) == ["2026-11-20T06:30"]


def test_several_blocks_are_one_text(world: World) -> None:
    world.resting(blocks=("1", "2"))

    world.go("2026-11-20T07:00")

    (row,) = world.sent
    assert row.because == "reminder"
    assert {(item.block, item.outbox_id, item.state) for item in world.rows(schema.reminders) if item.outbox_id} == {
        ("1", row.id, "queued"),
        ("2", row.id, "queued"),
    }


def test_two_schedulers_send_each_once(world: World) -> None:
    world.resting(blocks=("1", "2"))
    other = world.another()

    for _ in range(35):
        world.clock.move(world.clock.now() + timedelta(hours=2))
        world.beat(other)
        world.beat()

    sent = [(item.block, item.job, item.for_date, item.occasion) for item in world.rows(schema.reminders)]
    assert len(sent) == len(set(sent))
    assert len([row for row in world.sent if row.because == "reminder"]) == 2  # mornings of 20 and 21 Nov


def test_reminder_is_unique_in_the_database(world: World) -> None:
    world.resting()
    world.go("2026-11-19T09:00")
    known = world.rows(schema.reminders)[0]._mapping

    with pytest.raises(IntegrityError), world.database.writing() as connection:
        connection.execute(schema.reminders.insert().values({**known, "id": 999}))


def test_stop_cancels_what_is_not_sent(world: World) -> None:
    world.resting()
    assert [item.state for item in world.rows(schema.reminders)] == []
    world.go("2026-11-19T09:00")
    assert {item.state for item in world.rows(schema.reminders)} == {"waiting"}

    world.says("STOP")

    assert {item.state for item in world.rows(schema.reminders)} == {"cancelled"}
    world.go("2026-11-26T12:00")
    assert times(world) == []


def test_resume_brings_them_back(world: World) -> None:
    world.resting()
    world.go("2026-11-19T09:00")
    world.says("STOP")
    world.go("2026-11-19T12:00")

    world.says("resume")
    world.go("2026-11-20T12:00")

    assert times(world) == ["2026-11-20T06:30"]


def test_stop_outruns_a_reminder_already_in_the_outbox(world: World) -> None:
    world.resting()
    world.jump("2026-11-20T06:30")
    world.service.reminders.daily()
    world.service.reminders.tick()
    assert [row.state for row in world.rows(schema.outbox)] == ["waiting"]

    world.says("STOP")
    world.go("2026-11-20T12:00")

    assert [row.state for row in world.rows(schema.outbox) if row.because == "reminder"] == ["cancelled"]


def test_moved_cut_takes_the_old_day_back(world: World) -> None:
    grower_id = world.resting()
    world.go("2026-11-19T10:00")

    world.wrote(grower_id, [("cut_set", "1", world.here.date(), {"date": "2027-01-20"})])
    world.refresh(grower_id)
    world.go("2026-11-22T12:00")

    assert {(item.for_date, item.state) for item in world.rows(schema.reminders)} == {(date(2026, 11, 20), "cancelled")}
    assert times(world) == []
    world.go("2026-12-06T12:00")
    assert times(world) == ["2026-12-06T06:30"]  # 20 Jan less 45 days


def test_undo_restores_the_reminder(world: World) -> None:
    """Rain two days before the spray takes its reminders back; taken back itself, the very same ones stand again."""
    grower_id = world.resting()
    world.go("2026-11-20T18:00")
    world.stopped_water(grower_id)
    world.go("2026-12-16T10:00")
    before = [(item.id, item.occasion, item.due_at) for item in spray(world)]
    assert [occasion for _, occasion, _ in before] == ["eve", "morning"]

    world.says("rain 60")
    assert {item.state for item in spray(world)} == {"cancelled"}
    world.says("undo")

    assert [(item.id, item.occasion, item.due_at) for item in spray(world)] == before
    world.go("2026-12-17T12:00")
    assert times(world)[-2:] == ["2026-12-16T18:30", "2026-12-17T06:30"]


def spray(world: World) -> list[Any]:
    return [item for item in world.rows(schema.reminders) if item.job == "defoliate"]


def test_reminder_in_the_outbox_is_rewritten_when_the_plan_moves(world: World) -> None:
    """Worded but not handed over (the gateway is down): it goes out without the block that moved."""
    grower_id = world.resting(blocks=("1", "2"))
    world.jump("2026-11-20T06:31")
    world.service.reminders.daily()
    world.service.reminders.tick()

    world.wrote(grower_id, [("cut_set", "1", world.here.date(), {"date": "2027-01-20"})])
    world.refresh(grower_id)
    world.jump("2026-11-20T07:05")
    world.beat()

    (sent,) = world.sent
    mornings = [item for item in world.rows(schema.reminders) if item.occasion == "morning"]
    assert [(item.block, item.state) for item in mornings] == [("1", "cancelled"), ("2", "queued")]
    assert sent.values["block"] == "2"


def test_after_hours_of_downtime_it_is_sent_late_once(world: World) -> None:
    world.resting()
    world.go("2026-11-19T12:00")

    world.jump("2026-11-20T11:20")
    world.go("2026-11-20T12:00")

    assert times(world) == ["2026-11-20T11:20"]


def test_after_days_of_downtime_the_stale_is_dropped_and_the_open_job_said_once(world: World) -> None:
    """Down from the 19th at noon to the 22nd: the mornings of the 20th and 21st are gone, the job is still open."""
    world.resting()
    world.go("2026-11-19T12:00")

    world.jump("2026-11-22T10:00")
    world.go("2026-11-22T23:00")

    assert world.reminded() == [("2026-11-22T10:00", "rest", "2026-11-20")]
    dropped = [item for item in world.rows(schema.reminders) if item.state == "dropped"]
    assert [(item.occasion, item.reason) for item in dropped] == [("morning", "too late to be of use")]


def test_nothing_at_night(world: World) -> None:
    """Back from downtime in the quiet hours: not before they end, and what was for that day only is dropped."""
    world.resting()
    world.go("2026-11-19T12:00")

    world.jump("2026-11-20T21:00")
    world.go("2026-11-21T12:00")

    assert times(world) == ["2026-11-21T06:30"]
    assert [item.reason for item in world.rows(schema.reminders) if item.occasion == "morning"] == ["quiet hours"]


def test_no_more_than_the_limit_of_a_day(database: Database) -> None:
    """One a day: on 17 Dec the morning's spray of block 1; the evening before block 2's has no room."""
    world = World(database, "2026-11-20T10:00", settings={"reminders_a_day": 1})
    grower_id = world.resting()
    world.block(grower_id, "2")
    world.wrote(grower_id, [("cut_set", "2", world.here.date(), {"date": "2027-01-05"})])
    world.stopped_water(grower_id)

    world.go("2026-12-17T23:00")

    assert times(world)[-2:] == ["2026-12-16T18:30", "2026-12-17T06:30"]
    assert [(item.block, item.occasion, item.reason) for item in spray(world) if item.state == "dropped"] == [
        ("2", "eve", "enough reminders that day")
    ]


def test_spray_is_said_the_evening_before_too(world: World) -> None:
    grower_id = world.resting()
    world.go("2026-11-20T10:00")
    world.stopped_water(grower_id)

    world.go("2026-12-17T12:00")

    assert world.reminded()[1:] == [
        ("2026-12-16T18:30", "defoliate", "2026-12-17"),
        ("2026-12-17T06:30", "defoliate", "2026-12-17"),
    ]


def test_evenings_only(world: World) -> None:
    world.resting(evenings_only=True)

    world.go("2026-11-20T12:00")

    assert times(world) == ["2026-11-19T18:30"]


@pytest.mark.parametrize(
    ("cut", "stop_water", "at"),
    [
        ("2027-05-13", "2027-03-29", "2027-03-29T06:30"),  # the clocks go forward on 28 Mar 2027
        ("2026-12-09", "2026-10-25", "2026-10-25T06:30"),  # and back on 25 Oct 2026
        ("2027-02-14", "2026-12-31", "2026-12-31T06:30"),
        ("2027-02-15", "2027-01-01", "2027-01-01T06:30"),
    ],
)
def test_local_mornings_through_clock_changes_and_year_end(
    database: Database, cut: str, stop_water: str, at: str
) -> None:
    """Europe/Madrid: the last Sundays of March and October (tz database). 45 days before each cut."""
    start = (date.fromisoformat(stop_water) - timedelta(days=3)).isoformat()
    world = World(database, f"{start}T10:00", timezone="Europe/Madrid")
    world.resting(cut=cut)

    world.go(f"{stop_water}T12:00")

    assert world.reminded() == [(at, "rest", stop_water)]


def test_morning_in_the_hour_that_comes_twice_is_sent_once(database: Database) -> None:
    """02:30 on 25 Oct 2026 in Madrid happens at 00:30 and at 01:30 UTC."""
    world = World(
        database,
        "2026-10-23T10:00",
        timezone="Europe/Madrid",
        settings={"morning": "02:30", "quiet": ["22:00", "01:00"]},
    )
    world.resting(cut="2026-12-09")

    world.go("2026-10-25T12:00")

    assert [row.handed_at.isoformat() for row in world.sent] == ["2026-10-25T00:30:00+00:00"]


def test_morning_in_the_hour_that_is_skipped_moves_forward(database: Database) -> None:
    """02:30 does not exist on 28 Mar 2027 in Madrid: 03:30 is the same distance from midnight."""
    world = World(
        database,
        "2027-03-26T10:00",
        timezone="Europe/Madrid",
        settings={"morning": "02:30", "quiet": ["22:00", "01:00"]},
    )
    world.resting(cut="2027-05-12")

    world.go("2027-03-28T12:00")

    assert world.reminded()[0] == ("2027-03-28T03:30", "rest", "2027-03-28")


def test_daily_run_that_broke_off_is_finished(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    """A crash between two transactions of a run: the next process goes on where it stood, nobody is left out."""
    monkeypatch.setattr(reminders_module, "GROWERS_A_TRANSACTION", 2)
    for number in range(5):
        world.resting(f"+91900000010{number}")
    world.jump("2026-11-19T03:00")
    assert world.service.reminders._some_of_the_day(world.cooperative_id)
    (run,) = world.rows(schema.daily_runs)
    assert run.finished_at is None

    other = world.another()
    world.jump("2026-11-19T08:00")
    other.reminders.daily()

    assert {item.grower_id for item in world.rows(schema.reminders)} == {1, 2, 3, 4, 5}
    (run,) = world.rows(schema.daily_runs)
    assert run.finished_at is not None


def test_gauge_moves_a_plan_and_is_told_in_the_next_hour(world: World) -> None:
    """60 mm in the third week of rest on black soil moves the cut (DESIGN's figures): one text, not at once."""
    grower_id = world.resting(village="Red Bank")
    world.go("2026-11-20T10:00")
    world.stopped_water(grower_id)
    world.go("2026-12-11T07:40")
    world.service.office.post_weather(world.cooperative_id, "red bank", date(2026, 12, 10), DayWeather(60))

    world.go("2026-12-11T12:00")

    told = world.sent[-1]
    assert (told.because, told.about) == ("reminder", "moved")
    assert f"{told.handed_at:%H:%M}" == "02:30"  # 08:00 in Kolkata
    assert [move.state for move in world.rows(schema.moves)] == ["told"]


def test_gauge_put_right_before_the_hour_leaves_no_text(world: World) -> None:
    grower_id = world.resting(village="Red Bank")
    world.go("2026-11-20T10:00")
    world.stopped_water(grower_id)
    world.go("2026-12-11T07:40")
    before = len(world.sent)

    world.service.office.post_weather(world.cooperative_id, "Red Bank", date(2026, 12, 10), DayWeather(60))
    world.service.office.post_weather(world.cooperative_id, "Red Bank", date(2026, 12, 10), DayWeather(0))
    world.go("2026-12-11T12:00")

    assert len(world.sent) == before
    assert [move.state for move in world.rows(schema.moves)] == ["dropped", "dropped"]


def test_gauge_of_another_village_concerns_nobody_here(world: World) -> None:
    world.resting(village="Red Bank")
    world.refresh(1)

    world.service.office.post_weather(world.cooperative_id, "Upper Neem", date(2026, 11, 17), DayWeather(60))

    assert world.rows(schema.moves) == []


def test_adviser_is_told_to_the_grower(world: World) -> None:
    grower_id = world.resting()
    world.go("2026-11-20T10:00")
    world.stopped_water(grower_id)
    world.go("2026-12-20T10:00")

    world.service.office.rule(world.cooperative_id, SUNANDA, "1", {"ruling": "cut_fixed", "date": "2027-01-08"})
    world.go("2026-12-20T11:00")

    told = world.sent[-1]
    assert (told.because, told.about) == ("reminder", "moved")
    entry = world.rows(schema.entries)[-1]
    assert (entry.kind, entry.said_by, entry.values) == (
        "ruling", "adviser", {"ruling": "cut_fixed", "date": "2027-01-08"},
    )  # fmt: skip


@pytest.mark.parametrize(
    ("ruling", "why"),
    [
        ({"ruling": "cut_fixed", "date": "2026-11-19"}, "before the rest of block 1, which begins on 2026-11-20"),
        ({"ruling": "rain_not_counted", "date": "2026-11-01"}, "before the rest of block 1"),
        ({"ruling": "withdrawn"}, "no word to withdraw"),
    ],
)
def test_word_that_could_do_nothing_is_refused(world: World, ruling: dict[str, str], why: str) -> None:
    """Water was stopped on 20 Nov; one word is entered and withdrawn."""
    grower_id = world.resting()
    world.go("2026-11-20T10:00")
    world.stopped_water(grower_id)
    world.service.office.rule(world.cooperative_id, SUNANDA, "1", {"ruling": "rest_enough"})
    world.service.office.rule(world.cooperative_id, SUNANDA, "1", {"ruling": "withdrawn"})
    before = len(world.rows(schema.entries))

    with pytest.raises(ValueError, match=why):
        world.service.office.rule(world.cooperative_id, SUNANDA, "1", ruling)
    assert len(world.rows(schema.entries)) == before


def test_word_on_a_block_without_a_cycle_is_refused(world: World) -> None:
    world.block(world.grower())

    with pytest.raises(ValueError, match="no cut is set"):
        world.service.office.rule(world.cooperative_id, SUNANDA, "1", {"ruling": "spray_called_off"})


def test_one_grower_s_fault_holds_up_nobody(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    first, second = world.resting(), world.resting("+919000000002")
    words = reminders_module.reminding.words

    def broken(dues: Any, farm: Any) -> Any:
        if farm.grower.id == first:
            raise RuntimeError("boom")
        return words(dues, farm)

    monkeypatch.setattr(reminders_module.reminding, "words", broken)
    world.jump("2026-11-20T06:30")
    world.beat()

    assert [row.grower_id for row in world.sent] == [second]
    assert [(matter.kind, matter.grower_id) for matter in world.rows(schema.matters)] == [("reminder_failed", first)]
    monkeypatch.setattr(reminders_module.reminding, "words", words)
    world.jump("2026-11-20T06:45")
    world.beat()
    assert [row.grower_id for row in world.sent] == [second, first]


def test_snapshot_can_be_dropped_and_rebuilt(world: World) -> None:
    """Nothing decides from it: the daily run makes it anew, the same."""
    world.resting(blocks=("1", "2"))
    world.go("2026-11-19T12:00")
    before = world.rows(schema.block_now)
    assert [(row.block, row.cut, row.next_job, row.next_date) for row in before] == [
        ("1", date(2027, 1, 4), "rest", date(2026, 11, 20)),
        ("2", date(2027, 1, 4), "rest", date(2026, 11, 20)),
    ]
    with world.database.writing() as connection:
        connection.execute(schema.block_now.delete())

    world.refresh(1)

    assert world.rows(schema.block_now) == before
