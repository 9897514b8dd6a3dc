"""Necks made to mislead: faults mixed at random, from geometry alone.

The truth is where each fret's crown was put.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
import pytest

from analysis.instrument import Instrument, StringSpec
from calibration.profile import Profile

Array = np.ndarray
STEP_MM = 0.0625


@dataclass
class Hard:
    """A neck on a rig, what its file says, and what is to be found. kind: the fault in the file
    or in how it lies, "none" where the numbering must come out."""

    file: Instrument
    true: Instrument
    kind: str
    nut_mm: float
    screw: float
    turn: float
    went: tuple[float, float]
    faults: tuple[str, ...]
    rng: np.random.Generator
    place: Array
    height: Array
    extra: list[tuple[float, float, float]]

    def on_neck(self, carriage: Array, string: float) -> tuple[Array, Array, Array]:
        """(x, y, string under the tip) on the neck, for a lane laid by the file."""
        across = self.file.string_y_mm(string, carriage - self.file.nut_at_mm)
        along = (carriage - self.nut_mm) / self.screw
        if self.kind == "backwards":
            along, across = -along, -across
        x = along * np.cos(self.turn) + across * np.sin(self.turn)
        y = across * np.cos(self.turn) - along * np.sin(self.turn)
        one_apart = self.true.string_y_mm(1.0, x) - self.true.string_y_mm(2.0, x)
        return x, y, 0.5 * (len(self.true.strings) + 1) - y / one_apart

    def true_mm(self, string: float) -> Array:
        """Where on the carriage each fret of the neck stands under a lane."""
        carriage = np.arange(-400.0, 1400.0, 0.05)
        x, _, under = self.on_neck(carriage, string)
        frets = np.arange(1, self.true.frets + 1)
        way = -1 if self.kind == "backwards" else 1
        return np.array([np.interp(0.0, (x - self.true.fret_x_mm(n, under))[::way], carriage[::way])
                         for n in frets])  # fmt: skip

    def profile(self, string: float, direction: int) -> Profile:
        rng = self.rng
        x_mm = np.arange(*self.went, STEP_MM) + STEP_MM * rng.uniform()
        x, y, under = self.on_neck(x_mm, string)
        z = self._surface(x, y, under)
        for _ in range(rng.poisson(8.0 * ("dirt" in self.faults))):
            z += rng.uniform(0.05, 0.8) * np.exp(-0.5 * ((x - rng.uniform(0.0, 500.0))
                                                 / rng.uniform(0.1, 0.7)) ** 2)  # fmt: skip
        z += rng.normal(0.0, 0.002, x.size)
        ok = np.isfinite(z)
        if "spikes" in self.faults:
            at = rng.integers(0, x.size, 40)
            z[at] += rng.choice([-1.0, 1.0], 40) * rng.uniform(0.2, 3.0, 40)
            ok[rng.integers(0, x.size, 40)] = False
        z[~ok] = np.nan
        lane = int(2 * string)
        return Profile(lane, string, direction, x_mm, self.file.string_y_mm(
            string, x_mm - self.file.nut_at_mm), z, ok, np.zeros_like(x), 0.002, 0.0)  # fmt: skip

    def _surface(self, x: Array, y: Array, under: Array) -> Array:
        board = 0.3 * ((x - 220.0) / 220.0) ** 2 - 0.5 * y**2 / 300.0
        over = np.zeros_like(x)
        for n in np.flatnonzero(self.height > 0.0):
            over = _crown(over, x - self.true.fret_x_mm(n + 1, under) - self.place[n],
                          self.height[n])  # fmt: skip
        end = self.true.fret_x_mm(self.true.frets, under) + 7.0
        for at, high, half in self.extra:
            if half == 0.0:
                over = _crown(over, x - at, high)
            else:
                # a lump with round shoulders
                over = np.maximum(over, high * np.clip(1.0 - ((x - at) / half) ** 4, 0.0, None))
        past = (x > end) & (over == 0.0)
        over[past] = np.nan if "falls" in self.faults else -8.0
        return board + over


def _crown(over: Array, away: Array, high: float) -> Array:
    """A ball of 1 mm over a round of 1.2 mm, as high as that."""
    near = np.abs(away) < 2.19
    over[near] = np.maximum(over[near], high - 2.2 + np.sqrt(2.2**2 - away[near] ** 2))
    return over


def hard_case(seed: int) -> Hard:
    rng = np.random.default_rng(seed)
    strings = int(rng.choice([4, 6, 6, 7, 8]))
    fanned = rng.uniform() < 0.3
    treble = rng.uniform(560.0, 680.0) if fanned or rng.uniform() < 0.7 else rng.uniform(340, 870)
    bass = treble + rng.uniform(12.0, 60.0) if fanned else treble
    # the last frets stand at least 4.3 mm apart
    most = min(36, int(12.0 * np.log2(0.0578 * treble / 4.3)))
    frets = int(rng.integers(12, most + 1)) if rng.uniform() < 0.6 else min(most, 22)
    spec = StringSpec("E4", 330.0, 0.3, False)
    true = Instrument("hard", bass, treble, int(rng.integers(0, 13)) if fanned else 0, frets,
        min(frets - 1, 14), (250.0, 350.0), (43.0, 57.0), 150.0, (spec,) * strings,
        (43.0 / (strings + 0.2), 60.0 / (strings + 0.2)), (1.5,) * strings,
        (0.4,) * strings)  # fmt: skip
    kind = str(rng.choice(["none", "scale", "frets", "backwards"], p=[0.6, 0.15, 0.15, 0.1]))
    file = _wrong_file(true, kind, rng)
    chosen = ("missing", "doubled", "dirt", "spikes", "falls", "zero", "capo", "pickup", "turned",
              "ridge", "part")  # fmt: skip
    faults = tuple(f for f in chosen if rng.uniform() < 0.35)
    nut = 150.0 + float(rng.uniform(-15.0, 15.0))
    if kind == "backwards":
        nut = 150.0 + float(true.fret_x_mm(frets, 1.0)) + float(rng.uniform(0.0, 60.0))
    height = rng.uniform(0.5, 1.3) + rng.normal(0.0, 0.02, frets)
    if "missing" in faults:
        # the last fret stays: without it a scan cannot tell how many there are
        height[rng.choice(frets - 1, int(rng.integers(1, 5)), replace=False)] = 0.0
    case = Hard(file, true, kind, nut, 1.0 + float(rng.uniform(-0.003, 0.003)),
                float(rng.uniform(-0.01, 0.01)) if "turned" in faults else 0.0,
                (0.0, 1.0), faults, rng, rng.normal(0.0, 0.05, frets), height,
                _extras(true, faults, rng))  # fmt: skip
    case.went = _range(case, rng)
    return case


def _wrong_file(true: Instrument, kind: str, rng: np.random.Generator) -> Instrument:
    if kind == "frets":
        more = int(rng.choice([-4, -3, -2, -1, 1, 2, 3, 5, 8]))
        return replace(true, frets=true.frets + (more if true.frets + more >= 12 else -more))
    if kind == "scale":
        by = 1.0 + float(rng.choice([-1.0, 1.0]) * rng.uniform(0.012, 0.06))
        if true.scale_bass_mm == true.scale_treble_mm:
            return replace(true, scale_bass_mm=by * true.scale_bass_mm,
                           scale_treble_mm=by * true.scale_treble_mm)  # fmt: skip
        end = str(rng.choice(["scale_bass_mm", "scale_treble_mm"]))
        return replace(true, **{end: by * getattr(true, end)})
    return true


def _extras(
    true: Instrument, faults: tuple[str, ...], rng: np.random.Generator
) -> list[tuple[float, float, float]]:
    """(place, height, half width): 0 wide is a crown."""
    x = true.fret_x_mm(np.arange(1, true.frets + 1), 0.5 * (len(true.strings) + 1))
    end = float(x[-1])
    half = float(rng.uniform(1.5, 3.0))
    zero = "zero" in faults
    out = [(-half - 3.0 * zero, float(rng.uniform(0.8, 2.5)), half)]
    if zero:
        out.append((0.0, 1.1, 0.0))
    if "doubled" in faults:
        wide = np.flatnonzero(np.diff(x) > 9.0)
        for n in rng.choice(wide, min(2, wide.size), replace=False):
            out.append((float(x[n] + rng.uniform(2.6, 4.5)), float(rng.uniform(0.5, 1.2)), 0.0))
    if "capo" in faults:
        n = int(rng.integers(0, min(8, true.frets - 2)))
        out.append((float(x[n] - rng.uniform(-2.0, 8.0)), float(rng.uniform(3.0, 8.0)),
                    float(rng.uniform(4.0, 7.0))))  # fmt: skip
    if "pickup" in faults:
        at = end + 12.0 + float(rng.uniform(0.0, 12.0))
        out.append((at + 18.0, 0.5, 17.0))
        for _ in range(int(rng.integers(1, 4))):
            at += float(rng.uniform(5.0, 10.0))
            out.append((at, 0.5 + float(rng.uniform(0.3, 1.5)), float(rng.uniform(1.2, 2.4))))
    if "ridge" in faults:
        for _ in range(int(rng.integers(1, 4))):
            out.append((float(rng.uniform(5.0, end)), float(rng.uniform(0.25, 0.8)), 1.1))
    return out


def _range(case: Hard, rng: np.random.Generator) -> tuple[float, float]:
    """Over the whole neck, or from somewhere on it to somewhere, ten standing frets at least."""
    places = case.true_mm(0.5 * (len(case.true.strings) + 1))
    low, high = sorted((float(places[0]), float(places[-1])))
    if "part" not in case.faults or case.kind == "frets":
        return low - 70.0, high + 60.0
    standing = np.sort(places[case.height > 0.0])
    if "capo" in case.faults or standing.size <= 12:
        return low - 70.0, high + 60.0
    first = int(rng.integers(0, standing.size - 11))
    last = int(rng.integers(first + 11, standing.size))
    return float(standing[first]) - 4.0, float(standing[last]) + 4.0


@pytest.fixture
def make_hard_neck() -> Callable[[int], Hard]:
    """The same seed makes the same neck."""
    return hard_case
