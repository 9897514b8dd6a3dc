"""Maps from string number to a height, as instrument and playing files have them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated

import numpy as np
from pydantic import BeforeValidator

from daq.files.checks import Group, Whole

MOST_STRINGS = 12
StringNumber = Annotated[int, BeforeValidator(Whole(1, MOST_STRINGS, "(a string's number)"))]
BY_STRING = Group("a group from string number to mm, such as {1: 1.4, 6: 1.9}")


def every_string(given_mm: Mapping[int, float], strings: int) -> tuple[float, ...]:
    """Heights of strings 1 to `strings`: linear by number between those given, flat past them."""
    numbers = sorted(given_mm)
    heights = np.interp(range(1, strings + 1), numbers, [given_mm[number] for number in numbers])
    return tuple(float(height) for height in heights)
