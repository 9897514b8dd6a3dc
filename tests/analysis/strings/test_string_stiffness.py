"""What stiffness adds to a swing, against the string's partials summed in time.

Own modal sums: pinned ends, partial n at n f0 sqrt(1 + B n^2), 2 F l / (pi^2 n^2 T (1 + B n^2))
sin sin of it under a force F, each dying away at its own rate.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.strings.envelope import pluck_height_mm
from analysis.strings.stiffness import (
    AIR_QUALITY,
    SLOWEST_DECAY_PER_S,
    inharmonicity,
    stiff_swing_mm,
)
from analysis.strings.swing import swing

NEAR = np.array([0.056, 0.109, 0.16, 0.25, 0.4])


@dataclass(frozen=True)
class Wire:
    """One string, open or fretted: EI in N m2, lengths in mm, everything for 1 N of pluck."""

    tension: float
    mass: float
    bending: float
    length: float
    pluck: float

    @property
    def frequency(self) -> float:
        return float(np.sqrt(self.tension / self.mass) / (2e-3 * self.length))

    @property
    def b(self) -> float:
        return float(np.pi**2 * self.bending / (self.tension * (1e-3 * self.length) ** 2))

    def parts(self, along: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        one = np.asarray
        found = swing(
            1.0, self.pluck, one(self.tension), one(self.mass), one(self.bending), along,
            one(self.length),
        )  # fmt: skip
        return found.away_mm, found.pushed_mm, found.stiff_mm

    def deepest(self, along: np.ndarray, decay: np.ndarray, away: bool, periods: int) -> np.ndarray:
        """Lowest point over so many periods, from the partials; decay: 1/s, [partials]."""
        n = np.arange(1, decay.size + 1)
        p = min(self.pluck, self.length) if self.pluck < self.length else self.length / 2.0
        size = 2.0 * self.length / (np.pi**2 * n**2 * self.tension * (1.0 + self.b * n**2))
        size = size * np.sin(n * np.pi * (self.length - p) / self.length) * (1 if away else -1)
        shape = size * np.sin(np.outer(along / self.length, n) * np.pi)
        turn = 2.0 * np.pi * n * np.sqrt(1.0 + self.b * n**2)
        low = np.zeros(along.size)
        for start in range(periods):
            t = np.arange(start, start + 1, 0.4 / n.size)
            moving = np.cos(np.outer(turn, t)) * np.exp(-np.outer(decay / self.frequency, t))
            low = np.minimum(low, (shape @ moving).min(axis=1))
        return -low


#: Tension, mass, bending stiffness, open length: a guitar's G3 and E2, a bass's E1, a classical
#: guitar's G3 of nylon, a ukulele's C4.
STRINGS = {
    "G3": (72.6, 1.15e-3, 3.41e-4, 641.0),
    "E2": (72.7, 6.51e-3, 4.68e-4, 641.0),
    "E1": (195.5, 3.86e-2, 1.75e-3, 864.0),
    "nylon G3": (60.4, 9.31e-4, 2.66e-4, 650.0),
    "C4": (26.2, 6.62e-4, 1.34e-4, 380.0),
}


@pytest.mark.parametrize("fret", [0, 7, 12, 18])
@pytest.mark.parametrize("name", list(STRINGS))
def test_no_partials_of_a_ringing_string_go_deeper(name: str, fret: int) -> None:
    """Dying away as slowly as a string may; higher partials faster, as any viscous loss has it."""
    tension, mass, bending, open_mm = STRINGS[name]
    wire = Wire(tension, mass, bending, open_mm * 2.0 ** (-fret / 12.0), 0.187 * open_mm)
    n = np.arange(1, 51)
    decay = SLOWEST_DECAY_PER_S + np.pi * n * wire.frequency / AIR_QUALITY
    periods = int(min(0.5 * wire.frequency / decay[0], 250))
    along = NEAR * wire.length
    away, pushed, stiff = wire.parts(along)
    pulled = wire.deepest(along, decay, away=True, periods=periods)
    other = wire.deepest(along, decay, away=False, periods=periods)
    assert np.all(away + pushed + stiff >= np.maximum(pulled, other))


def test_the_bound_is_not_far_above_what_comes() -> None:
    tension, mass, bending, _ = STRINGS["G3"]
    wire = Wire(tension, mass, bending, 641.0, 120.0)
    decay = SLOWEST_DECAY_PER_S + np.pi * np.arange(1, 51) * wire.frequency / AIR_QUALITY
    along = NEAR[:2] * 641.0
    away, _, stiff = wire.parts(along)
    more = wire.deepest(along, decay, away=True, periods=60) - away
    assert np.all(more > 0.35 * stiff)


def test_the_ideal_string_is_the_limit() -> None:
    wire = Wire(73.0, 4e-4, 0.0, 641.0, 120.0)
    _, _, stiff = wire.parts(NEAR * 641.0)
    assert np.all(np.abs(stiff) < 1e-6)


@settings(deadline=None, max_examples=60)
@given(
    st.floats(1e-6, 1e-2), st.floats(20.0, 250.0), st.floats(3e-4, 0.03), st.floats(100.0, 900.0),
    st.floats(1e-3, 1.0), st.floats(0.05, 3.0),
)  # fmt: skip
def test_stiffer_harder_plucked_deeper(
    bending: float, tension: float, mass: float, length: float, share: float, force: float
) -> None:
    """More for more stiffness, in proportion to the force, never a loss, never without bounds."""
    one = np.asarray
    height = pluck_height_mm(force, one(tension), one(length), 0.3 * length)
    ideal = share * height

    def more(e: float, by: float = 1.0) -> float:
        found = stiff_swing_mm(
            one(by * ideal), by * force, one(tension), one(mass), one(e), one(length)
        )
        return float(found)

    assert 0.0 <= more(bending) <= more(4.0 * bending) + 1e-9
    assert more(bending, 2.0) == pytest.approx(2.0 * more(bending), rel=1e-3, abs=1e-4)
    assert ideal + more(bending) >= 0.0


def test_it_takes_whole_tables_at_once() -> None:
    tension = np.array([[70.0], [80.0]])
    ideal = np.linspace(0.0, 0.8, 5)[None, :]
    found = stiff_swing_mm(ideal, 0.6, tension, np.array(6e-4), np.array(2e-4), np.array(600.0))
    assert found.shape == (2, 5)
    assert np.all(np.isfinite(found))
    row = stiff_swing_mm(
        ideal[0], 0.6, np.array(80.0), np.array(6e-4), np.array(2e-4), np.array(600.0)
    )
    np.testing.assert_allclose(found[1], row, rtol=1e-12)


@settings(deadline=None, max_examples=30)
@given(st.floats(1e-6, 1e-2), st.floats(20.0, 250.0), st.floats(100.0, 900.0))
def test_inharmonicity_goes_with_the_inverse_square_of_the_length(
    bending: float, tension: float, length: float
) -> None:
    one = np.asarray
    whole, half = (
        float(inharmonicity(one(bending), one(tension), one(le))) for le in (length, length / 2)
    )
    assert half == pytest.approx(4.0 * whole)
    assert whole == pytest.approx(np.pi**2 * bending / tension / (1e-3 * length) ** 2)


def test_pushed_towards_the_frets_it_may_come_deeper_from_a_high_fret() -> None:
    """Where the string is shorter than twice the pluck's distance, the corner lies over the very
    next frets."""
    high, low = (Wire(73.0, 4e-4, 5e-5, le, 120.0) for le in (190.0, 641.0))
    assert np.all(high.parts(NEAR[:3] * 190.0)[1] > 0.0)
    assert np.all(low.parts(NEAR[:3] * 641.0)[1] == 0.0)
    # and from a low one over the last
    assert low.parts(np.array([460.0]))[1][0] > 0.0
