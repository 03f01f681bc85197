"""The only place where a conversation moves: one text in, everything that it changes out.

hurt comes before all else; then stop, joining, the dialogue under way, and at last a new task
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

from dialogs.answers import about, listed
from dialogs.cheaper_script import with_offer
from dialogs.dialog import Ask, AskAgain, Conversation, Dialog, Filled, Matter, Open, Outcome, Refused, Reply, Turn
from dialogs.every import DIALOGS
from dialogs.farm import Farm
from dialogs.jobs import by_number
from dialogs.reminding import asked_together, further, in_order, question
from dialogs.understanding import Meaning
from service.orchard.plan import Due

AFTER_STOP = {"hurt", "resume", "help", "language", "delete_me", "stop"}
BEFORE_JOINING = {"hurt", "stop", "help", "language", "delete_me"}
# What a text already says about a farm beside its greeting is kept for the first registration.
OF_A_BLOCK = {"plants", "spacing_m", "spacing_ft", "area_ha", "planted", "soil", "water_source", "block"}
SAYS_A_BLOCK = {"plants", "area_ha", "spacing_m"}
REPLIES = {"answer", "yes", "no"}
# What cannot be worked out twice in a row goes to a person.
TRIES = 2
# How long after a text went to a person no other is met by "not understood", unless one was understood: they are kept.
HANDED_ON = timedelta(minutes=10)


def asking(conversation: Conversation) -> str | None:
    """The corpus slot that the last question asked for, by which a bare answer is read; None at rest."""
    if conversation.open is None:
        return None
    ask = _asked(conversation.open)
    return None if ask is None else (ask.reads or ask.slot)


def heard(conversation: Conversation, farm: Farm, read: Callable[[str | None], Meaning]) -> Meaning:
    """A text read as the conversation stands. A question that has lapsed explains only what reads as nothing else.

    read: the text's meaning with what is asked for
    """
    slot = asking(conversation)
    if slot is None or conversation.open is None or not _lapsed(conversation.open, farm):
        return read(slot)
    fresh = read(None)
    return read(slot) if fresh.task == "unclear" else fresh


def turn(conversation: Conversation, meaning: Meaning, word: str | None, text: str, farm: Farm) -> Turn:
    """What one text changes.

    meaning: what was understood of it, by heard(); word: a bare key word such as `more`, else None
    """
    taken = _turn(conversation, meaning, word, text, farm)
    if taken.progress:
        taken = replace(taken, conversation=replace(taken.conversation, handed_on=None))
    return with_offer(taken, farm)


def _turn(conversation: Conversation, meaning: Meaning, word: str | None, text: str, farm: Farm) -> Turn:
    conversation = _without_the_unknown(conversation, farm)
    task = "choose_season" if word == "season" else meaning.task
    slots = {**meaning.slots, **meaning.extra}
    if "date" in slots and text.strip(" .,!").isdecimal():
        slots["day_of_month"] = int(text.strip(" .,!"))
    if slots.pop("own_name", False) and task == "register_block":  # "I am asha, 200 plants": not the block's name
        slots["grower_name"] = slots.pop("name", None)
    ask = None if conversation.open is None or meaning.bare else _asked(conversation.open, farm)
    if ask is not None and task in ask.yes_by:
        task, slots = "yes", {}
    if task == "hurt":
        return _hurt(conversation, slots, farm)
    if word == "more" and conversation.more:  # also after stop: first steps are not cut off
        return _keyword(conversation, word, farm)
    # After stop and before joining nothing is open but what may be answered then.
    put = conversation.open if task in REPLIES else None
    if farm.grower.stopped and task not in AFTER_STOP and put is None:
        return _silent(conversation, farm)
    if not farm.grower.joined and task not in BEFORE_JOINING and (put is None or put.dialog == "join"):
        return _stranger(conversation, task, slots, farm)
    to_a_reminder = put is None or put.until is not None or _lapsed(put, farm)
    if word in ("evenings", "mornings"):
        return Turn(conversation, (Reply(f"reminders.{word}"),), grower={"evenings_only": word == "evenings"})
    if word in ("more", "why") or (word == "thanks" and to_a_reminder):  # OK to a reminder is thanks, not done
        return _keyword(conversation, word, farm)
    lapsed = conversation.open is not None and _lapsed(conversation.open, farm)
    if lapsed and conversation.open is not None:
        if task in REPLIES and conversation.open.until is None:
            return _offer_to_go_on(conversation, conversation.open, task, slots, farm)
        conversation = conversation.closed()
        if conversation.open is not None and _lapsed(conversation.open, farm):
            conversation = conversation.closed()
    if conversation.open is not None:
        if task in REPLIES:
            return _answer(conversation, conversation.open, task, slots, farm)
        if task == "cancel":
            closed = replace(conversation, open=None, waiting=None)
            return Turn(closed, (Reply("cancel.left"),))
        if task == "help":
            return Turn(replace(conversation, lost=0), (Reply("help.answer"), _question(conversation.open, farm)))
        if task == "unclear":
            return _unusable(conversation, conversation.open, farm)
    if task in ("yes", "no"):  # to an echo that asks whether it is wrong: neither takes it back
        return Turn(replace(conversation, lost=0), (Reply("undo.stands"),), progress=False)
    if (
        task in ("unclear", "log_rain", "undo")
        and "instead" in slots
        and (put_right := _rain_put_right(slots["instead"], farm))
    ):
        return _start(conversation, "log_rain", put_right, farm)
    if task in ("answer", "unclear") or task not in DIALOGS:
        return _lost(conversation, meaning, farm)
    if meaning.clarify:
        if not DIALOGS[task].asks_itself(slots, farm):
            return _sure(conversation, task, slots, farm)
        slots = {**slots, "unsure": True}
    if conversation.open is not None and _adds_to(conversation.open, task, slots):
        return _answer(conversation, conversation.open, "answer", slots, farm, named=True)
    return _start(conversation, task, slots, farm)


def reminded(conversation: Conversation, dues: Sequence[Due], farm: Farm) -> Conversation:
    """The conversation after a reminder: the question it puts stays open until its job's window ends.

    A dialogue that the grower is in the middle of is not taken from him: the question waits below it. The question of
    an earlier reminder is let go: a bare answer is to the latest.
    """
    listed = tuple((due.block, due.job) for due in in_order(dues))
    conversation = replace(conversation, listed=listed, more=further(dues, farm))
    asked = question(dues, farm)
    if asked is None:
        return conversation
    new, put = _put(asked, dues, farm), conversation.open
    if put is None or _lapsed(put, farm):
        return replace(conversation, open=new, waiting=None)
    if put.until is not None:
        return replace(conversation, open=new)
    return replace(conversation, waiting=new)


def _put(due: Due, dues: Sequence[Due], farm: Farm) -> Open:
    """The question that a reminder puts. Where it names several blocks, a figure is asked for one by one."""
    plan = farm.plan(due.block)
    job = plan.job(due.job) if plan else None
    last = job.last if job else due.for_date
    blocks = list(dict.fromkeys(each.block for each in dues if asked_together(each, due)))
    about = {"block": blocks} if len(blocks) == 1 else {}
    now = farm.now.isoformat()
    until = datetime.combine(last + timedelta(days=1), farm.now.time()).isoformat()
    if due.occasion == "ask":
        until = (farm.now + timedelta(days=3)).isoformat()
        return Open("was_done", {"block": blocks, "job": due.job}, "confirm", now, until)
    if due.job == "defoliate" and due.occasion == "eve" and not farm.grower.evenings_only:
        return Open("mix_spray", {**about, "product": "ethephon"}, "grams_per_litre", now, until)
    return Open("log_leaf_drop", about, "percent", now, until)


def _start(conversation: Conversation, task: str, slots: Mapping[str, Any], farm: Farm) -> Turn:
    """A new task; the dialogue under way waits below it."""
    below = _below(conversation)
    if below is not None and below.dialog == task:
        below = None  # said anew: it replaces what was being filled
    return _run(DIALOGS[task], {}, slots, replace(conversation, open=None, waiting=below, lost=0), farm)


def _rain_put_right(amount: float, farm: Farm) -> Mapping[str, Any]:
    """What "no 21" says right after a rain was kept: that rain again, with the other amount."""
    last = farm.writings[0] if farm.writings else None
    if last is None or farm.now - last.at > timedelta(minutes=farm.settings.dialogue_minutes):
        return {}
    entries = [entry for entry in farm.entries if entry.id in last.entries]
    days = {entry.day.isoformat() for entry in entries}
    if len(days) != 1 or any(entry.kind != "rain" for entry in entries):
        return {}
    blocks = [entry.block for entry in entries if entry.block is not None]
    return {"amount_mm": amount, "date": days.pop(), **({"block": blocks} if blocks else {})}


def _below(conversation: Conversation) -> Open | None:
    """The dialogue that waits while another is taken up: the open one, unless its question may be let go."""
    put = conversation.open
    ask = None if put is None else _asked(put)
    return conversation.waiting if ask is None or not ask.waits else put


def _adds_to(put: Open, task: str, slots: Mapping[str, Any]) -> bool:
    """Whether a task named once more ("rain 12", asked how much it rained) goes on with the dialogue under way: it
    tells something, and nothing but what is asked for differs from what is filled. Else it is said anew."""
    if task != put.dialog and task not in DIALOGS[put.dialog].takes:
        return False
    ask = _asked(put)
    asked = {put.asked, ask.reads if ask else None}
    filled = put.filled
    return bool(slots) and all(
        slot in asked or slot not in filled or listed(filled[slot]) == listed(value) for slot, value in slots.items()
    )


def _run(dialog: Dialog, filled: Filled, slots: Mapping[str, Any], conversation: Conversation, farm: Farm) -> Turn:
    """Fill what was told, ask for what is missing, or finish."""
    if any(ask.slot == "job" for ask in dialog.asks):
        slots = by_number(slots, conversation.listed)
    known = dict(filled)
    known.update({slot: value for slot, value in slots.items() if not any(ask.slot == slot for ask in dialog.asks)})
    to_take = {ask.slot: slots[ask.slot] for ask in dialog.asks if ask.slot in slots}
    try:
        for ask in dialog.asks:
            if ask.slot not in slots:
                continue
            to_take.pop(ask.slot, None)
            try:
                known[ask.slot] = None if slots[ask.slot] is None else ask.check(slots[ask.slot], known, farm)
            except AskAgain as again:
                # What was filled before stays until it is answered: a slip does not undo it.
                known["_told"] = {**known.get("_told", {}), **to_take}
                return _asks(dialog, ask, known, conversation, farm, Reply(again.key, again.values))
        for ask in dialog.asks:
            if ask.slot not in known and ask.when(known, farm):
                return _asks(dialog, ask, known, conversation, farm)
        outcome = dialog.finish(known, farm)
    except Refused as refused:
        return _after(conversation, Outcome((Reply(refused.key, refused.values),)), farm)
    return _after(conversation, outcome, farm)


def _asks(
    dialog: Dialog, ask: Ask, filled: Filled, conversation: Conversation, farm: Farm, again: Reply | None = None
) -> Turn:
    """Put a question: by its own text, or by one that tells what is possible."""
    put = Open(dialog.name, filled, ask.slot, farm.now.isoformat(), again=again)
    reply = again or Reply(ask.key, ask.values(filled, farm))
    if jobs := reply.values.get("jobs"):  # a question that lists jobs: its numbers are now those of the last list
        conversation = replace(conversation, listed=tuple((job["block"], job["job"]) for job in jobs))
    return Turn(replace(conversation, open=put, lost=0), (reply,))


def _after(conversation: Conversation, outcome: Outcome, farm: Farm) -> Turn:
    """Close the dialogue, go on with what follows by itself, or come back to what waits."""
    conversation = replace(conversation, open=None, lost=0, more=outcome.more, why=outcome.why or conversation.why)
    if outcome.listed is not None:
        conversation = replace(conversation, listed=outcome.listed)
    done = Turn(
        conversation,
        outcome.replies,
        outcome.entries,
        outcome.voids,
        outcome.grower,
        outcome.matter,
        outcome.erase,
    )
    if outcome.erase or outcome.grower.get("stopped"):
        return replace(done, conversation=Conversation())
    later = _later(farm, outcome)
    if outcome.puts is not None:
        name, filled, slot = outcome.puts
        return replace(done, conversation=replace(conversation, open=Open(name, filled, slot, farm.now.isoformat())))
    if outcome.then is None:
        return _come_back(done, later)
    name, slots = outcome.then
    if conversation.waiting is not None and conversation.waiting.dialog == name:
        conversation = replace(conversation, waiting=None)  # it goes on now
    return _followed(done, _run(DIALOGS[name], {}, slots, conversation, later))


def _followed(done: Turn, following: Turn) -> Turn:
    """Two steps of one turn as one."""
    before, after = done.conversation, following.conversation
    return replace(
        following,
        conversation=replace(after, more=after.more or before.more, listed=after.listed or before.listed),
        replies=(*done.replies, *following.replies),
        entries=(*done.entries, *following.entries),
        voids=(*done.voids, *following.voids),
        grower={**done.grower, **following.grower},
        matter=following.matter or done.matter,
        erase=done.erase or following.erase,
    )


def _come_back(done: Turn, farm: Farm) -> Turn:
    """The dialogue that waited comes up again, with what it still has to ask.

    farm: as the finished dialogue leaves it
    """
    waiting = done.conversation.waiting
    if waiting is None:
        return done
    conversation = replace(done.conversation, waiting=None)
    if _lapsed(waiting, farm) or not _fits(waiting, farm) or _overtaken(waiting, done):
        return replace(done, conversation=conversation)
    up = replace(waiting, since=farm.now.isoformat())
    if up.until is not None:
        # A reminder's question is known to the grower and is not sent twice; but one of yes or no is put again, or a
        # "no" meant for what was just kept would answer it.
        again = (_question(up, farm),) if up.asked == "confirm" else ()
        return replace(done, conversation=replace(conversation, open=up), replies=(*done.replies, *again))
    if up.again is not None:
        return replace(done, conversation=replace(conversation, open=up), replies=(*done.replies, up.again))
    return _followed(done, _run(DIALOGS[up.dialog], up.filled, {}, conversation, farm))


def _overtaken(waiting: Open, done: Turn) -> bool:
    """Whether what was just written already answers the question that waits."""
    kinds = {entry.kind for entry in done.entries}
    if waiting.dialog == "log_leaf_drop":
        return bool(kinds & {"leaf_drop"})
    if waiting.dialog == "was_done":
        return bool(kinds & {"done", "spray", "watering", "rest_begun", "leaf_drop", "postponed"})
    return False


def _later(farm: Farm, outcome: Outcome) -> Farm:
    """The farm as the outcome leaves it, for the dialogue that follows."""
    later = farm.after(outcome.entries, outcome.voids)
    return replace(later, grower=replace(later.grower, **outcome.grower)) if outcome.grower else later


def _answer(
    conversation: Conversation, put: Open, task: str, slots: Mapping[str, Any], farm: Farm, named: bool = False
) -> Turn:
    """An answer to the open question.

    named: the text named its task again, so a value of its own is what it says ("mix 1500 ppm", asked for the label's
        figure)
    """
    dialog = DIALOGS[put.dialog]
    known = {question.slot for question in dialog.asks}
    ask = _asked(put, farm)
    if ask is None:
        return _start(replace(conversation, open=None), "help", {}, farm)
    told = {**put.filled.get("_told", {}), **slots}
    filled = {slot: value for slot, value in put.filled.items() if slot != "_told"}
    if put.dialog == "sure" and task == "answer" and slots:  # "no 14", asked whether 12 was right
        return _start(replace(conversation, open=None), filled["task"], {**filled["slots"], **slots}, farm)
    if (
        ask.reads is not None
        and ask.reads in told
        and not ask.or_yes
        and not (named and ask.reads in known and ask.reads not in filled)
    ):
        told[ask.slot] = told.pop(ask.reads)
    if ask.slot == "block" and (of_each := told.pop("of_each", None)):  # the figures of each block, told with them
        figures = [slot for slot in ("percent", "amount_mm", "minutes") if slot in known]
        told.update({slot: of_each for slot in figures[:1]})
    if task in ("yes", "no"):
        if "confirm" in (ask.slot, ask.reads) or ask.or_yes:
            told[ask.slot] = task == "yes"
        elif ask.optional and task == "no":
            told[ask.slot] = None
    elif not slots and ask.optional and ask.reads != "date":
        told[ask.slot] = None  # "don't know"; of a day it does not say that there was none
    if not (told.keys() & known):
        return _unusable(conversation, put, farm)
    return _run(dialog, filled, told, replace(conversation, open=None), farm)


def _unusable(conversation: Conversation, put: Open, farm: Farm) -> Turn:
    """A reply that answers nothing: asked once more, then it goes to a person."""
    if put.tries + 1 >= TRIES:
        return _to_person(conversation.closed(), farm)
    again = replace(put, tries=put.tries + 1, since=farm.now.isoformat())
    return Turn(replace(conversation, open=again), (_question(put, farm),), progress=False)


def _question(put: Open, farm: Farm) -> Reply:
    """The open question, as it was put."""
    ask = _asked(put, farm)
    if put.again is not None:
        return put.again
    if ask is None or not ask.key:
        return Reply("help.rest")
    return Reply(ask.key, ask.values(put.filled, farm))


def _asked(put: Open, farm: Farm | None = None) -> Ask | None:
    """What is asked for: of two questions for one value the one that now holds, before one only taken when told."""
    dialog = DIALOGS.get(put.dialog)
    asks = [ask for ask in dialog.asks if ask.slot == put.asked] if dialog else []
    asks.sort(key=lambda ask: (farm is not None and not ask.when(put.filled, farm), not ask.key))
    return asks[0] if asks else None


def _fits(put: Open, farm: Farm) -> bool:
    """Whether a dialogue of a row still exists, asks that question, and is about blocks that are still worked."""
    blocks = put.filled.get("block")
    return _asked(put) is not None and (not isinstance(blocks, list) or set(blocks) <= set(farm.blocks))


def _without_the_unknown(conversation: Conversation, farm: Farm) -> Conversation:
    """Rows outlive the dialogues they were written for: one that no longer fits is closed."""
    if conversation.waiting is not None and not _fits(conversation.waiting, farm):
        conversation = replace(conversation, waiting=None)
    if conversation.open is not None and not _fits(conversation.open, farm):
        conversation = conversation.closed()
    return conversation


def _lapsed(put: Open, farm: Farm) -> bool:
    if put.until is not None:
        return farm.now > datetime.fromisoformat(put.until)
    return farm.now - datetime.fromisoformat(put.since) > timedelta(minutes=farm.settings.dialogue_minutes)


def _offer_to_go_on(conversation: Conversation, put: Open, task: str, slots: Mapping[str, Any], farm: Farm) -> Turn:
    """A bare answer that comes hours late: ask before it is taken."""
    ask = _asked(put)
    told = dict(slots)
    if ask is not None and ask.reads is not None and ask.reads in told and not ask.or_yes:
        told[ask.slot] = told.pop(ask.reads)
    if ask is not None and task in ("yes", "no") and ("confirm" in (ask.slot, ask.reads) or ask.or_yes):
        told[ask.slot] = task == "yes"
    going_on = {"dialog": put.dialog, "known": {**put.filled, **told}, "task": put.filled.get("task", put.dialog)}
    return _run(DIALOGS["go_on"], {}, going_on, replace(conversation, open=None, waiting=None), farm)


def _hurt(conversation: Conversation, slots: Mapping[str, Any], farm: Farm) -> Turn:
    """First steps at once, whatever else is going on; nothing that was under way is lost."""
    outcome = DIALOGS["hurt"].finish(slots, farm)
    kept = replace(conversation, more=outcome.more, lost=0)
    return Turn(kept, outcome.replies, outcome.entries, matter=outcome.matter)


def _silent(conversation: Conversation, farm: Farm) -> Turn:
    """After stop: kept, and met at most once a day by how to start again."""
    today = farm.today.isoformat()
    if conversation.told_stopped == today:
        return Turn(conversation, progress=False)
    return Turn(replace(conversation, told_stopped=today), (Reply("stop.how_to_resume"),), progress=False)


def _stranger(conversation: Conversation, task: str, slots: Mapping[str, Any], farm: Farm) -> Turn:
    """A number that has not agreed yet: its first text waits for the yes."""
    put = conversation.open
    if put is not None and put.dialog == "join" and task in ("yes", "no", "answer"):
        return _answer(conversation, put, task, slots, farm)
    if task in ("unclear", "yes", "no", "answer", "cancel", "undo"):
        first: dict[str, Any] = {}
    elif task == "join":
        told = {**slots, **slots.get("block_facts", {})}
        about = {slot: value for slot, value in told.items() if slot in OF_A_BLOCK}
        if about and "spacing_ft" in slots:
            about["spacing_ft"] = slots["spacing_ft"]
        first = {"task": "register_block", "slots": about} if about.keys() & SAYS_A_BLOCK else {}
    else:
        first = {"task": task, "slots": dict(slots)}
    known = {"first": first} if first else {}
    if put is not None and put.dialog == "join" and not first:
        known = {"first": put.filled["first"]} if "first" in put.filled else {}
    if name := slots.get("grower_name") or (slots.get("name") if task == "join" else None):
        known["name"] = name
    if "village" in slots:
        known["village"] = slots["village"]
    return _run(DIALOGS["join"], {}, known, replace(conversation, open=None), farm)


def _keyword(conversation: Conversation, word: str, farm: Farm) -> Turn:
    if word == "more" and conversation.more:
        return Turn(replace(conversation, more=conversation.more[1:]), conversation.more[:1])
    if word == "why" and conversation.why is not None:
        return Turn(conversation, (conversation.why,))
    if word == "thanks":
        still_open = [(block, job) for block, job in conversation.listed if _is_open(block, job, farm)]
        if still_open:
            job = still_open[0][1]
            blocks = list(dict.fromkeys(block for block, kind in still_open if kind == job))
            return Turn(conversation, (Reply("thanks.report", {"job": job, **about(blocks, farm)}),))
        return Turn(conversation, (Reply("thanks"),))
    return Turn(conversation, (Reply("more.nothing" if word == "more" else "why.nothing"),), progress=False)


def _is_open(block: str, name: str, farm: Farm) -> bool:
    """Whether a job that was listed is still to be done, by tomorrow."""
    plan = farm.plan(block) if block in farm.blocks else None
    by = farm.today + timedelta(days=1)
    return plan is not None and any(job.kind == name and job.is_open and job.date <= by for job in plan.jobs)


def _lost(conversation: Conversation, meaning: Meaning, farm: Farm) -> Turn:
    """Not understood: the likeliest readings to choose from; twice in a row it goes to a person."""
    if _is_handed_on(conversation, farm):
        return Turn(conversation, progress=False)
    if conversation.lost + 1 >= TRIES:
        return _to_person(conversation, farm)
    conversation = replace(conversation, lost=conversation.lost + 1)
    readings = [reading for reading in meaning.readings if reading.task in DIALOGS][:3]
    if not readings:
        return Turn(conversation, (Reply("lost.say_again"),), progress=False)
    known = {"readings": [{"task": reading.task, "slots": dict(reading.slots)} for reading in readings]}
    below = replace(conversation, open=None, waiting=_below(conversation))
    chosen = _run(DIALOGS["choose"], {}, known, below, farm)
    return replace(chosen, conversation=replace(chosen.conversation, lost=conversation.lost), progress=False)


def _to_person(conversation: Conversation, farm: Farm) -> Turn:
    """What cannot be worked out goes to a person; said once, then not again for a while."""
    told = () if _is_handed_on(conversation, farm) else (Reply("lost.to_person"),)
    after = replace(conversation, lost=0, handed_on=farm.now.isoformat() if told else conversation.handed_on)
    return Turn(after, told, matter=Matter("not_understood") if told else None, progress=False)


def _is_handed_on(conversation: Conversation, farm: Farm) -> bool:
    at = conversation.handed_on
    return at is not None and farm.now - datetime.fromisoformat(at) < HANDED_ON


def _sure(conversation: Conversation, task: str, slots: Mapping[str, Any], farm: Farm) -> Turn:
    """Understood, but not for certain: asked back before anything is written."""
    known = {"task": task, "slots": dict(slots)}
    below = replace(conversation, open=None, waiting=_below(conversation), lost=0)
    return _run(DIALOGS["sure"], {}, known, below, farm)
