"""Which task a text asks for: the lines of `tasks.toml` that hold for its concepts, added up."""

import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
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
        for task, lines in self.lines.items():
            total = 0.0
            for line in lines:
                if line.needs[0] & present and not line.refuses & present:
                    for need in line.needs:
                        if not need & present:
                            break
                    else:
                        total += line.weight if line.weight > 0 else line.weight * against
            if total > 0:
                totals[task] = total
        return totals

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
