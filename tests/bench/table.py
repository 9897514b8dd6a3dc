"""What a benchmark found, as text: a table for each part."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

Row = Sequence[str]


@dataclass(frozen=True)
class Part:
    """One table, and a few words on what was compared and how to read it."""

    title: str
    says: str
    head: Row
    rows: Sequence[Row]

    def markdown(self) -> str:
        """The part as a section of a page."""
        rule = ["---", *["---:"] * (len(self.head) - 1)]
        lines = ["| " + " | ".join(row) + " |" for row in (self.head, rule, *self.rows)]
        return "\n".join([f"## {self.title}", "", self.says, "", *lines, ""])


def rounded(value: float) -> str:
    """Three digits that count; thousands grouped."""
    if value == 0.0:
        return "0"
    if abs(value) >= 100.0:
        return f"{float(f'{value:.3g}'):,.0f}"
    return f"{value:.3g}"


def times(ratio: float) -> str:
    """A ratio."""
    return f"{rounded(ratio)} ×"
