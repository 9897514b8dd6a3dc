"""What is to be said of a plan that is only tried, while a control is moved."""

from __future__ import annotations

from typing import Any

import numpy as np

from daq.steps.trying import Tried
from daq.text.target import shape_short_sentences
from daq.text.words import counted, fixed

#: Action over the player's highest by less than this is none, mm.
LEAST_ACTION_MM = 1e-5


def tried_sentences(tried: Tried, document: dict[str, Any]) -> list[str]:
    """Whether it can be done, what it takes, what is out of reach. document: `tried_document`."""
    said = _can(document) if tried.feasible else _cannot(tried, document)
    return said + shape_short_sentences(tried.limits.shape_short_mm)


def least_words(least: dict[str, Any]) -> str:
    """String 3 fretted at 5: 0.012 mm short over fret 7, buzzes."""
    spare, verdict = least["spare_mm"], least["verdict"]
    room = f"{fixed(abs(spare), 3)} mm {'to spare' if spare >= 0 else 'short'}"
    return f"{place_words(least)}: {room} over fret {least['at']}, {verdict}."


def place_words(place: dict[str, Any]) -> str:
    """String 3 open; String 3 fretted at 5; String 3 bent at 5."""
    if place["fretted"] == 0:
        return f"String {place['string']} open"
    how = "bent" if place["bend"] else "fretted"
    return f"String {place['string']} {how} at {place['fretted']}"


def _can(document: dict[str, Any]) -> list[str]:
    planned, level = document["metal_um"], document["level_um"]
    said = "Every margin and every limit is met. "
    if planned < 0.5:
        return [f"{said}Nothing has to come off: rod, nut and saddles are enough."]
    usual = f"; levelling would take {level:.0f} µm" if level >= 0.5 else ""
    return [f"{said}Metal off, summed over every fret and string: {planned:.0f} µm{usual}."]


def _cannot(tried: Tried, document: dict[str, Any]) -> list[str]:
    short = document["short"]
    said = ["Not all of this can be met together, so nothing would be changed."]
    if short:
        worst = short[0]
        said.append(
            f"{counted(len(short), 'place')} would stay short, at the worst: {place_words(worst)}, "
            f"{fixed(worst['short_mm'], 3)} mm over fret {worst['at']}, guard included."
        )
    action = tried.solution.action_short_mm
    said += [
        f"String {s + 1} would stay {fixed(float(action[s]), 3)} mm over the highest action."
        for s in np.flatnonzero(action > LEAST_ACTION_MM).tolist()
    ]
    return said
