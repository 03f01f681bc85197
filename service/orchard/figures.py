"""Every agronomic figure has a home and a source: the tables beside this file.

A table is a TOML file. A row is any of its tables with a `value`; it also carries `unit`, `source` (a text that was
read, `common practice, no source` or `from memory`) and `cooperative_may_change`.
"""

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any


@dataclass(frozen=True, slots=True)
class Figure:
    """One row of a table; `low` and `high` bound what the cooperative may change it to, where they are given."""

    value: Any
    unit: str
    source: str
    cooperative_may_change: bool
    low: float | None = None
    high: float | None = None


def _rows(tree: Mapping[str, Any], path: str = "") -> Iterator[tuple[str, Figure]]:
    for name, branch in tree.items():
        if "value" in branch:
            yield path + name, Figure(**branch)
        else:
            yield from _rows(branch, f"{path}{name}.")


@cache
def table(name: str) -> dict[str, Figure]:
    """The rows of `tables/<name>.toml` by their dotted path, in the order of the file."""
    text = files(__package__).joinpath("tables", f"{name}.toml").read_text(encoding="utf-8")
    return dict(_rows(tomllib.loads(text)))
