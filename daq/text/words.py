"""Numbers and lists as a person says them."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

MM_PER_THOU = 0.0254
_EIGHTHS = {
    1: "an eighth of a turn",
    2: "a quarter turn",
    3: "three eighths of a turn",
    4: "half a turn",
    5: "five eighths of a turn",
    6: "three quarters of a turn",
    7: "seven eighths of a turn",
}
_OVER = {1: "1/8", 2: "1/4", 3: "3/8", 4: "1/2", 5: "5/8", 6: "3/4", 7: "7/8"}


def listed(items: Sequence[str]) -> str:
    """a, b and c."""
    if len(items) < 2:
        return "".join(items)
    return f"{', '.join(items[:-1])} and {items[-1]}"


def runs(numbers: Iterable[int]) -> str:
    """1, 2 and 5 to 7: three or more in a row become a run."""
    groups: list[list[int]] = []
    for number in sorted(set(numbers)):
        if groups and number == groups[-1][-1] + 1:
            groups[-1].append(number)
        else:
            groups.append([number])
    words: list[str] = []
    for group in groups:
        words += [f"{group[0]} to {group[-1]}"] if len(group) > 2 else [str(n) for n in group]
    return listed(words)


def named(noun: str, numbers: Iterable[int]) -> str:
    """string 3; strings 3 and 4; frets 5 to 7."""
    chosen = sorted(set(numbers))
    return f"{noun}{'' if len(chosen) == 1 else 's'} {runs(chosen)}"


def counted(count: int, noun: str) -> str:
    """1 cut; 2 cuts; 2 passes."""
    plural = "es" if noun.endswith("s") else "s"
    return f"{count} {noun}{'' if count == 1 else plural}"


def turn_words(turns: float) -> str:
    """A turn to the nearest eighth, either way: a quarter turn."""
    eighths = round(8.0 * abs(turns))
    if eighths == 0:
        return "less than an eighth of a turn"
    if eighths < 8:
        return _EIGHTHS[eighths]
    whole, rest = divmod(eighths, 8)
    if rest:
        return f"{whole} {_OVER[rest]} turns"
    return "one turn" if whole == 1 else f"{whole} turns"


def thou(value_mm: float) -> float:
    """Millimetres in thousandths of an inch."""
    return value_mm / MM_PER_THOU


def fixed(value: float, digits: int) -> str:
    """A number to so many decimals, "-" where there is none, never minus zero."""
    if not math.isfinite(value):
        return "-"
    return f"{round(value, digits) + 0.0:.{digits}f}"


def signed(value: float, digits: int) -> str:
    """A change, its sign always there; zero has none."""
    text = fixed(value, digits)
    return text if text in ("-", fixed(0.0, digits)) or value < 0 else f"+{text}"


def span_mm(values: Sequence[float]) -> str:
    """by 0.03 mm; by 0.01 to 0.03 mm: without the by."""
    low, high = fixed(min(values), 2), fixed(max(values), 2)
    if max(values) < 0.005:
        return "less than 0.01 mm"
    if min(values) < 0.005:
        return f"up to {high} mm"
    return f"{low} mm" if low == high else f"{low} to {high} mm"
