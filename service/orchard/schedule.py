"""The days of a cycle: from what was told and what the soil has counted to the day of each job."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property
from typing import Any

from service.orchard.block import Block, Place
from service.orchard.cycle import Cycle, Part, Told, in_force, rain_by_day, water_by_day
from service.orchard.diary import Entry
from service.orchard.evapotranspiration import reference_by_normals, reference_on
from service.orchard.figures import table
from service.orchard.job import Job, JobKind, steps
from service.orchard.rest import LONGEST, Count, Range, cases, count, soaking
from service.orchard.season import first_possible_cut, season_end
from service.orchard.settings import Settings
from service.orchard.weather import Weather


def _limit(name: str) -> Any:
    return table("limits")[name].value


@dataclass
class Schedule:
    """One cycle on its way from diary to days; each day is worked out once, where it is first asked for."""

    block: Block
    cycle: Cycle
    entries: Sequence[Entry]
    place: Place
    weather: Weather
    settings: Settings
    today: date

    def _put_off(self, job: JobKind, planned: date, earliest: date) -> date:
        """The day to which the grower moved a job, else the planned one; a day before `earliest` has been overtaken."""
        until = self.cycle.postponed.get(job)
        return until if until is not None and until >= earliest else planned

    # The rest and its count.

    @cached_property
    def _asked_and_season(self) -> tuple[date, str | None]:
        if self.cycle.asked is None:
            water_off = self.cycle.rest.day if self.cycle.rest else self.cycle.set_on
            return first_possible_cut(water_off, self.block.soil, self.settings)
        return self.cycle.asked, self.cycle.season

    @property
    def asked(self) -> date:
        """The day set for the cut, or the first possible one where only the rest was told."""
        return self._asked_and_season[0]

    @property
    def season(self) -> str | None:
        """Of the day first set, whatever day it is moved to, unless the grower named another."""
        return self._asked_and_season[1]

    @property
    def rest_days(self) -> int:
        """Counted days without water wanted before the cut."""
        return self.settings.rest_days_for(self.season, self.block.soil)

    @cached_property
    def rest_start(self) -> date:
        """Day 0: told, else planned, and then never before the day on which the cut was set."""
        if self.cycle.rest:
            return self.cycle.rest.day
        planned = max(self.asked - timedelta(self.rest_days), self.cycle.set_on)
        return self._put_off("rest", planned, self.cycle.set_on)

    @cached_property
    def _reference(self) -> list[float]:
        """ETo by day of rest [mm]: normals, and on past days the temperatures on file."""
        start, end = self.rest_start, self.rest_start + timedelta(LONGEST)
        reference: list[float] = []
        for year in range(start.year, end.year + 1):
            reference += reference_by_normals(self.place, year)
        first = start.timetuple().tm_yday - 1
        reference = reference[first : first + LONGEST + 1]
        if self.weather:
            for day in range((min(self.today, end) - start).days + 1):
                read = self.weather.get(start + timedelta(day))
                if read and read.tmin_c is not None and read.tmax_c is not None:
                    reference[day] = reference_on(self.place, start + timedelta(day), read.tmin_c, read.tmax_c)
        return reference

    @cached_property
    def _eye_decides_from(self) -> date:
        """The day from which water moves nothing: once the leaf spray is told the trees are bare."""
        turns = [told.day for told in self.cycle.defoliants[:1]] + [part.day for part in self.cycle.parts[:1]]
        return min(turns, default=date.max)

    @cached_property
    def _rain(self) -> dict[date, Range]:
        """Rain on file on the past days of the rest that it can move."""
        last = min(self.today, self._eye_decides_from - timedelta(1))
        return rain_by_day(self.entries, self.weather, self.rest_start + timedelta(1), last)

    @property
    def days_without_report(self) -> int:
        """Past days of the rest that count as dry because nobody told anything of them."""
        last = min(self.today - timedelta(1), self._eye_decides_from - timedelta(1), self.count_complete)
        return max(0, (last - self.rest_start).days - sum(day <= last for day in self._rain))

    @cached_property
    def _counts(self) -> tuple[Count, Count, Count, Count]:
        """The low, middle and high case, and the middle one without rain."""
        start = self.rest_start
        last = min(self.today, self._eye_decides_from - timedelta(1))
        water_given = water_by_day(self.block, self.entries, start + timedelta(1), last)
        rain = {(day - start).days: mm for day, mm in self._rain.items()}
        given = {(day - start).days: mm for day, mm in water_given.items()}
        by = (self.today - start).days
        counts = []
        for case, soil in enumerate(cases(self.block.soil)):
            water = soaking(soil, self._reference, {day: mm[case] for day, mm in rain.items()})
            for day, mm in given.items():
                water[day] = water.get(day, 0.0) + mm
            counts.append(count(soil, self._reference, water, self.rest_days, by))
        low, middle, high = counts
        dry = count(cases(self.block.soil)[1], self._reference, given, self.rest_days, by) if rain else middle
        return low, middle, high, dry

    @property
    def counted(self) -> int:
        """Days of the rest that count so far."""
        return self._counts[1].counted

    @property
    def lost_days(self) -> tuple[date, ...]:
        """The days of the rest so far that do not count."""
        return tuple(self.rest_start + timedelta(day) for day in self._counts[1].lost)

    @property
    def count_complete(self) -> date:
        """The day on which the count is complete, without rain from now on."""
        return self.rest_start + timedelta(self._counts[1].complete)

    @property
    def days_lost(self) -> int:
        """Whole days by which rain alone has put off the count."""
        return self._counts[1].complete - self._counts[3].complete

    # What was told of the leaf spray and of the leaves.

    @property
    def sprayed(self) -> Told | None:
        """The last leaf spray told, from which the leaves are given their days."""
        return self.cycle.defoliants[-1] if self.cycle.defoliants else None

    @property
    def _leaves_from(self) -> Told | None:
        """What starts the watch on the leaves: leaf fall told before it closes nothing."""
        return self.sprayed or self.cycle.called_off.get("defoliate")

    @cached_property
    def looks(self) -> list[tuple[Told, int]]:
        """Leaf fall told after the spray, in the order of its days."""
        start = self._leaves_from
        if start is None:
            return []
        return [(told, fallen) for told, fallen in self.cycle.looks if (told.day, told.id) > (start.day, start.id)]

    @property
    def leaves_hang(self) -> bool:
        """Too few leaves had fallen when they were last looked at."""
        return bool(self.looks) and self.looks[-1][1] < self.settings.leaf_fall_percent

    @property
    def _leaves_hung(self) -> bool:
        return any(fallen < self.settings.leaf_fall_percent for _, fallen in self.looks)

    @property
    def bare(self) -> bool:
        """Next to no leaf was left when they were last looked at."""
        return bool(self.cycle.looks) and self.cycle.looks[-1][1] >= _limit("bare")

    @property
    def fell_by_itself(self) -> bool:
        """So much leaf fell before the leaf spray that it waits for the adviser: till a later ruling stands."""
        if self.sprayed or self.cycle.parts or "defoliate" in self.cycle.called_off or not self.cycle.looks:
            return False
        look, fallen = self.cycle.looks[-1]
        if fallen < self.settings.leaf_fall_percent:
            return False
        return not any(ruling.id > look.id for ruling in in_force(self.entries))

    @property
    def buds_open(self) -> bool:
        """New shoots were told after the leaf spray, or after its day."""
        since = self.cycle.defoliants[0].day if self.cycle.defoliants else self.defoliate
        return any(told.day >= since for told in self.cycle.shoots)

    # The cut.

    @property
    def fixed(self) -> date | None:
        """The day on which the adviser fixed the cut; a fix without a day fixes nothing."""
        word = self.cycle.word
        if word is None or word.values["ruling"] != "cut_fixed" or not word.values.get("date"):
            return None
        return date.fromisoformat(word.values["date"])

    def _base(self, complete: int) -> date:
        """The later of the day set and the day of the count, with the adviser's word on the count."""
        day = self.rest_start + timedelta(complete)
        if (word := self.cycle.word) is not None:
            said = word.values.get("date")
            if word.values["ruling"] == "rest_enough":
                day = min(day, date.fromisoformat(said) if said else word.day)
            elif word.values["ruling"] == "rest_not_enough" and said:
                day = max(day, date.fromisoformat(said))
        return max(day, self.asked, self.cycle.postponed.get("cut", date.min))

    def _defoliate_before(self, base: date) -> date:
        """The leaf spray for a cut on `base`: inside the rest, not before the plan was made, clear of copper."""
        planned = max(
            base - timedelta(self.settings.defoliate_before_cut_days),
            self.rest_start + timedelta(1),
            self.cycle.set_on,
        )
        planned = self._put_off("defoliate", planned, planned)
        gap = timedelta(self.settings.copper_ethephon_gap_days)
        last = planned + timedelta(steps()["defoliate"].window_days)  # copper told later finds the spray overdue anyway
        return max([planned, *(told.day + gap for told in self.cycle.coppers if told.day <= last)])

    def _cut_for(self, complete: int) -> date:
        if self.fixed:
            return self.fixed
        cut = base = self._base(complete)
        if self.sprayed:
            cut = max(cut, self.sprayed.day + timedelta(_limit("spray_to_cut_least")))
        elif "defoliate" not in self.cycle.called_off:
            cut = max(cut, self._defoliate_before(base) + timedelta(_limit("spray_to_cut_least")))
        if self.leaves_hang:
            cut = max(cut, self.looks[-1][0].day + timedelta(_limit("leaves_again")))
        elif self._leaves_hung:
            ready = self.looks[-1][0].day
            if self._copper_since(self._leaves_from.day if self._leaves_from else self.rest_start):
                cut = max(cut, ready)
            elif cut <= ready + timedelta(1):  # no day is left for copper: it is sprayed first, the cut comes after it
                cut = ready + timedelta(1 + self.settings.copper_before_cut_days)
        return cut

    @cached_property
    def cut(self) -> date:
        """The day now projected for the cut, or the day on which the last of it was done."""
        return self.cycle.cut_done or self._cut_for(self._counts[1].complete)

    @property
    def too_long(self) -> date | None:
        """The first day past the longest rest, where the block is still uncut then: the twigs are to be looked at."""
        if self.cycle.rest is None or self.cycle.parts:
            return None
        day = self.rest_start + timedelta(self.settings.rest_most_days_for(self.block.soil) + 1)
        return day if self.cut > day else None

    @cached_property
    def cut_range(self) -> tuple[date, date]:
        """The earliest and the latest of the three cases."""
        if self.cycle.cut_done:
            return self.cycle.cut_done, self.cycle.cut_done
        cuts = [self.cut, self._cut_for(self._counts[0].complete), self._cut_for(self._counts[2].complete)]
        return min(cuts), max(cuts)

    @cached_property
    def season_end(self) -> date:
        """The season's own last good day; far off between the seasons."""
        return season_end(self.season, self.cycle.first_set or self.asked, self.settings) if self.season else date.max

    @property
    def last_good_day(self) -> date:
        """The last good day for the cut: its slip, or the season's end if earlier."""
        return min(self.asked + timedelta(self.settings.latest_slip_days), self.season_end)

    @property
    def season_missed(self) -> bool:
        """The cut can no longer fall inside the season."""
        return self._counts[1].complete >= LONGEST or self.cut > self.last_good_day

    @property
    def out_of_season_chosen(self) -> bool:
        """The grower has set a day past the season, or the adviser has let the cut fall: somebody has chosen."""
        if (word := self.cycle.word) is not None and word.values["ruling"] in ("rest_enough", "cut_fixed"):
            return True
        return self.asked > self.season_end and self.cut <= self.asked + timedelta(self.settings.latest_slip_days)

    @property
    def early_spray(self) -> bool:
        """The leaf spray came so early that day set and count leave the tree bare too long."""
        if self.sprayed is None:
            return False
        day = self.fixed or self._base(self._counts[1].complete)
        return day > self.sprayed.day + timedelta(_limit("spray_to_cut_most"))

    # The jobs before the cut.

    @cached_property
    def defoliate(self) -> date:
        """The day of the leaf spray, done or planned."""
        if self.sprayed:
            return self.sprayed.day
        if self.fixed:
            return self._defoliate_before(self.fixed)
        return self._defoliate_before(self._base(self._counts[1].complete))

    @property
    def leaf_check(self) -> date:
        """The day on which the leaves are looked at next: slower in a cold or hot month, again soon where they hang."""
        if self.leaves_hang:
            looked = self.looks[-1][0].day
            return self._put_off("leaf_check", looked + timedelta(_limit("leaves_again")), looked + timedelta(1))
        month = self.place.normals[self.defoliate.month - 1]
        mean = (month.tmin_c + month.tmax_c) / 2
        slow = mean < _limit("cold_below") or mean > _limit("hot_above")
        wait = _limit("leaf_check_in_cold_or_heat") if slow else self.settings.leaf_check_after_spray_days
        return self._put_off("leaf_check", self.defoliate + timedelta(wait), self.defoliate + timedelta(1))

    @property
    def copper(self) -> date:
        """The day of the copper spray: before the cut and clear of every ethephon."""
        planned = self.cut - timedelta(self.settings.copper_before_cut_days)
        planned = self._put_off("copper", planned, self.defoliate)
        if self._leaves_hung and not self.leaves_hang:
            planned = max(planned, self.looks[-1][0].day + timedelta(1))
        if self.sprayed or "defoliate" not in self.cycle.called_off:
            planned = max(planned, self.defoliate + timedelta(self.settings.copper_ethephon_gap_days))
        return planned

    @property
    def _copper_told(self) -> Told | None:
        """The copper spray before the cut; one in the rest before the leaf spray is another."""
        return self._copper_since(self.cycle.defoliants[0].day if self.cycle.defoliants else self.defoliate)

    def _copper_since(self, since: date) -> Told | None:
        if self.cycle.copper_done:
            return self.cycle.copper_done
        cut = self.cycle.parts[0] if self.cycle.parts else None
        return next(
            (
                told
                for told in self.cycle.coppers
                if told.day >= since and (cut is None or (told.day, told.id) < (cut.day, cut.id))
            ),
            None,
        )

    def _leaves_open(self) -> date | None:
        """The day on which the leaf spray was told, or called off in a rest that was told."""
        if self.sprayed:
            return self.sprayed.said
        off = self.cycle.called_off.get("defoliate")
        return max(off.said, self.cycle.rest.said) if off and self.cycle.rest else None

    def _before_the_cut(self) -> list[Job]:
        cycle = self.cycle
        passed = "cut" if cycle.parts else None
        rest_said = cycle.rest.said if cycle.rest else None
        opened = self._leaves_open()
        looked = self.looks[-1][0] if self.looks else None
        hangs_on: JobKind = "defoliate"
        cut_opened = opened
        if self._leaves_hung and looked and not self.fixed:
            hangs_on = "leaf_check"
            cut_opened = None if self.leaves_hang else looked.said
        last_copper_day = self.cut - timedelta(1)
        return [
            _job("rest", self.rest_start, cycle.rest, passed or ("passed" if self.sprayed else None), cycle.set_on),
            _job(
                "defoliate",
                self.defoliate,
                cycle.defoliants[0] if cycle.defoliants else None,
                "called_off" if "defoliate" in cycle.called_off else passed,
                None if self.fell_by_itself else rest_said,
            ),
            _job(
                "leaf_check",
                self.leaf_check,
                looked if looked and not self.leaves_hang else None,
                passed,
                looked.said if looked else opened,
            ),
            _job(
                "copper",
                self.copper,
                self._copper_told,
                passed or ("no_day_left" if self.copper > last_copper_day else None),
                cut_opened,
                last=max(self.copper, last_copper_day),
                hangs_on=hangs_on,
            ),
            _job(
                "cut",
                self.cut,
                Told(cycle.parts[-1].day, cycle.parts[-1].said, cycle.parts[-1].id) if cycle.cut_finished else None,
                None,
                cut_opened,
                hangs_on=hangs_on,
            ),
        ]

    # The jobs after the cut.

    @cached_property
    def _parts(self) -> list[tuple[int | None, Part, bool]]:
        """The parts of the cut with their number and whether they are done; the last one may still be uncut."""
        told = self.cycle.parts
        if not told:
            return [(None, Part(self.cut, self.cut, 0), False)]
        if self.cycle.cut_finished:
            return [(number if len(told) > 1 else None, part, True) for number, part in enumerate(told, 1)]
        known = [part.plants for part in told if part.plants is not None]
        left = self.block.plants - sum(known) if self.block.plants and len(known) == len(told) else None
        uncut = Part(max(self.cut, told[-1].day), self.today, 0, left)
        return [*((number, part, True) for number, part in enumerate(told, 1)), (len(told) + 1, uncut, False)]

    @property
    def _no_second_spray(self) -> str | None:
        if "second_spray" in self.cycle.called_off:
            return "called_off"
        if self.bare:
            return "bare"
        return "buds_open" if self.buds_open else None

    def _second_spray(self, part: Part) -> date:
        planned = part.day + timedelta(self.settings.second_spray_after_cut_days)
        planned = self._put_off("second_spray", planned, part.day)
        gap = timedelta(self.settings.copper_ethephon_gap_days)
        coppers = [told.day for told in self.cycle.coppers]
        if not self.cycle.parts and self._copper_told is None and self.copper < self.cut:
            coppers.append(self.copper)
        return max([planned, *(day + gap for day in coppers)])

    def _told_of_parts(self, told: Sequence[Told], planned: Sequence[date]) -> list[Told | None]:
        """Which of what was told closes the job of each part: all that were due by then, else the first one open."""
        closed: list[Told | None] = [None] * len(planned)
        for one in told:
            still_open = [
                at
                for at, (_, part, is_cut) in enumerate(self._parts)
                if is_cut and not closed[at] and one.day >= part.day
            ]
            for at in [at for at in still_open if planned[at] <= one.day] or still_open[:1]:
                closed[at] = one
        return closed

    def _after_the_cut(self) -> list[Job]:
        cycle = self.cycle
        sprays: list[Job] = []
        cleans: list[Job] = []
        told_sprays = self._told_of_parts(cycle.second_sprays, [self._second_spray(part) for _, part, _ in self._parts])
        told_cleans = self._told_of_parts(cycle.cleans, [part.day for _, part, _ in self._parts])
        for (number, part, is_cut), spray, clean in zip(self._parts, told_sprays, told_cleans, strict=True):
            said = part.said if is_cut else None
            sprays.append(
                _job(
                    "second_spray",
                    self._second_spray(part),
                    spray,
                    self._no_second_spray,
                    said,
                    part=number,
                    plants=part.plants,
                    cut_on=part.day if is_cut and number is not None else None,
                )
            )
            cleans.append(
                _job(
                    "clean",
                    self._put_off("clean", part.day, part.day),
                    clean,
                    "passed" if is_cut and cycle.second_cleans else None,
                    said,
                    window_days=self.settings.clean_within_days,
                    part=number,
                    plants=part.plants,
                    cut_on=part.day if is_cut and number is not None else None,
                )
            )
        return [*sprays, *cleans, self._second_clean(sprays, cleans), self._water()]

    def _second_clean(self, sprays: list[Job], cleans: list[Job]) -> Job:
        cycle = self.cycle
        after = max(
            spray.date if spray.dropped is None else part.day + timedelta(self.settings.second_spray_after_cut_days)
            for spray, (_, part, _) in zip(sprays, self._parts, strict=True)
        )
        day = self._put_off("second_clean", after + timedelta(self.settings.second_clean_after_days), after)
        sprays_closed = cycle.cut_finished and not any(spray.is_open for spray in sprays)
        told = cycle.second_cleans[0] if cycle.second_cleans else None
        if told is None and cycle.cut_finished and all(clean.done for clean in cleans):
            cleaned = max(clean.date for clean in cleans)
            told = next(
                (
                    again
                    for again in cycle.cleans
                    if again.day >= day or (sprays_closed and again.day > max(after, cleaned))
                ),
                None,
            )
        said = [part.said for part in cycle.parts] + [told.said for told in cycle.second_sprays]
        opened = max(said) if sprays_closed else None
        return _job("second_clean", day, told, None, opened)

    def _water(self) -> Job:
        cycle = self.cycle
        last = self._parts[-1][1]
        told = next((told for told in cycle.waters if cycle.cut_finished and told.day >= last.day), None)
        planned = last.day + timedelta(self.settings.first_water_after_cut_days)
        day = self._put_off("water", planned, last.day)
        return _job("water", day, told, None, max(part.said for part in cycle.parts) if cycle.cut_finished else None)

    @cached_property
    def jobs(self) -> tuple[Job, ...]:
        """Every job of the cycle, in the order of the year."""
        return (*self._before_the_cut(), *self._after_the_cut())


def _job(
    kind: JobKind,
    day: date,
    told: Told | None,
    dropped: str | None,
    open_since: date | None,
    *,
    last: date | None = None,
    window_days: int | None = None,
    hangs_on: JobKind | None = None,
    part: int | None = None,
    plants: int | None = None,
    cut_on: date | None = None,
) -> Job:
    step = steps()[kind]
    if told is not None:
        day, dropped, last = told.day, None, told.day
    elif last is None:
        last = day + timedelta(step.window_days if window_days is None else window_days)
    return Job(
        kind=kind,
        date=day,
        last=last,
        hangs_on=hangs_on or step.hangs_on,
        open_since=open_since,
        done=told.day if told is not None else None,
        dropped=dropped,
        part=part,
        plants=plants,
        cut_on=cut_on,
    )
