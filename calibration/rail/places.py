"""Where to move an object between its scans, so that every wave of the rail is seen."""

from __future__ import annotations

import numpy as np

from calibration.passes import FloatArray

#: Waves shorter than this are not asked for: the places would have to lie too near.
SHORTEST_MM = 8.0
#: Places nearer to each other than this are one.
APART_MM = 5.0
#: Sets of places tried, and periods each is tried with.
TRIED, PERIODS = 3000, 250


def wave_shares(places_mm: FloatArray, period_mm: FloatArray) -> FloatArray:
    """How much of a wave of each period the places see, 0 nothing to 1 all; [sets, periods].

    places_mm: float[sets, places]. A wave of the rail hides in the object as far as it has the
    same phase at every place: what is left is 1 - |mean exp(2 pi i d / period)|².
    """
    phase = np.exp(2j * np.pi * places_mm[:, :, None] / period_mm)
    return np.asarray(1.0 - np.abs(phase.mean(axis=1)) ** 2)


def suggest_places(count: int, reach_mm: float) -> tuple[float, ...]:
    """Whole millimetres from 0 to the reach, rising, under which the worst seen wave is seen best.

    Waves from SHORTEST_MM to twice the reach count. The best of many sets drawn at random, the
    same ones every time. Raises ValueError for fewer than three, or a reach too short for them.
    """
    reach = float(np.floor(reach_mm))
    if count < 3 or reach < APART_MM * (count - 1):
        raise ValueError(f"{count} places within {reach:g} mm; allowed 3 or more, 5 mm apart")
    period = np.geomspace(SHORTEST_MM, 2.0 * reach, PERIODS)
    sets = _drawn(count, reach)
    worst = np.concatenate([wave_shares(part, period).min(axis=1) for part in _parts(sets)])
    return tuple(float(place) for place in sets[int(np.argmax(worst))])


def _drawn(count: int, reach: float) -> FloatArray:
    """Rising sets from 0 to the reach, no two places nearer than APART_MM; the even one first."""
    rng = np.random.default_rng(0)
    spare = reach - APART_MM * (count - 1)
    inner = np.sort(rng.uniform(0.0, spare, (TRIED, count - 2)), axis=1)
    even = np.linspace(0.0, reach, count)
    ends = np.zeros((TRIED, 1)), np.full((TRIED, 1), spare)
    drawn = np.concatenate([ends[0], inner, ends[1]], axis=1) + APART_MM * np.arange(count)
    return np.round(np.vstack([even, drawn]))


def _parts(sets: FloatArray) -> list[FloatArray]:
    return np.array_split(sets, max(len(sets) // 250, 1))
