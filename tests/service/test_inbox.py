"""Text in, text out, rows left behind."""

import threading
from datetime import date, timedelta

import pytest
from sqlalchemy import event
from sqlalchemy.exc import OperationalError

from dialogs import conversation
from service import inbox as inbox_module
from service.channels.channel import InboundText
from service.inbox import NoSuchLine, Received, phone_number
from service.store import cooperatives, schema
from service.store.session import Database
from service.writer import Writer
from tests.service.world import SUNANDA, World, description


def test_rain_is_kept_and_answered(world: World) -> None:
    """One text: its row, the entry that points back to it, and the answer in the outbox."""
    grower_id = world.grower()
    world.block(grower_id)

    world.says("rain 12")

    (text,) = world.rows(schema.texts_in)
    assert (text.state, text.task, text.text) == ("handled", "log_rain", "rain 12")
    entry = world.rows(schema.entries)[-1]
    assert (entry.kind, entry.values["amount_mm"], entry.day, entry.text_in_id) == (
        "rain", 12, date(2026, 11, 18), text.id,
    )  # fmt: skip
    (answer,) = world.rows(schema.outbox)
    assert (answer.state, answer.because, answer.text_in_id, answer.number) == ("handed", "reply", text.id, SUNANDA)


def test_redelivered_text_has_one_effect_and_one_answer(world: World) -> None:
    world.block(world.grower())
    text = world.inbound("rain 12", message_id="a1")

    received = [world.service.inbox.receive(text) for _ in range(3)]

    assert received == [Received.HANDLED, Received.AGAIN, Received.AGAIN]
    assert [entry.kind for entry in world.rows(schema.entries)] == ["block", "rain"]
    assert len(world.rows(schema.outbox)) == 1


def test_same_text_without_an_id_within_seconds_is_one(world: World) -> None:
    """A nervous grower, or a gateway that gives no id and delivers twice; a minute later it is a new text."""
    world.block(world.grower())

    first = world.service.inbox.receive(world.inbound("rain 12", message_id=None))
    world.clock.move(world.clock.now() + timedelta(seconds=4))
    second = world.service.inbox.receive(world.inbound("rain 12", message_id=None))
    world.clock.move(world.clock.now() + timedelta(seconds=60))
    third = world.service.inbox.receive(world.inbound("rain 12", message_id=None))

    assert [first, second, third] == [Received.HANDLED, Received.AGAIN, Received.HANDLED]


def test_late_text_is_dated_by_its_sending(world: World) -> None:
    """No signal for a night: "rain 12" of yesterday evening is yesterday's rain."""
    world.block(world.grower())
    yesterday = world.clock.now() - timedelta(hours=14)

    world.service.inbox.receive(world.inbound("rain 12", sent_at=yesterday))

    assert world.rows(schema.entries)[-1].day == date(2026, 11, 17)


def test_sending_time_to_come_is_a_wrong_clock(world: World) -> None:
    world.block(world.grower())

    world.service.inbox.receive(world.inbound("rain 12", sent_at=world.clock.now() + timedelta(days=3)))

    assert world.rows(schema.entries)[-1].day == date(2026, 11, 18)


def test_undo_voids_and_never_edits(world: World) -> None:
    world.block(world.grower())
    world.says("rain 12")

    world.says("undo")

    rain, undo = world.rows(schema.entries)[-1], world.rows(schema.texts_in)[-1]
    assert (rain.kind, rain.values["amount_mm"], rain.voided_by) == ("rain", 12, undo.id)


def test_diary_refuses_to_be_edited(world: World) -> None:
    """The guard is the database's own: not even a slip of ours changes an entry."""
    world.block(world.grower())

    for statement in ("UPDATE entries SET day = '2020-01-01'", "DELETE FROM entries"):
        with pytest.raises(Exception, match="append-only"), world.database.writing() as connection:
            connection.exec_driver_sql(statement)


def test_erased_grower_leaves_dates_and_amounts(world: World) -> None:
    """Who he was and what was typed is gone from every table; the last answer goes out, then its number too."""
    grower_id = world.resting(village="Red Bank")
    world.wrote(grower_id, [("block", "1", world.here.date(), {"name": "Mangohill"})])
    world.says("rain 12")
    world.says("delete my data")
    assert world.says("yes") == ["delete_me.done"]

    world.go("2026-11-25T12:00")

    everything = "".join(str(row) for table in schema.metadata.sorted_tables for row in world.rows(table))
    for trace in (SUNANDA, "Sunanda", "Mangohill", "rain 12"):
        assert trace not in everything
    assert [entry.values.get("amount_mm") for entry in world.rows(schema.entries)][-1] == 12
    assert "Red Bank" in everything
    assert len(world.channel.texts) == 3
    assert world.says("join") == ["join.agree"]
    assert len(world.rows(schema.growers)) == 2


@pytest.mark.parametrize("sender", ["AD-BANK", "56767", "", "+12"])
def test_nobody_answers_names_and_short_codes(world: World, sender: str) -> None:
    received = world.service.inbox.receive(world.inbound("join", number=sender))

    assert received == Received.IGNORED
    assert world.rows(schema.outbox) == world.rows(schema.growers) == []
    assert [text.text for text in world.rows(schema.texts_in)] == ["join"]


@pytest.mark.parametrize(
    ("sender", "number"),
    [
        ("+919000000001", "+919000000001"),
        ("919000000001", "+919000000001"),
        ("09000000001", "+919000000001"),
        ("९०००००००००", "+919000000000"),
        ("+15550001", "+15550001"),
        ("56767", None),
        ("AD-BANKXX", None),
    ],
)
def test_numbers_are_brought_to_one_form(sender: str, number: str | None) -> None:
    """The country of a number without its code is that of the cooperative's time zone."""
    assert phone_number(sender, "Asia/Kolkata") == number


def test_unknown_line_is_refused(world: World) -> None:
    with pytest.raises(NoSuchLine):
        world.service.inbox.receive(InboundText("7999", "x", SUNANDA, "join", None, ""))


def test_text_that_cannot_be_handled_is_set_aside_and_others_are_not(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nothing of it is half written; it is tried once more, and then a person has it."""
    world.block(world.grower())
    turn = conversation.turn

    def broken(*arguments: object) -> object:
        if arguments[3] == "poison":
            raise RuntimeError("boom")
        return turn(*arguments)  # type: ignore[arg-type]

    monkeypatch.setattr(inbox_module, "turn", broken)

    writer = Writer(world.service.inbox, lambda: None)
    taken = [writer.receive(world.inbound(text)) for text in ("rain 12", "poison", "rain 13 yesterday")]
    writer.start()
    writer.stop()

    assert [one.result() for one in taken] == [Received.HANDLED, Received.SET_ASIDE, Received.HANDLED]
    aside = next(text for text in world.rows(schema.texts_in) if text.text == "poison")
    assert (aside.state, aside.reason, aside.tries) == ("set_aside", "RuntimeError: boom", 1)
    assert world.rows(schema.matters) == []

    world.service.inbox.try_again()
    world.service.inbox.try_again()

    (matter,) = world.rows(schema.matters)
    assert (matter.kind, matter.text, matter.text_in_id) == ("set_aside", "poison", aside.id)


def test_text_set_aside_is_answered_at_its_second_try(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    world.block(world.grower())
    with monkeypatch.context() as patch:
        patch.setattr(inbox_module, "turn", lambda *_: 1 / 0)
        assert world.service.inbox.receive(world.inbound("rain 12")) == Received.SET_ASIDE

    world.service.inbox.try_again()

    assert [text.state for text in world.rows(schema.texts_in)] == ["handled"]
    assert world.rows(schema.entries)[-1].kind == "rain"


class FailingCommits:
    """Every commit of a database fails while this is in force."""

    def __init__(self, database: Database) -> None:
        self.database = database
        self.in_force = False
        event.listen(database.engine, "commit", self._fail)

    def _fail(self, connection: object) -> None:
        if self.in_force:
            raise OperationalError("COMMIT", {}, Exception("disk full"))


def test_commit_that_fails_is_no_receipt(world: World) -> None:
    """Where not even the raw text is kept the gateway hears so, and its next delivery is a first one."""
    world.block(world.grower())
    commits = FailingCommits(world.database)
    text = world.inbound("rain 12")

    commits.in_force = True
    with pytest.raises(OperationalError):
        world.service.inbox.receive(text)
    commits.in_force = False

    assert world.rows(schema.texts_in) == []
    assert world.service.inbox.receive(text) == Received.HANDLED
    assert [entry.kind for entry in world.rows(schema.entries)] == ["block", "rain"]


def test_what_has_queued_is_committed_together(world: World) -> None:
    world.block(world.grower())
    commits: list[int] = []
    event.listen(world.database.engine, "commit", lambda _: commits.append(1))
    writer = Writer(world.service.inbox, lambda: None)
    taken = [writer.receive(world.inbound(f"rain {mm}", number=f"+9190000001{mm:02}")) for mm in range(10, 40)]

    writer.start()
    writer.stop()

    assert {one.result() for one in taken} == {Received.HANDLED}
    assert len(commits) == 1


def test_fifty_threads_on_one_conversation_lose_nothing(world: World) -> None:
    """SQLite's default mode loses three quarters of such updates without an error."""
    grower_id = world.grower()
    world.block(grower_id)
    world.another()
    services = [world.service, world.another()]

    def report(service_number: int, number: int) -> None:
        text = world.inbound("rain 1", message_id=f"t{number}")
        services[service_number].inbox.receive_together([text])

    threads = [threading.Thread(target=report, args=(number % 2, number)) for number in range(50)]
    with world.database.writing() as connection:
        connection.execute(
            schema.cooperative_settings.insert(),
            [
                {"cooperative_id": world.cooperative_id, "key": key, "value": 1000, "since": world.here.date(),
                 "running": True, "by": "test", "at": world.clock.now()}
                for key in ("texts_an_hour", "texts_a_day")
            ],
        )  # fmt: skip
        connection.execute(schema.cooperatives.update().values(version=2))
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert len([entry for entry in world.rows(schema.entries) if entry.kind == "rain"]) == 50
    assert {text.state for text in world.rows(schema.texts_in)} == {"handled"}
    assert len(world.rows(schema.outbox)) == 50


def test_too_many_texts_are_kept_and_met_once(database: Database) -> None:
    """Past the limit of an hour: one notice, a person sees it, and hurt is answered all the same."""
    world = World(database, settings={"texts_an_hour": 3})
    world.block(world.grower())

    for mm in (1, 2, 3, 4, 5):
        world.says(f"rain {mm}")

    keys = [row.key for row in world.rows(schema.outbox)]
    assert len(keys) == 4
    assert keys[-1] == "limit.too_many"
    assert [matter.kind for matter in world.rows(schema.matters)] == ["too_many_texts"]
    assert len(world.rows(schema.texts_in)) == 5
    assert world.says("husband eyes burning after spray") == ["hurt.first_steps"]
    world.clock.move(world.clock.now() + timedelta(hours=1))
    assert world.says("rain 6") != []


def test_two_machines_do_not_talk_for_long(world: World) -> None:
    """A robot that answers every text with what nobody understands: at most three answers in two minutes, ten a day."""
    world.grower()
    for turn in range(60):
        world.service.inbox.receive(world.inbound(f"zzqx {turn} qqq"))
        world.clock.move(world.clock.now() + timedelta(seconds=20))
    within = [row.at for row in world.rows(schema.outbox)]
    assert all(late - early >= timedelta(minutes=2) for early, late in zip(within, within[3:], strict=False))
    assert len(within) <= 10
    assert "not_understood" in {matter.kind for matter in world.rows(schema.matters)}


def test_our_own_text_coming_back_is_not_answered(world: World) -> None:
    world.block(world.grower())
    world.says("rain 12")
    (ours,) = world.channel.texts

    assert world.service.inbox.receive(world.inbound(ours.text.upper())) == Received.IGNORED
    assert len(world.rows(schema.outbox)) == 1


def test_horrors_are_kept_and_answered(world: World) -> None:
    """Half characters, NUL, right-to-left overrides, very long ones: each ends in a state, none in an error."""
    world.grower()
    for horror in ("\ud800", "a\0b", "\u202etxet", "%s{}{0}", "x" * 70_000, "1e400", "🧑‍🌾" * 50, "", "१२/१३/१४"):
        assert world.service.inbox.receive(world.inbound(horror)) in (Received.HANDLED, Received.IGNORED)


def test_someone_hurt_reaches_the_duty_number(database: Database) -> None:
    world = World(database, settings={"duty_number": "+919999999999"})
    world.grower()

    world.says("husband eyes burning after spray")

    assert [(row.number, row.key, row.values.get("number")) for row in world.rows(schema.outbox)] == [
        (SUNANDA, "hurt.first_steps", None),
        ("+919999999999", "hurt.duty", SUNANDA),
    ]
    assert [matter.kind for matter in world.rows(schema.matters)] == ["hurt"]


def test_cooperatives_share_nothing(world: World) -> None:
    """The line decides: the same number is another grower to another cooperative."""
    world.block(world.grower())
    with world.database.writing() as connection:
        cooperatives.create(
            connection, description(name="Far Well growers"), "8000", world.clock.now(), world.here.date()
        )

    world.service.inbox.receive(InboundText("8000", "z1", SUNANDA, "rain 12", None, ""))

    assert [entry.kind for entry in world.rows(schema.entries)] == ["block"]
    assert {row.cooperative_id for row in world.rows(schema.growers)} == {1, 2}


def test_stranger_is_answered_in_the_language_of_his_text(world: World) -> None:
    """The cooperative's is English; once he has a language, what he types changes nothing."""
    assert world.says("मला नोंदणी करायची आहे") == ["join.agree"]
    assert world.says("hello sir", "+919000000002") == ["join.agree"]
    assert world.says("rain 12") == ["join.agree"]

    assert [row.language for row in world.sent] == ["mr", "en", "mr"]


def test_cheaper_script_is_offered_once_to_a_number(world: World) -> None:
    grower_id = world.grower(language="hi")
    world.block(grower_id)

    assert world.says("तारीखें") == ["plan.none", "cheaper_script.offer"]
    assert world.says("तारीखें") == ["plan.none"]
    (number,) = world.rows(schema.numbers)
    assert number.script_offered_at == world.clock.now()
