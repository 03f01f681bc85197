"""From a text to its meaning: reads everything that the text states, then what it asks for, then what of it counts."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from itertools import pairwise
from typing import Any

from dialogs.language import Language
from dialogs.lexicon import CONCEPTS, Lexicon, bit
from dialogs.understanding.blocks import KnownBlock, find_blocks, find_jobs, perhaps_places
from dialogs.understanding.dates import ANY_EITHER, ANY_FIXED, ANY_WEEKDAY, MONTHS, Day, find_days, resolve
from dialogs.understanding.numbers import join_numbers
from dialogs.understanding.quantities import ANY_UNIT, REFUSES_NEXT, REFUSES_PREV, Amounts, measure
from dialogs.understanding.slots import PAST_TASKS, Facts, extra_slots, fill, has_value, share_that_cannot_be
from dialogs.understanding.tasks import WRITES, Tasks, task_table
from dialogs.understanding.tokens import Item, items_of, normalise
from dialogs.understanding.weighing import LEAST_HEARD, together, weighed

# A task needs this much to be taken, and this much more than the next to be taken without asking.
LEAST = 4.0
CLEAR_LEAD = 2.0
SURELY_HURT = 7.0
ANY_MONTH = sum(MONTHS)
LARGEST_PLAIN_RAIN_MM = 100
# Two of these in one text are two statements: the first stated is the task.
STATEMENTS = frozenset(
    "log_rain log_watering log_spray log_harvest log_leaf_drop log_flowering log_shoots report_trouble "
    "report_done".split()
)
# Keywords that are tasks: the text is nothing else, so it is read no further.
WHOLE_TEXTS = frozenset("stop resume help undo cancel".split())
NUMERIC_SLOTS = frozenset(
    "amount_mm plants area_ha volume_l ppm job percent minutes litres_per_plant weight_kg people delay_days block "
    "spacing_m".split()
)
CHEMICAL = bit("ethephon") | bit("bordeaux") | bit("copper") | bit("other_product") | bit("medicine") | bit("dose")
FILLER = bit("filler")
EACH = bit("per_plant") | bit("everywhere")  # "every tree" counts no trees
HASTA, UNTIL = bit("hasta"), bit("to")
SEASONAL = bit("season_word") | bit("mrig") | bit("ambe")
POISON = bit("poison") | bit("poisoned")
FALLING, DRIP = bit("fall") | bit("fallen") | bit("flower_drop") | bit("splash") | bit("ill"), bit("drip")
HARMLESS = bit("harmless") | bit("by_hand")
HARM = 0
for _name in (
    "body being animal ill sick tremble hurt_word blood snake scorpion wasp bite burn pain swell itch collapse "
    "unconscious crush shock die red"
).split():
    HARM |= bit(_name)
COUNTED_TREES = bit("plant") | bit("tree")
YES, NO = bit("yes"), bit("no")
TAKEN_OFF = bit("delete") | bit("stop_message")  # said of a block, it is no wish to be left alone
NAME_CUE = bit("name_is") | bit("i_am")
PLOT, NEW = bit("block") | bit("field_word"), bit("new") | bit("one_more")
DONT_KNOW = bit("dont_know")


@dataclass(frozen=True)
class Reading:
    """One way to take a text, with the score it reached."""

    task: str
    slots: Mapping[str, Any]
    score: float


@dataclass(frozen=True)
class Meaning:
    """What a text was taken to mean.

    task, slots: in the corpus's words
    clarify: the tool should ask back before it acts
    readings: the next most likely ways to take it, best first
    bare: the whole text is an exact keyword
    why: lines for a maintainer, only when asked for
    extra: what else was read that is no corpus slot: `village`, `grams_per_litre` with `strength_from_percent`,
        `pump_l`, `spacing_ft`
    """

    task: str
    slots: Mapping[str, Any]
    clarify: bool = False
    readings: tuple[Reading, ...] = ()
    bare: bool = False
    why: tuple[str, ...] = ()
    extra: Mapping[str, Any] = field(default_factory=dict)


def keyword(text: str, lang: str, languages: Mapping[str, Language]) -> str | None:
    """The command that the whole text is, if it is one: "stop", "more", "why", "thanks", "season" ..."""
    lexicon = languages[lang].lexicon
    return lexicon.keywords.get(_bare_words(normalise(text), lexicon))


def _bare_words(text: str, lexicon: Lexicon) -> str:
    items = items_of(text[:60], lexicon) if len(text) <= 60 else []
    return " ".join(item.word for item in items if item.word[:1].isalnum())


def understand(
    text: str,
    lang: str,
    today: date,
    asking: str | None,
    languages: Mapping[str, Language],
    blocks: Sequence[KnownBlock] = (),
    villages: Sequence[str] = (),
    explain: bool = False,
) -> Meaning:
    """Read one text.

    lang: the language the grower's phone is set to; words of all languages are known
    today: the local day on which it was sent
    asking: the slot that the last prompt asked for, "confirm" for a yes/no question, None at rest
    blocks: the grower's own, so that names are known; villages: the cooperative's
    """
    lexicon = languages[lang].lexicon
    table = task_table()
    normal = normalise(text)
    items = items_of(normal, lexicon, names=asking == "name")
    if asking == "name" and _is_no_name(items):
        asking = None  # "cut block 4 4 jan" is nobody's name, nor is "poison"
    words = " ".join(item.word for item in items if item.word[:1].isalnum())
    command = lexicon.keywords.get(words) if len(words) <= 60 else None
    if command in WHOLE_TEXTS and not (command == "resume" and asking):
        return Meaning(command, {}, clarify=False, bare=True)
    facts = read_facts(items, today, asking, blocks, table, lexicon)
    scores = table.scores(facts.present)
    task, score, clarify, ranked = _choose(facts, scores, asking, table)
    cries = command is None and _cries_poison(facts)
    if cries:
        task, score, clarify = "hurt", SURELY_HURT, False
    shares = languages[lang].model.shares(normal, facts.present, asking, lang)
    # A plain yes or no is settled, and so is a block that is to be taken off: not the grower, not his last entry.
    settled = cries or task in ("yes", "no") or (task == "unclear" and bool(facts.blocks) and facts.has(TAKEN_OFF))
    never = _never(task, score, facts, asking)
    likely = together(task, ranked, shares, never)
    # Where the model holds it for what it plainly is not, what it leaves to the tasks says nothing.
    settled = settled or sum(share for name, share in shares.items() if name not in never) < LEAST_HEARD
    if command is None and not settled:
        ruled = task
        task, clarify = weighed(ruled, likely)
        if task == "answer" != ruled and not any(item.mask & ~EMPTY or item.used for item in facts.items):
            task, clarify = "unclear", True  # words that nobody knows
        if task != ruled:
            ranked = [(ruled, score), *(pair for pair in ranked if pair[0] != ruled)]
    extra = extra_slots(facts, villages, today)
    if "grams_per_litre" in extra and asking != "grams_per_litre" and task in ("answer", "unclear"):
        task, clarify = "mix_spray", False  # what stands on a label is no share of leaves
    if task == "answer" and facts.has(bit("how_much")) and (asking == "product" or _asks_a_dose(ranked)):
        task = "mix_spray"  # a question is no answer
    slots: Mapping[str, Any] = fill(task, facts, today, asking)
    if task == "log_leaf_drop" and "percent" not in slots and (share := share_that_cannot_be(facts)) is not None:
        extra = {**extra, "percent": share}
        facts.placed.update(number.at for number in facts.amounts.bare)
    clarify = clarify or _doubtful(task, slots, facts, score) or _far_back(task, facts, today)
    if task == "join":  # a stranger who greets may tell of a block in the same breath
        extra = {**extra, "block_facts": fill("register_block", facts, today, asking)}
    if task == "unclear" and asking is None and not ranked:
        ranked = [(each, LEAST) for each in _said_by_a_value(facts)]
    if task == "unclear" and facts.blocks and facts.has(TAKEN_OFF):
        ranked = [("my_blocks", score), *(pair for pair in ranked if pair[0] != "my_blocks")]
    readings = tuple(
        Reading(other, _reading_slots(other, facts, today, asking), other_score)
        for other, other_score in ranked
        if other != task
    )[:3]
    return Meaning(
        task,
        slots,
        clarify,
        readings,
        bare=command is not None,
        why=tuple(_explanation(facts, scores, table, shares, likely)) if explain else (),
        extra=extra,
    )


def _said_by_a_value(facts: Facts) -> tuple[str, ...]:
    """What a text that is nothing but a value or a job may be told for: "50", "half", "14 jan", "clean"."""
    words = [item for item in facts.items if item.mask & ~EMPTY or item.number is not None or not item.known]
    if any(not (item.number is not None or item.used or item.mask & VALUE_WORDS) for item in words):
        return ()
    if facts.has(JOB_NAMES):
        return ("report_done", "plan")
    numbers = [each.value for each in (*facts.amounts.bare, *facts.amounts.quantities)]
    if facts.has(bit("#fraction") | bit("#percent")):
        return ("log_leaf_drop", "report_done")
    if len(numbers) == 1 and 0 <= numbers[0] <= LARGEST_PLAIN_RAIN_MM and not facts.days:
        return ("log_rain", "log_leaf_drop")
    if len(facts.days) == 1 and not numbers:
        return ("set_cut_day", "todays_jobs")
    return ()


JOB_NAMES = bit("cut") | bit("clean") | bit("defoliate") | bit("copper")
VALUE_WORDS = bit("percent") | bit("half") | bit("#fraction") | JOB_NAMES


def _is_no_name(items: Sequence[Item]) -> bool:
    if any(item.mask & (HARM_NAMED | POISON) and not item.guessed for item in items):
        return True
    return any(item.mask & NO_NAMES for item in items) and any(item.number for item in items)


def _asks_a_dose(ranked: Sequence[tuple[str, float]]) -> bool:
    return bool(ranked) and ranked[0][0] == "mix_spray" and ranked[0][1] >= LEAST + 1


def _reading_slots(task: str, facts: Facts, today: date, asking: str | None) -> dict[str, Any]:
    """The slots of another reading; a list of blocks that names one leads to it."""
    if task == "my_blocks" and len(facts.blocks) == 1 and facts.blocks != ["all"]:
        return {"block": facts.blocks[0]}
    return fill(task, facts, today, asking)


def read_facts(
    items: list[Item],
    today: date,
    asking: str | None,
    blocks: Sequence[KnownBlock],
    table: Tasks,
    lexicon: Lexicon,
) -> Facts:
    """Everything a text states, whatever it asks for."""
    for at, item in enumerate(items):
        if item.mask:
            item.mask = table.with_implied(item.mask)
            if item.mask & HASTA and item.mask & UNTIL and asking != "season":
                beside = (*items[max(0, at - 2) : at], *items[at + 1 : at + 3])
                if not any(each.mask & SEASONAL for each in beside):
                    item.mask &= ~HASTA  # Spanish "until"
            if item.mask & EACH:
                item.mask &= ~COUNTED_TREES
            if item.mask & FALLING:
                item.mask &= ~DRIP  # "phool tapak rahe"
            if item.mask & HARMLESS:
                item.mask &= ~HARM
    _units_after_numbers(items)
    _unguess_names(items, asking)
    if asking is None or asking == "confirm":
        _leave_out_undone(items)
    items = join_numbers(items, whole=asking in NUMERIC_SLOTS or asking == "date")
    days, times = find_days(items, today, asking)
    jobs = find_jobs(items, asking)
    named, spans = find_blocks(items, asking, blocks, lexicon)
    for start, end in spans:  # a name's own words say nothing about the task
        for item in items[start:end]:
            item.mask &= bit("#block")
            item.known = True
    present = 0
    for item in items:
        present |= item.mask
    amounts = measure(items, bool(present & CHEMICAL), counts_range=True)
    present |= _measured(amounts) | _dated(days, today)
    if named:
        present |= bit("#block")
    if jobs:
        present |= bit("#job")
    if any(item.mask & bit("#fraction") for item in items):
        present |= bit("#fraction")
    present = table.with_derived(present)
    return Facts(items, present, days, times, named, jobs, amounts, [] if named else perhaps_places(items))


# Tells that something was done, that it was not, and of what.
DONE = 0
for _name in "done done_word finished sprayed irrigated cleaned cut_past".split():
    DONE |= bit(_name)
UNDONE = bit("not") | bit("not_yet") | bit("cannot") | bit("remain_job")
WORK = 0
for _name in (
    "cut cut_past clean cleaned spray sprayed defoliate irrigate irrigated copper bordeaux ethephon rain"
).split():
    WORK |= bit(_name)


def _leave_out_undone(items: list[Item]) -> None:
    """Of a text that reports one job and says of another that it is not done, only the report: "cut done, not cleaned".

    What is left out was not done, so nothing is lost by it; taken together the two would put the first off.
    """
    done = next((at for at, item in enumerate(items) if item.mask & DONE), None)
    if done is None or any(item.mask & UNDONE for item in items[: done + 1]):
        return
    reported = 0
    for item in items[: done + 1]:
        reported |= item.mask & WORK
    ends = done + 1
    while ends < len(items) and items[ends].mask & DONE and not items[ends].mask & WORK & ~reported:
        ends += 1
    undone = next((at for at in range(ends, len(items)) if items[at].mask & UNDONE), None)
    others = [at for at in range(ends, len(items)) if items[at].mask & WORK & ~reported & ~DONE]
    if reported and undone is not None and items[undone].mask & bit("remain_job") and not others:
        for item in items[undone + 1 :]:  # "half cut, the rest tomorrow": the day is not that of the half
            item.mask &= ~(ANY_FIXED | ANY_EITHER | ANY_WEEKDAY)
        return
    if not reported or undone is None or not others:
        return
    for item in items[min(undone, others[0]) :]:
        item.mask, item.number, item.number_word, item.known, item.used = 0, None, None, True, True


# Words that are something else where no number stands before them ("tan": tonne, and rest without water).
_UNIT_OR_WORD = bit("tonne")


def _units_after_numbers(items: list[Item]) -> None:
    for at, item in enumerate(items):
        if item.mask & _UNIT_OR_WORD and item.mask & ~(ANY_UNIT | bit("single")):
            counted = at > 0 and (items[at - 1].number is not None or items[at - 1].number_word is not None)
            item.mask = item.mask & ANY_UNIT if counted else item.mask & ~_UNIT_OR_WORD


def _unguess_names(items: list[Item], asking: str | None) -> None:
    """A name that is one letter away from a listed word is still a name."""
    cued = 2 if asking == "name" else 0
    for at, item in enumerate(items):
        if at > 1 and item.mask & ANY_WEEKDAY and items[at - 1].mask & PLOT and items[at - 2].mask & NEW:
            item.mask, item.known = 0, False  # "new block ravi", called after one who is called so
        if item.mask & NAME_CUE:
            cued = 2
        elif cued and item.guessed:
            item.mask, item.known, item.number_word = 0, False, None
            cued -= 1
        else:
            cued = 2 if asking == "name" else 0


_KINDS = {
    "mm": bit("#mm"),
    "percent": bit("#percent"),
    "kg": bit("#kg"),
    "minutes": bit("#minutes"),
    "litres": bit("#litres"),
    "area": bit("#area"),
    "plants": bit("#plants"),
    "people": bit("#people"),
    "ppm": bit("#ppm"),
    "ml": bit("#ml"),
    "gram": bit("#gram"),
    "crate": bit("#crate"),
}


def _measured(amounts: Amounts) -> int:
    present = 0
    for quantity in amounts.quantities:
        present |= _KINDS.get(quantity.kind, 0)
    if amounts.bare:
        present |= bit("#number")
    if amounts.spacings:
        present |= bit("#spacing")
    if amounts.per_plant and present & bit("#litres"):
        present |= bit("#lpp")
    return present


def _dated(days: Sequence[Day], today: date) -> int:
    present = 0
    for day in days:
        if day.kind == "delay":
            present |= bit("#delay")
        elif day.kind == "month":
            present |= bit("#month") if day.month else bit("#planted")
        elif day.kind == "years_back":
            present |= bit("#planted")
        else:
            present |= bit("#date")
            if day.direction(today) < 0:
                present |= bit("#past")
            elif day.direction(today) > 0:
                present |= bit("#future")
    return present


def _choose(
    facts: Facts, scores: Mapping[str, float], asking: str | None, table: Tasks
) -> tuple[str, float, bool, list[tuple[str, float]]]:
    """The task, its score, whether another is too close, and the ranking."""
    ranked = sorted(scores.items(), key=lambda pair: -pair[1])
    hurt = scores.get("hurt", 0.0)
    if hurt >= SURELY_HURT:
        return "hurt", hurt, False, ranked
    if asking is not None:
        return _while_asked(facts, asking, table)
    if facts.present & bit("wrong") and facts.present & bit("not") and _says_little(facts):
        return "no", 8.0, False, ranked  # "not wrong"
    plain_reply = _yes_or_no(facts, None)
    if plain_reply and not (ranked and ranked[0][1] >= LEAST + 1):
        return plain_reply, 8.0, False, ranked
    task, score, close = _best(facts, ranked, table)
    if score < LEAST:
        return _likeliest(facts, table) or ("unclear", score, True, ranked)
    return task, score, close, ranked


def _cries_poison(facts: Facts) -> bool:
    """Whether a text is the one word: whoever types no more may not be able to."""
    said = [item for item in facts.items if item.word[:1].isalnum()]
    poison = any(item.mask & POISON and not item.guessed for item in said)
    return poison and all(item.mask & (POISON | FILLER) for item in said)


def _likeliest(facts: Facts, table: Tasks) -> tuple[str, float, bool, list[tuple[str, float]]] | None:
    """Where nothing stands out: the task that most speaks for, whatever speaks against; to be asked back."""
    ranked = sorted(table.scores(facts.present, against=0.35).items(), key=lambda pair: -pair[1])
    if ranked and ranked[0][1] >= LEAST:
        return ranked[0][0], ranked[0][1], True, ranked
    return None


def _best(facts: Facts, ranked: list[tuple[str, float]], table: Tasks) -> tuple[str, float, bool]:
    if not ranked:
        return "unclear", 0.0, True
    task, score = ranked[0]
    if task in STATEMENTS:
        rivals = [other for other, points in ranked if other in STATEMENTS and points >= 6 and points >= 0.35 * score]
        if len(rivals) > 1:
            first = min(rivals, key=lambda other: (_position(facts, other, table), -scores_of(ranked, other)))
            return first, scores_of(ranked, first), False
    lead = score - (ranked[1][1] if len(ranked) > 1 else 0.0)
    return task, score, lead < CLEAR_LEAD


def scores_of(ranked: Sequence[tuple[str, float]], task: str) -> float:
    """The score of a task in a ranking."""
    return next((points for name, points in ranked if name == task), 0.0)


def _position(facts: Facts, task: str, table: Tasks) -> int:
    """Where the words that tell of a task begin."""
    best = len(facts.items)
    for line in table.evidence(task, facts.present):
        if line.weight < 5:
            continue
        places = []
        for need in line.needs:
            for at, item in enumerate(facts.items):
                if item.mask & need:
                    places.append(at)
                    break
        if places:
            best = min(best, max(places))
    return best


def _while_asked(facts: Facts, asking: str, table: Tasks) -> tuple[str, float, bool, list[tuple[str, float]]]:
    """While a slot is asked for: its value is an answer, a text with a task's own words is that task."""
    words = [item for item in facts.items if item.word[:1].isalnum()]
    if words and len(words) <= 2 and words[0].mask & COMMANDS:
        return "plan", NAMED, False, []
    plain_reply = _yes_or_no(facts, asking)
    if plain_reply is None:
        plain_reply = _opening_reply(facts, asking)
    if plain_reply:
        return plain_reply, 8.0, False, []
    if asking in FIGURES and facts.present & PRODUCTS and facts.present & bit("#litres"):
        return "mix_spray", NAMED, False, []  # "bordeaux 100 l" is no rain
    others = OWN_NOUNS & ~FIGURES.get(asking, OWN_NOUNS)
    if asking == "confirm" or (asking == "planted" and facts.present & bit("cut")) or facts.present & others:
        every = sorted(table.scores(facts.present).items(), key=lambda pair: -pair[1])
        task, score, close = _best(facts, every, table)
        removing = facts.blocks and facts.present & bit("delete")
        if removing:
            return "unclear", 0.0, True, [pair for pair in every if pair[0] != "unclear"]
        if task in WRITES and score >= FULL_TASK and facts.present & OWN_NOUNS:
            return task, score, close, every  # "leaf 80", "cut block 2 4 jan": a fresh task
    rest = facts.present & ~table.asked.get(asking, 0)
    ranked = sorted(table.scores(rest).items(), key=lambda pair: -pair[1])
    task, score, close = _best(facts, ranked, table)
    dont_know = bool(facts.present & DONT_KNOW)
    if score >= LEAST + 1 and not (dont_know and task not in ("cancel", "help")):
        if not (task in ("unclear", "join", "ask", "help") and has_value(facts, asking) and score < 7):
            return task, score, close and task in WRITES, ranked
    if (
        has_value(facts, asking)
        or (asking == "amount_mm" and has_value(facts, "rain_word"))
        or dont_know
        or facts.amounts.left_out
    ):
        return "answer", 8.0, False, ranked
    if asking == "confirm":
        if any(has_value(facts, slot) for slot in ("block", "date", "amount_mm", "weight_kg", "minutes", "percent")):
            return "answer", 8.0, False, ranked
        return "unclear", 0.0, True, ranked
    on_topic = facts.present & table.asked.get(asking, 0) & ~(bit("not") | bit("all") | bit("in") | bit("none"))
    if on_topic and not rest & ~EMPTY and all(item.known or not item.word[:1].isalpha() for item in facts.items):
        return "answer", 6.0, False, ranked
    vague = bit("unmeasured") | (bit("few") | bit("many") if asking in NUMERIC_SLOTS else 0)
    if facts.amounts.quantities or facts.amounts.bare or facts.present & vague:
        return "answer", 6.0, False, ranked
    if asking == "delay_days" and has_value(facts, "date"):
        return "answer", 6.0, False, ranked
    return "unclear", 0.0, True, ranked


def _never(task: str, score: float, facts: Facts, asking: str | None) -> Collection[str]:
    """What a text cannot be: no answer at rest, no reply where it plainly is a task."""
    if asking is None:
        return ("answer",)
    if task in ("answer", "unclear", "yes", "no"):
        return ()
    words = [item for item in facts.items if item.word[:1].isalnum()]
    plain = all(item.known and not item.guessed for item in words)
    few = len(words) <= 2 and not any(item.guessed for item in words)
    if (few and words[0].mask & COMMANDS) or (task == "mix_spray" and asking in FIGURES):
        return REPLIES
    if (
        task in WRITES
        and score >= FULL_TASK
        and facts.present & OWN_NOUNS
        and (few or plain or asking in ("confirm", "planted"))
    ):
        return REPLIES  # "rain 60", asked for a percentage; "rain 12 5 dec", asked for millimetres
    return REPLIES if score >= (LEAST + 1 if few else NAMED) and not has_value(facts, asking) else ()


REPLIES = ("answer", "yes", "no")
NAMED = 8.0
FULL_TASK = 6.0
LONGEST_REPLY = 6
QUESTIONS = 0
for _name in "what when how how_much which why can qmark how_long".split():
    QUESTIONS |= bit(_name)
# The things of the tasks that write.
OWN_NOUNS = 0
for _name in "rain leaf cut spray sprayed irrigate irrigated clean cleaned shoot rest stopped_water defoliate".split():
    OWN_NOUNS |= bit(_name)
# Figures that are asked for, and the things that they are told of.
FIGURES = {
    "amount_mm": bit("rain"),
    "minutes": bit("irrigate") | bit("irrigated"),
    "plants": OWN_NOUNS & ~(bit("leaf") | bit("rain")),
}
PRODUCTS = bit("ethephon") | bit("bordeaux") | bit("copper")
NO_NAMES = OWN_NOUNS | bit("plant") | bit("tree") | bit("feet") | bit("metre") | bit("acre")
COMMANDS = bit("schedule") | bit("dates")  # "plan 1" is no figure of anything
HARM_NAMED = bit("ill") | bit("hurt_word") | bit("collapse") | bit("unconscious") | bit("blood") | bit("body")

_STRONG_TALK = 0
for _name in "rain spray sprayed irrigate irrigated harvest harvested job cut clean trouble message".split():
    _STRONG_TALK |= bit(_name)
# Concepts that say nothing by themselves.
EMPTY = 0
for _name in (
    "filler article of is in on and or to polite only above about by not_next not_prev past_cue wala size_of place_in "
    "light me"
).split():
    EMPTY |= bit(_name)
_REPLY_FILL = (
    YES
    | NO
    | FILLER
    | bit("polite")
    | bit("right")
    | bit("go_ahead")
    | bit("done_word")
    | bit("wrong")
    | bit("is")
    | bit("not")
)


def _yes_or_no(facts: Facts, asking: str | None) -> str | None:
    """A bare yes or no: nothing else in the text but courtesy. At rest "that is right" is said to what was kept."""
    also_yes = {"confirm": bit("right") | bit("go_ahead"), None: bit("right")}.get(asking, 0)
    says_yes = bool(facts.present & (YES | also_yes))
    says_no = bool(facts.present & (NO | (bit("wrong") if asking == "confirm" else 0)))
    if not (says_yes or says_no):
        return None
    unknown = 0
    for item in facts.items:
        if item.number is not None:
            return None
        if not item.mask & _REPLY_FILL:
            if item.known and item.mask == 0:
                continue
            if not item.word[:1].isalnum():
                continue
            if item.known:
                return None
            unknown += 1
    if unknown > (asking == "confirm"):
        return None
    return "no" if says_no else "yes"


def _opening_reply(facts: Facts, asking: str) -> str | None:
    """A reply that opens with yes or no and then says what the question said: "haan sab tod liye", "nahi hua"."""
    if facts.amounts.quantities or facts.amounts.bare:
        return None
    if facts.present & (QUESTIONS | DONT_KNOW | bit("message") | bit("delete") & ~bit("go_ahead")):
        return None
    words = [item for item in facts.items if item.word[:1].isalpha()]
    if not words or len(words) > LONGEST_REPLY:
        return None
    named = [block for block in facts.blocks if block != "all"]
    if asking == "confirm" and words[0].mask & YES and not words[0].mask & NO and not named:
        return "yes"  # also with a day, "yes picked in sept"; "yes both" is a yes to what was asked
    if facts.days or facts.blocks or facts.jobs:
        return None
    if asking == "confirm":
        if words[0].mask & (NO | bit("not")) and not facts.present & HARM_NAMED:
            return "no"
        done = facts.present & (bit("harvested") | bit("done_word") | bit("done"))
        # What names a job of its own is that job's report: the question may have been about another.
        return "yes" if done and not facts.present & (bit("not") | OWN_NOUNS | bit("job_kind")) else None
    if asking in ("date", "planted") and facts.present & (NO | bit("not") | bit("not_yet")):
        return None if facts.present & (OWN_NOUNS & ~bit("cut") | bit("cannot") | bit("rain")) else "no"
    return None


def _says_little(facts: Facts) -> bool:
    """Whether nothing is in a text but courtesy and what is said of right and wrong."""
    return all(
        item.number is None and (item.mask & _REPLY_FILL or not item.word[:1].isalnum() or item.mask & bit("not_prev"))
        for item in facts.items
    )


def _left_over(items: Sequence[Item]) -> bool:
    """Whether plants are told as not done yet: "cut done, 40 plants left"."""
    return any(before.mask & bit("plant") and after.mask & bit("remain") for before, after in pairwise(items))


def _doubtful(task: str, slots: Mapping[str, Any], facts: Facts, score: float) -> bool:
    """Whether a reading should be asked back although it is the likeliest."""
    if task in ("unclear", "stop", "delete_me"):
        return True
    if task == "undo":
        return facts.has(REFUSES_NEXT | REFUSES_PREV)  # "galat nahi hai" takes nothing back
    if task not in WRITES:
        return False
    mm = slots.get("amount_mm")
    amounts = mm if isinstance(mm, list) else [mm]
    if any(amount is not None and amount > LARGEST_PLAIN_RAIN_MM for amount in amounts):
        return True
    block = slots.get("block")
    if isinstance(mm, list) and not (isinstance(block, list) and len(block) == len(mm)):
        return True
    if isinstance(slots.get("date"), list):
        return True
    if facts.has(ANY_MONTH) and not slots.keys() & {"date", "planted", "month" if task == "set_cut_day" else "date"}:
        return True  # a day that no calendar has, or a month where a day is wanted
    if facts.has(bit("either_tense")) and not facts.has(bit("#past") | bit("#future") | bit("#delay")):
        return True
    if _signed(facts.items):
        return True
    if task == "set_cut_day" and any(day.kind == "either" for day in facts.days) and not facts.has(INTENDED):
        return True  # "kal chhatai ki": done yesterday, or of tomorrow
    if task == "report_done" and "plants" in slots and _left_over(facts.items):
        return True
    unknown = sum(
        1 for item in facts.items if not (item.known or item.used) and len(item.raw) > 2 and item.word[:1].isalpha()
    )
    if unknown:
        return True  # a word that is not known may be the one that matters
    return facts.unplaced(task, slots) or score < LEAST + 1


def _signed(items: Sequence[Item]) -> bool:
    """Whether a number bears a minus: "rain -5", but not "rain - 5" nor "10-12"."""
    return any(
        sign.raw == "-" and not sign.glued and value.glued and value.spelt[:1].isdigit()
        for sign, value in pairwise(items)
    )


INTENDED = 0
for _name in "will set fix move change later postpone_verb want".split():
    INTENDED |= bit(_name)
HALF_A_YEAR = 183


def _far_back(task: str, facts: Facts, today: date) -> bool:
    """Whether a day told without its year is nearer ahead than behind, in a log: "copper 20 jan" in December."""
    if task not in WRITES or task not in PAST_TASKS:
        return False
    return any(
        day.kind == "day" and day.month is not None and day.year is None
        and (past := resolve(day, today, -1)) is not None and (today - past).days > HALF_A_YEAR
        for day in facts.days
    )  # fmt: skip


def _explanation(
    facts: Facts, scores: Mapping[str, float], table: Tasks, shares: Mapping[str, float], likely: Mapping[str, float]
) -> list[str]:
    lines = [f"{item.raw}: {', '.join(CONCEPTS.names(item.mask)) or ('known' if item.known else 'unknown')}"
             + (f" = {item.number:g}" if item.number is not None else "") for item in facts.items]  # fmt: skip
    for task, score in sorted(scores.items(), key=lambda pair: -pair[1])[:4]:
        held = "; ".join(line.text for line in table.evidence(task, facts.present))
        lines.append(f"{task} {score:g}: {held}")
    for whose, each in (("model", shares), ("together", likely)):
        likeliest = sorted(each.items(), key=lambda pair: -pair[1])[:3]
        lines.append(f"{whose}: " + ", ".join(f"{task} {share:.2f}" for task, share in likeliest))
    return lines
