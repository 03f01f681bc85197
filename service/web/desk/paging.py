"""Pages of a ledger."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class LedgerPage:
    """One page of a list: its number from 1, how many there are, the first and last row, and the sum of rows."""

    number: int
    pages: int
    first: int
    last: int
    sum: int


def pages_of(rows: int, of_a_page: int, asked: int) -> LedgerPage:
    """The page asked for, or the last there is."""
    pages = max(1, -(-rows // of_a_page))
    number = min(asked, pages)
    first = (number - 1) * of_a_page + 1 if rows else 0
    return LedgerPage(number, pages, first, min(rows, number * of_a_page), rows)
