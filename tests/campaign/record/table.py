"""A campaign's findings, printed where pytest would swallow them."""

from __future__ import annotations

import sys
from collections.abc import Sequence

import pytest


def show(capfd: pytest.CaptureFixture[str], title: str, rows: Sequence[Sequence[object]]) -> None:
    """A heading, and columns as wide as they must be; the first row is the columns' names."""
    texts = [[_text(cell) for cell in row] for row in rows]
    widths = [max(map(len, column)) for column in zip(*texts, strict=True)]
    lines = ["  ".join(map(str.ljust, row, widths)).rstrip() for row in texts]
    with capfd.disabled():
        sys.stdout.write("\n".join(["", title, *lines, ""]))


def _text(cell: object) -> str:
    return f"{cell:.4g}" if isinstance(cell, float) else str(cell)
