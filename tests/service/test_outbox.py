"""What is claimed, sent, tried again and given up."""

import threading
from datetime import timedelta
from typing import Any

import pytest

from service.channels.channel import DeliveryReport, Rejected, TryLater
from service.store import cooperatives, messages, schema
from service.store.messages import NewText
from tests.service.world import LINE, SUNANDA, World


def queue(world: World, number: str = SUNANDA, because: str = "reply", key: str = "thanks", **changes: Any) -> int:
    now = world.clock.now()
    with world.database.writing() as connection:
        line_id, _, _ = cooperatives.by_line(connection, LINE) or (0, 0, 0)
        values = {"due_at": now, "useful_until": now + timedelta(days=1)} | changes
        new = NewText(number, line_id, because, key, {}, (), "en", **values)
        return messages.queue(connection, world.cooperative_id, None, new, now)


def states(world: World) -> list[str]:
    return [row.state for row in world.rows(schema.outbox)]


def test_text_is_worded_when_it_is_sent(world: World) -> None:
    queue(world)
    assert world.rows(schema.outbox)[0].text is None

    world.service.outbox.send_due()

    (row,) = world.rows(schema.outbox)
    assert (row.state, row.text, row.encoding, row.segments) == ("handed", world.channel.texts[0].text, "gsm7", 1)


def test_gateway_away_is_tried_again_with_growing_pauses_until_it_is_of_no_use(world: World) -> None:
    """10 s, 30 s, 2 min, 10 min, 30 min, 1 h, then hourly (PROMISES), up to a day."""
    queue(world)
    start = world.clock.now()
    world.channel.fails = [TryLater("down") for _ in range(99)]
    tries = []
    for _ in range(7):
        left = len(world.channel.fails)
        world.service.outbox.send_due()
        assert len(world.channel.fails) == left - 1
        tries.append((world.clock.now() - start).total_seconds())
        world.clock.move(world.rows(schema.outbox)[0].due_at)

    assert tries == [0, 10, 40, 160, 760, 2560, 6160]
    world.clock.move(start + timedelta(days=1))
    world.service.outbox.send_due()
    assert states(world) == ["expired"]


def test_nothing_is_lost_while_the_gateway_is_down(world: World) -> None:
    for number in range(20):
        queue(world, f"+9190000001{number:02}")
    world.channel.fails = [TryLater("down") for _ in range(20)]
    world.service.outbox.send_due()
    assert world.channel.texts == []

    world.clock.move(world.clock.now() + timedelta(minutes=1))
    world.service.outbox.send_due()

    assert sorted(text.id for text in world.channel.texts) == list(range(1, 21))


def test_refused_text_is_given_up_and_a_person_sees_it(world: World) -> None:
    queue(world)
    world.channel.fails = [Rejected("no such number")]

    world.service.outbox.send_due()

    (row,) = world.rows(schema.outbox)
    assert (row.state, row.reason) == ("failed", "no such number")
    assert [matter.kind for matter in world.rows(schema.matters)] == ["not_delivered"]


def test_texts_to_one_number_keep_their_order(world: World) -> None:
    """The second of two answers does not overtake the first while that waits to be tried again."""
    first, second = queue(world), queue(world)
    world.channel.fails = [TryLater("busy")]

    world.service.outbox.send_due()
    assert world.channel.texts == []
    world.clock.move(world.clock.now() + timedelta(seconds=10))
    world.service.outbox.send_due()

    assert [text.id for text in world.channel.texts] == [first, second]


def test_answers_go_before_reminders_and_those_before_broadcasts(world: World) -> None:
    world.grower()
    for because in ("broadcast", "reminder", "reply"):
        queue(world, because=because)

    world.service.outbox.send_due()

    assert [row.because for row in world.sent] == ["reply", "reminder", "broadcast"]


def test_nothing_unasked_without_consent(world: World) -> None:
    """Checked as it is claimed, whatever was true when the row was made."""
    queue(world, because="reminder")
    world.grower("+919000000002", stopped=True)
    queue(world, "+919000000002", because="broadcast")

    world.service.outbox.send_due()

    assert states(world) == ["suppressed", "suppressed"]


def test_lease_that_ran_out_goes_again(world: World) -> None:
    """A process was killed with the text in hand: it may have gone out; an answer is wanted at least once."""
    queue(world)
    now = world.clock.now()
    with world.database.writing() as connection:
        messages.claim(connection, now, now + timedelta(seconds=60), 10)

    world.service.outbox.send_due()
    assert world.channel.texts == []
    world.clock.move(now + timedelta(seconds=61))
    world.service.outbox.send_due()

    assert [text.id for text in world.channel.texts] == [1]


@pytest.mark.parametrize(
    ("reports", "state"),
    [
        (["delivered"], "delivered"),
        (["failed"], "failed"),
        (["delivered", "failed"], "delivered"),
        (["failed", "delivered"], "failed"),
        (["delivered", "delivered", "handed"], "delivered"),
        (["handed"], "handed"),
        ([], "handed"),
    ],
)
def test_reports_only_move_forward(world: World, reports: list[Any], state: str) -> None:
    """Lost, repeated, contradictory: the first final word stands, and no word is an end too."""
    queue(world)
    world.service.outbox.send_due()

    for one in reports:
        world.service.outbox.report(DeliveryReport(1, one, ""))

    assert states(world) == [state]


def test_report_that_overtakes_the_answer_to_the_send(world: World) -> None:
    queue(world)
    now = world.clock.now()
    with world.database.writing() as connection:
        messages.claim(connection, now, now + timedelta(seconds=60), 10)
    world.service.outbox.report(DeliveryReport(1, "delivered", ""))

    with world.database.writing() as connection:
        messages.handed(connection, 1, now)

    assert states(world) == ["delivered"]


def test_report_on_a_text_that_may_have_gone_keeps_it_from_going_again(world: World) -> None:
    queue(world)
    world.channel.fails = [TryLater("no answer", may_have_gone=True)]
    world.service.outbox.send_due()

    world.service.outbox.report(DeliveryReport(1, "delivered", ""))
    world.clock.move(world.clock.now() + timedelta(hours=1))
    world.service.outbox.send_due()

    assert states(world) == ["delivered"]
    assert world.channel.texts == []


def test_report_on_what_was_never_sent_changes_nothing(world: World) -> None:
    queue(world)

    for id_ in (1, 999):
        world.service.outbox.report(DeliveryReport(id_, "delivered", ""))

    assert states(world) == ["waiting"]


def test_text_that_cannot_be_worded_is_not_silence(world: World) -> None:
    """A fault of ours: the grower hears that it is seen to, a person sees it, the next text goes on."""
    queue(world, key="no.such.text")
    queue(world, "+919000000002")

    world.service.outbox.send_due()

    assert [row.text is not None for row in world.sent] == [True, True]
    assert {(matter.kind, matter.text) for matter in world.rows(schema.matters)} == {("no_text", "no.such.text")}


def test_fault_of_a_channel_holds_up_no_other_text(world: World) -> None:
    queue(world)
    queue(world, "+919000000002")
    world.channel.fails = [RuntimeError("boom")]

    world.service.outbox.send_due()

    assert [row.number for row in world.sent] == ["+919000000002"]
    assert sorted(states(world)) == ["handed", "waiting"]


def test_four_senders_claim_each_row_once(world: World) -> None:
    for number in range(300):
        queue(world, f"+91900000{number:04}")
    senders = [threading.Thread(target=world.another().outbox.send_due) for _ in range(4)]

    for sender in senders:
        sender.start()
    for sender in senders:
        sender.join()

    assert sorted(text.id for text in world.channel.texts) == list(range(1, 301))
    assert set(states(world)) == {"handed"}
