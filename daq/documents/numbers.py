"""Numbers as a document holds them: rounded, Python's own, null where there is none."""

from __future__ import annotations

import math

#: Removals are written to this, micrometres.
CUT_STEP_UM = 0.1


def rounded(value: float, digits: int) -> float | None:
    """A Python float to so many decimals; None for NaN and infinity; never minus zero."""
    number = float(value)
    return round(number, digits) + 0.0 if math.isfinite(number) else None


def mm(value: float) -> float | None:
    """Millimetres to 0.0001."""
    return rounded(value, 4)


def u_mm(value: float) -> float | None:
    """An uncertainty in millimetres, one digit more than the number it belongs to."""
    return rounded(value, 5)


def um(value: float) -> float | None:
    """Micrometres to 0.1."""
    return rounded(value, 1)


def u_um(value: float) -> float | None:
    """An uncertainty in micrometres, to 0.01."""
    return rounded(value, 2)


def cut_um(value: float) -> float:
    """A removal in micrometres, up to the next 0.1: a cut written too shallow would buzz.

    A millionth of a step over is the solver's rounding, not another step.
    """
    return round(math.ceil(float(value) / CUT_STEP_UM - 1e-6) * CUT_STEP_UM, 1) + 0.0
