"""What the diary tells of a block's current cycle: one pass over its entries, no dates computed yet."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta

from service.orchard.block import Block, Place
from service.orchard.diary import Entry
from service.orchard.figures import table
from service.orchard.rest import REFILL, Range
from service.orchard.season import season_of
from service.orchard.settings import OTHER, Settings
from service.orchard.weather import Weather

DEFOLIANT = ("ethephon",)
COPPER = ("copper", "bordeaux")
CUT_RULINGS = ("rest_enough", "rest_not_enough", "cut_fixed")


def said_on(entry: Entry, place: Place) -> date:
    """The day on which it was told, by the sun at the place: good to the hour or two that zones differ from the sun."""
    return (entry.at + timedelta(hours=place.longitude / 15)).date()


@dataclass(frozen=True, slots=True)
class Told:
    """A job told as done: the day it was done, the day it was told, and its place in the order received."""

    day: date
    said: date
    id: int


@dataclass(frozen=True, slots=True)
class Part:
    """A part of the block that was cut on one day; plants where they are known."""

    day: date
    said: date
    id: int
    plants: int | None = None


@dataclass
class Cycle:
    """The entries of the current cycle, sorted by what they are about, each list in the order of its days.

    set_on: the day on which the cut was last set, else the rest told
    first_set, season: the day that decided the season, and that season; neither moves with the cut
    defoliants, second_sprays, coppers: every spray told
    called_off: jobs that the adviser took out
    word: his ruling in force on the cut
    """

    opened: int
    set_on: date
    first_set: date | None = None
    season: str | None = None
    asked: date | None = None
    rest: Told | None = None
    defoliants: list[Told] = field(default_factory=list)
    second_sprays: list[Told] = field(default_factory=list)
    coppers: list[Told] = field(default_factory=list)
    copper_done: Told | None = None  # told by its job
    looks: list[tuple[Told, int]] = field(default_factory=list)
    shoots: list[Told] = field(default_factory=list)
    parts: list[Part] = field(default_factory=list)
    cut_finished: bool = False
    cleans: list[Told] = field(default_factory=list)
    second_cleans: list[Told] = field(default_factory=list)
    waters: list[Told] = field(default_factory=list)
    postponed: dict[str, date] = field(default_factory=dict)
    called_off: dict[str, Told] = field(default_factory=dict)
    word: Entry | None = None

    @property
    def cut_done(self) -> date | None:
        """The day on which the last of the block was cut."""
        return self.parts[-1].day if self.cut_finished else None


def current(block: Block, entries: Sequence[Entry], place: Place, settings: Settings) -> Cycle | None:
    """The cycle that the latest entries belong to, ended or not; None where none was ever opened.

    entries: the live entries about the block, in received order
    """
    opening: int | None = None
    since: list[Entry] = []
    for index, entry in enumerate(entries):
        if entry.kind == "retired":  # its number may be given again
            opening, since = None, []
        elif _opens(entry) and (opening is None or _is_over(block, since, entry, settings)):
            opening, since = index, [entry]
        elif opening is not None:
            since.append(entry)
    return None if opening is None else _read(block, entries, opening, place)


def _opens(entry: Entry) -> bool:
    return entry.kind in ("cut_set", "rest_begun") or (entry.kind == "done" and entry.values["job"] == "rest")


def _is_over(block: Block, since: Sequence[Entry], opening: Entry, settings: Settings) -> bool:
    """Whether a cut set or a rest told belongs to the cycle after this one."""
    parts, finished = _parts(block, since)
    if finished:
        last_cut = parts[-1][0]
        if opening.kind == "cut_set" or any(_is_watering(entry) and entry.day >= last_cut for entry in since):
            return True
        water_ends = settings.first_water_after_cut_days + table("steps")["water"].value["window_days"]
        return opening.day > last_cut + timedelta(water_ends)
    aims = [_aim(entry, settings) for entry in since if _opens(entry)]
    return _aim(opening, settings) > aims[-1] + timedelta(table("limits")["another_cycle"].value)


def _aim(opening: Entry, settings: Settings) -> date:
    """About the day of the cut that an opening entry means."""
    if opening.kind == "cut_set":
        return date.fromisoformat(opening.values["date"])
    return opening.day + timedelta(settings.rest_days[OTHER][OTHER])


def _is_watering(entry: Entry) -> bool:
    return entry.kind == "watering" or (entry.kind == "done" and entry.values["job"] == "water")


def _parts(block: Block, entries: Sequence[Entry]) -> tuple[list[tuple[date, Entry, int | None]], bool]:
    """The parts of the cut by day, each with the entry that told it first and its plants, and whether it is finished.

    A part is told by plants or percent; without an amount it is all that was left, and then what was told again later
    adds nothing.
    """
    told = sorted(
        (entry for entry in entries if entry.kind == "done" and entry.values["job"] == "cut"),
        key=lambda entry: (entry.day, entry.id),
    )
    parts: dict[date, tuple[Entry, int | None]] = {}
    share = 0.0
    finished = False
    for entry in told:
        plants, percent = entry.values.get("plants"), entry.values.get("percent")
        if plants is None and percent is not None and block.plants is not None:
            plants = round(block.plants * percent / 100)
        if plants is None and percent is None:
            finished = True
            known = [count for _, count in parts.values()]
            plants = _difference(block.plants, known) if parts else None
        elif percent is not None:
            share += percent / 100
        elif block.plants:
            share += plants / block.plants if plants is not None else 0.0
        first, before = parts.get(entry.day, (entry, 0))
        parts[entry.day] = first, None if plants is None or before is None else before + plants
        if finished or share >= table("limits")["whole_cut"].value:
            finished = True
            break
    return [(day, entry, plants) for day, (entry, plants) in parts.items()], finished


def _difference(whole: int | None, known: Sequence[int | None]) -> int | None:
    if whole is None or any(count is None for count in known):
        return None
    return max(0, whole - sum(count for count in known if count is not None))


def _read(block: Block, entries: Sequence[Entry], opening: int, place: Place) -> Cycle:
    opened = entries[opening]
    cycle = Cycle(opened=opened.id, set_on=said_on(opened, place))
    for entry in entries[opening:]:
        if entry.kind == "cut_set":
            asked = date.fromisoformat(entry.values["date"])
            if asked != cycle.asked:  # said again, it moves nothing
                cycle.set_on = entry.day
                cycle.postponed.clear()  # they were put off from another day
            cycle.asked = asked
            named = entry.values.get("season")
            if cycle.first_set is None or named not in (None, cycle.season):
                cycle.first_set, cycle.season = cycle.asked, named or season_of(cycle.asked)
        elif _opens(entry):
            cycle.rest = Told(entry.day, said_on(entry, place), entry.id)
        elif entry.kind == "postponed":
            cycle.postponed[entry.values["job"]] = date.fromisoformat(entry.values["until"])
    parts, cycle.cut_finished = _parts(block, entries[opening:])
    cycle.parts = [Part(day, said_on(entry, place), entry.id, plants) for day, entry, plants in parts]
    if cycle.cut_finished and len(cycle.parts) == 1:
        cycle.parts = [Part(cycle.parts[0].day, cycle.parts[0].said, cycle.parts[0].id)]  # the whole block
    for entry in sorted(_of_cycle(entries, opening, cycle), key=lambda entry: (entry.day, entry.id)):
        _sort_in(cycle, entry, place)
    _hear_rulings(cycle, entries, place)
    return cycle


def _of_cycle(entries: Sequence[Entry], opening: int, cycle: Cycle) -> Iterator[Entry]:
    """The entries after the opening one, and earlier ones on days of the rest that was told."""
    for index, entry in enumerate(entries):
        if index >= opening or (cycle.rest is not None and entry.day > cycle.rest.day):
            yield entry


def _sort_in(cycle: Cycle, entry: Entry, place: Place) -> None:
    told = Told(entry.day, said_on(entry, place), entry.id)
    job = entry.values.get("job") if entry.kind in ("spray", "done") else None
    product = entry.values.get("product") if entry.kind == "spray" else None
    if product in DEFOLIANT or job in ("defoliate", "second_spray"):  # which of the two, the cut decides
        cut_began = bool(cycle.parts) and (entry.day, entry.id) > (cycle.parts[0].day, cycle.parts[0].id)
        (cycle.second_sprays if cut_began else cycle.defoliants).append(told)
    elif job == "copper":
        cycle.coppers.append(told)
        cycle.copper_done = told
    elif product in COPPER:
        cycle.coppers.append(told)
    elif job == "clean":
        cycle.cleans.append(told)
    elif job == "second_clean":
        cycle.second_cleans.append(told)
    elif _is_watering(entry):
        cycle.waters.append(told)
    elif entry.kind == "leaf_drop":
        cycle.looks.append((told, entry.values["percent"]))
    elif entry.kind == "shoots" and entry.values.get("shoots") in ("few", "many"):
        cycle.shoots.append(told)


def in_force(entries: Sequence[Entry]) -> list[Entry]:
    """The adviser's rulings that no later one took back, in the order of his words."""
    rulings: list[Entry] = []
    for entry in entries:
        if entry.kind == "ruling":
            if entry.values["ruling"] != "withdrawn":
                rulings.append(entry)
            elif rulings:
                rulings.pop()
    return rulings


def _hear_rulings(cycle: Cycle, entries: Sequence[Entry], place: Place) -> None:
    for entry in in_force(entries):
        ruling = entry.values["ruling"]
        if entry.id < cycle.opened:
            continue  # about an earlier cycle
        if ruling in CUT_RULINGS:
            cycle.word = entry
        elif ruling == "spray_called_off":
            sprayed = "defoliate" in cycle.called_off or any(told.id < entry.id for told in cycle.defoliants)
            cut_began = bool(cycle.parts) and cycle.parts[0].id < entry.id
            job = "second_spray" if sprayed or cut_began else "defoliate"
            cycle.called_off.setdefault(job, Told(entry.day, said_on(entry, place), entry.id))


def rain_by_day(entries: Sequence[Entry], weather: Weather, first: date, last: date) -> dict[date, Range]:
    """Rain on each day with any on file, low, middle and high [mm], first and last day included.

    A grower's latest report of a day replaces his earlier ones and beats the gauge; a day without either is not in it.
    Rain that the adviser does not count is none.
    """
    rain: dict[date, Range] = {}
    if weather:
        for day in (first + timedelta(days) for days in range((last - first).days + 1)):
            if (read := weather.get(day)) and read.rain_mm is not None:
                rain[day] = read.rain_mm, read.rain_mm, read.rain_mm
    words = table("rest")
    for entry in entries:
        if entry.kind == "rain" and first <= entry.day <= last:
            if (mm := entry.values.get("amount_mm")) is not None:
                rain[entry.day] = mm, mm, mm
            elif word := entry.values.get("rain_word"):
                rain[entry.day] = words[f"rain_words.{word}"].value
    for entry in in_force(entries):
        if entry.values["ruling"] == "rain_not_counted":
            struck = entry.values.get("date")
            rain.pop(date.fromisoformat(struck) if struck else entry.day, None)
    return rain


def water_by_day(block: Block, entries: Sequence[Entry], first: date, last: date) -> dict[date, float]:
    """Water given on each day with any, spread over the ground of a plant [mm]; without an amount it refills the soil.

    The latest report of a day replaces earlier ones.
    """
    water: dict[date, float] = {}
    for entry in entries:
        if _is_watering(entry) and first <= entry.day <= last:
            litres, ground = entry.values.get("litres_per_plant"), block.area_per_plant_m2
            water[entry.day] = REFILL if litres is None or ground is None else litres / ground
    return water
