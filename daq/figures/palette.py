"""The report's colours, light and dark: one name for each thing that is said with one.

Chosen by steps of lightness, blue against brown, so that readers who miss a kind of cone still
tell them apart; `tests/daq/figures/test_palette.py` holds the distances and contrasts.
"""

from __future__ import annotations

from typing import Final

#: Classes of a scale from little to much.
LEVELS: Final = 6
#: Classes on either side of zero.
SIDES: Final = 4

LIGHT: Final[dict[str, str]] = {
    "paper": "#fcfbf8", "ink": "#1f2428", "soft": "#5c666e", "line": "#d9d5cb", "card": "#f4f1ea",
    "past": "#f1ede4", "strung": "#0f5c78", "unstrung": "#a8471b", "asked": "#6a4a00",
    "q0": "#e7f1f5", "q1": "#b5d4e0", "q2": "#85b7ca", "q3": "#5598b0", "q4": "#257991",
    "q5": "#095568",
    "n4": "#0f5f77", "n3": "#2689a9", "n2": "#54b1d3", "n1": "#a8d2e6", "zero": "#f3f0eb",
    "p1": "#ecc4ae", "p2": "#dd956b", "p3": "#b76c3d", "p4": "#834722",
    "clear": "#dcebf0", "undecided": "#f3dc9b", "buzzes": "#a8471b",
    "unworn": "#f1f4f2", "leave": "#b9d6df", "crown": "#f0d68a", "dented": "#d98a5a",
    "worn-out": "#8f3312",
}  # fmt: skip
DARK: Final[dict[str, str]] = {
    "paper": "#16191c", "ink": "#e4e2dc", "soft": "#9aa3aa", "line": "#3d444b", "card": "#1e2327",
    "past": "#1f2428", "strung": "#7db4c8", "unstrung": "#e58a5c", "asked": "#f0d68a",
    "q0": "#1c282c", "q1": "#28444e", "q2": "#336272", "q3": "#4b8fa6", "q4": "#7eb6cb",
    "q5": "#c3deea",
    "n4": "#9bd4ed", "n3": "#4caed2", "n2": "#2583a2", "n1": "#1d596e", "zero": "#2c2f31",
    "p1": "#73482e", "p2": "#af683c", "p3": "#e28f5c", "p4": "#ffbe98",
    "clear": "#20414f", "undecided": "#7a6220", "buzzes": "#e58a5c",
    "unworn": "#22282c", "leave": "#2b5a6c", "crown": "#75601c", "dented": "#cf7d49",
    "worn-out": "#ffb48f",
}  # fmt: skip
#: On paper the ground is the sheet's own.
SHEET: Final = "#ffffff"

#: Colours that text or a sign stands on, in the order of their scale.
SEQUENCE: Final = tuple(f"q{n}" for n in range(LEVELS))
DIVERGING: Final = ("n4", "n3", "n2", "n1", "zero", "p1", "p2", "p3", "p4")
MARGINS: Final = ("clear", "undecided", "buzzes")
WEAR: Final = ("unworn", "leave", "crown", "dented", "worn-out")
GROUNDS: Final = (*SEQUENCE, *DIVERGING, *MARGINS, *WEAR)

_DARK_INK, _LIGHT_INK = "#0b1216", "#ffffff"


def ink_on(ground: str) -> str:
    """Of near black and white the one that stands out more on a colour given as #rrggbb."""
    return max((_DARK_INK, _LIGHT_INK), key=lambda ink: contrast(ink, ground))


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two colours by WCAG 2.2: 1 to 21."""
    low, high = sorted((_luminance(one), _luminance(other)))
    return (high + 0.05) / (low + 0.05)


def _luminance(colour: str) -> float:
    parts = [int(colour[i : i + 2], 16) / 255.0 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
