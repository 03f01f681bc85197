"""Which task a text asks for: the lines of `tasks.toml` that hold for its concepts, added up."""

import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from importlib.resources import files

from dialogs.lexicon import bit

# Tasks that change what is kept.
WRITES = frozenset(
    "log_rain log_watering log_leaf_drop log_spray log_flowering log_shoots log_harvest report_done set_cut_day "
    "register_block stop delete_me".split()
)


@dataclass(frozen=True)
class Line:
    """One line: its weight, what must be there (each mask in part), what must not."""

    weight: float
    needs: tuple[int, ...]
    refuses: int
    text: str

    def holds(self, present: int) -> bool:
        """Whether the line holds for these concepts."""
        if self.refuses & present:
            return False
        for need in self.needs:
            if not need & present:
                return False
        return True


@dataclass(frozen=True)
class Tasks:
    """The table of `tasks.toml`, compiled.

    asked: by slot asked for, the concepts that then are values of it and say nothing about the task
    derived: concepts that follow from others standing together
    implied: concepts that a phrase with another also says
    """

    lines: Mapping[str, tuple[Line, ...]]
    asked: Mapping[str, int]
    derived: tuple[tuple[int, Line], ...]
    implied: tuple[tuple[int, int], ...]
    widened: dict[int, int]  # what `with_implied` gave, by mask

    def scores(self, present: int, against: float = 1.0) -> dict[str, float]:
        """The sum of each task's lines that hold; tasks of which none holds are left out.

        against: how much the lines with negative weight count
        """
        totals: dict[str, float] = {}
        holding = self._holding(present)
        while holding:
            lowest = holding & -holding
            holding ^= lowest
            task, weight = self._flat[lowest.bit_length() - 1]
            totals[task] = totals.get(task, 0.0) + (weight if weight > 0 else weight * against)
        return {task: total for task, total in totals.items() if total > 0}

    @cached_property
    def _flat(self) -> list[tuple[str, float]]:
        """Task and weight of each line, in order."""
        return [(task, line.weight) for task, lines in self.lines.items() for line in lines]

    @cached_property
    def _rows(self) -> tuple[dict[int, int], int, int]:
        """The table the other way round, all lines side by side as the bits of one integer.

        By concept: in a first row the lines that refuse it, in a row for each of a line's needs those that it meets.
        Then what is met from the start, as a line has no such need; and how many rows of needs there are.
        """
        lines = [line for each in self.lines.values() for line in each]
        rows = max((len(line.needs) for line in lines), default=0)
        says: dict[int, int] = {}
        met = 0
        for at, line in enumerate(lines):
            for row, mask in enumerate((line.refuses, *line.needs)):
                while mask:
                    concept = mask & -mask
                    mask ^= concept
                    says[concept] = says.get(concept, 0) | 1 << (row * len(lines) + at)
            for row in range(len(line.needs) + 1, rows + 1):
                met |= 1 << (row * len(lines) + at)
        return says, met, rows

    def _holding(self, present: int) -> int:
        """The lines that hold, each the bit of its place: as `Line.holds` tells of one."""
        says, met, rows = self._rows
        while present:
            concept = present & -present
            present ^= concept
            met |= says.get(concept, 0)
        count = len(self._flat)
        holding = ((1 << count) - 1) & ~met
        for _ in range(rows):
            met >>= count
            holding &= met
        return holding

    def evidence(self, task: str, present: int) -> list[Line]:
        """The lines of a task that hold, for explanations."""
        return [line for line in self.lines.get(task, ()) if line.holds(present)]

    def with_implied(self, mask: int) -> int:
        """The concepts of one word or phrase with those it also says."""
        wide = self.widened.get(mask)
        if wide is None:
            wide = mask
            for concept, implied in self.implied:
                if wide & concept:
                    wide |= implied
            if len(self.widened) < 20_000:
                self.widened[mask] = wide
        return wide

    def with_derived(self, present: int) -> int:
        """The concepts with those that follow from them."""
        for mask, line in self.derived:
            if line.holds(present):
                present |= mask
        return present


def _mask(names: Sequence[str], groups: Mapping[str, int]) -> int:
    total = 0
    for name in names:
        total |= groups[name] if name in groups else bit(name)
    return total


def _line(text: str, groups: Mapping[str, int]) -> Line:
    weight, *terms = text.split()
    needs = tuple(_mask(term.split("|"), groups) for term in terms if not term.startswith("!"))
    refuses = _mask([name for term in terms if term.startswith("!") for name in term[1:].split("|")], groups)
    return Line(float(weight), needs, refuses, text)


@lru_cache(maxsize=1)
def task_table() -> Tasks:
    """The compiled table; read once."""
    table = tomllib.loads(files("dialogs.understanding").joinpath("tasks.toml").read_text(encoding="utf-8"))
    groups: dict[str, int] = {}
    for name, members in table["groups"].items():
        groups[name] = _mask(members.split(), groups)
    lines = {task: tuple(_line(text, groups) for text in texts) for task, texts in table["tasks"].items()}
    asked = {slot: _mask(names.split(), groups) for slot, names in table["asked"].items()}
    derived = tuple((bit(name), _line("1 " + terms, groups)) for name, terms in table["facts"]["derived"])
    implied = tuple((bit(name), _mask(names.split(), groups)) for name, names in table["implies"].items())
    return Tasks(lines, asked, derived, implied, {})
