"""Which task a text asks for: the lines of `tasks.toml` that hold for its concepts, added up."""

import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files

from dialogs.lexicon import bit


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
    """

    lines: Mapping[str, tuple[Line, ...]]
    asked: Mapping[str, int]
    derived: tuple[tuple[int, Line], ...]
    groups: Mapping[str, int]

    def scores(self, present: int) -> dict[str, float]:
        """The sum of each task's lines that hold; tasks of which none holds are left out."""
        totals: dict[str, float] = {}
        for task, lines in self.lines.items():
            total = 0.0
            for line in lines:
                if line.needs[0] & present and not line.refuses & present:
                    for need in line.needs:
                        if not need & present:
                            break
                    else:
                        total += line.weight
            if total > 0:
                totals[task] = total
        return totals

    def evidence(self, task: str, present: int) -> list[Line]:
        """The lines of a task that hold, for explanations."""
        return [line for line in self.lines.get(task, ()) if line.holds(present)]

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
    derived = tuple((bit(name), _line("1 " + terms, groups)) for name, terms in table["derived"])
    return Tasks(lines, asked, derived, groups)
