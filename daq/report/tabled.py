"""The report's tables: a caption that says what it is, heads that say what stands under them."""

from __future__ import annotations

from collections.abc import Sequence

from daq.figures.html import Html, tag

#: So many rows stay on one sheet of paper.
_SHORT = 28

Cells = Sequence[Sequence[str]]


def table(caption: str, headers: Sequence[str], rows: Cells, *, kind: str = "") -> Html:
    """The first cell of a row names it; numbers stand to the right. Nothing without rows.

    kind: a style class beside the usual ones: `close` for many columns, `words` for text.
    """
    if not rows:
        return Html("")
    head = tag("tr", *(tag("th", header, scope="col") for header in headers))
    return _whole(caption, head, [_row(row) for row in rows], len(rows), kind)


def board_table(caption: str, strings: int, rows: Cells) -> Html:
    """Frets down, strings across. rows: the fret's name, then a cell for each string."""
    if not rows:
        return Html("")
    over = tag(
        "tr", tag("th", "fret", scope="col", rowspan="2"),
        tag("th", "string", scope="colgroup", colspan=str(strings)),
    )  # fmt: skip
    numbers = tag("tr", *(tag("th", str(s), scope="col") for s in range(1, strings + 1)))
    return _whole(caption, Html(over + numbers), [_row(row) for row in rows], len(rows), "close")


def beside(*tables: Html) -> Html:
    """Tables next to one another where there is room."""
    there = [one for one in tables if one]
    return tag("div", *there, class_="beside") if there else Html("")


def _row(cells: Sequence[str]) -> Html:
    first, *rest = cells
    return tag("tr", tag("th", first, scope="row"), *(tag("td", cell) for cell in rest))


def _whole(caption: str, head: Html, rows: list[Html], count: int, kind: str) -> Html:
    kinds = " ".join(filter(None, ("wide", "whole" if count <= _SHORT else "", kind)))
    body = tag("table", tag("caption", caption), tag("thead", head), tag("tbody", *rows))
    return tag("div", body, class_=kinds)
