"""What the lines and signs of a chart mean: a sample of each before its words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from daq.figures.axes import LEFT, WIDTH
from daq.figures.html import Html, joined
from daq.figures.svg import label, number, path, text_width

#: A sample's room, and what parts it from its words and from the next.
SAMPLE_W, SAMPLE_H = 26.0, 14.0
_GAP, _APART, _ROW = 6.0, 14.0, 20.0
#: Samples that many drawings share, from their upper left corner on.
FILLED = f"m0 0h{SAMPLE_W:.0f}v{SAMPLE_H:.0f}h-{SAMPLE_W:.0f}z"
ACROSS = f"m0 {0.5 * SAMPLE_H:.0f}h{SAMPLE_W:.0f}"
UPRIGHT = f"m{0.5 * SAMPLE_W:.0f} 0v{SAMPLE_H:.0f}"
DOT = f"m{0.5 * SAMPLE_W:.0f} {0.5 * SAMPLE_H:.0f}h0"


@dataclass(frozen=True, slots=True)
class Key:
    """samples: (path from the sample's upper left corner on, its style class)."""

    text: str
    samples: Sequence[tuple[str, str]]


def key_rows(entries: Sequence[Key], top: float, left: float = LEFT) -> tuple[Html, float]:
    """In as many rows as they need; and where they end."""
    parts, x, y = [], left, top
    for entry in entries:
        room = SAMPLE_W + _GAP + text_width(entry.text) + _APART
        if x > left and x + room > WIDTH:
            x, y = left, y + _ROW
        parts += [path(f"M{number(x)} {number(y)}{d}", kind) for d, kind in entry.samples]
        parts.append(label(entry.text, x + SAMPLE_W + _GAP, y + 12.0, "soft"))
        x += room
    return joined(*parts), y + _ROW
