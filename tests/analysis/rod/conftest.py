"""A read neck, and what a rod would have done to it, for learning it back."""

from __future__ import annotations

import csv
from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from analysis.instrument import Instrument, joint_mm
from analysis.neck.datum import gap_y_mm
from analysis.neck.neck import Neck, Tip, read_neck
from analysis.rod.turned import Turned

Array = np.ndarray


@dataclass(frozen=True)
class TrueRod:
    """Made of formulas. bend_mm: of the even part, a turn, over the chord from fret 1.

    follows: the heel takes the rest of the tangent back, evenly over 40 mm about the joint.
    """

    bend_mm: float = 0.25
    follows: float = 1.0
    twist_mrad: float = 0.0
    heel_mm: float = 40.0

    def lift_mm(self, instrument: Instrument, x: Array, y: Array) -> Array:
        """By one turn of tightening; nut and joint lie anywhere."""
        end = joint_mm(instrument)
        curve = 8.0 * self.bend_mm / (end - _middle_mm(instrument, 1.0)) ** 2
        tangent = 0.5 * curve * end
        even = np.where(x < end, 0.5 * curve * x * (end - x), -tangent * (x - end))
        into = np.clip(x - (end - 0.5 * self.heel_mm), 0.0, self.heel_mm)
        beyond = np.clip(x - (end + 0.5 * self.heel_mm), 0.0, None)
        back = (1.0 - self.follows) * tangent * (0.5 * into**2 / self.heel_mm + beyond)
        return even + back + 1e-3 * self.twist_mrad * np.clip(x / end, None, 1.0) * y

    def framed(self, instrument: Instrument, x: Array) -> Array:
        """The same along the middle, nut and joint kept where they are."""
        end = joint_mm(instrument)
        ends = self.lift_mm(instrument, np.array([0.0, end]), np.zeros(2))
        here = self.lift_mm(instrument, x, np.zeros_like(x))
        return here - ends[0] - x / end * (ends[1] - ends[0])

    def mm_per_turn(self, instrument: Instrument) -> float:
        """Relief taken out, over the chord from fret 1 to the joint, where it is deepest."""
        first, end = _middle_mm(instrument, 1.0), joint_mm(instrument)
        x = np.linspace(first, end, 401)
        z = self.framed(instrument, x)
        return float(np.max(z - z[0] - (x - first) / (end - first) * (z[-1] - z[0])))


def _middle_mm(instrument: Instrument, fret: float) -> float:
    return float(instrument.fret_x_mm(fret, 0.5 * (len(instrument.strings) + 1)))


def moved(neck: Neck, lift: Callable[[Array, Array], Array]) -> Neck:
    return replace(
        neck,
        top_mm=neck.top_mm + lift(neck.x_mm, neck.y_mm),
        board_mm=neck.board_mm + lift(neck.gap_x_mm, gap_y_mm(neck)),
    )


def scanned(neck: Neck, rng: np.random.Generator) -> Neck:
    """Scanned once: every top and every gap errs by itself, as far as is said of it."""
    noise = neck.terms.parts["noise"]
    return replace(
        neck,
        top_mm=neck.top_mm + rng.normal(size=noise.shape) * noise,
        board_mm=neck.board_mm + rng.normal(size=neck.board_mm.shape) * neck.u_board_mm,
    )


@dataclass(frozen=True)
class Bench:
    """A neck whose rod is turned and that is scanned, with noise where there is an rng."""

    instrument: Instrument
    neck: Neck

    def at(
        self, rod: TrueRod, turns: float, rng: np.random.Generator | None = None,
        lie: tuple[float, float, float] = (0.0, 0.0, 0.0),
    ) -> Neck:  # fmt: skip
        """Standing a little elsewhere each time: lie is height, tilt along and tilt across."""
        if rng is not None:
            lie = tuple(rng.normal(size=3) * [0.01, 3e-5, 3e-4])

        def lift(x: Array, y: Array) -> Array:
            return turns * rod.lift_mm(self.instrument, x, y) + lie[0] + lie[1] * x + lie[2] * y

        neck = moved(self.neck, lift)
        return neck if rng is None else scanned(neck, rng)

    def turned(self, *ends: tuple[float, Neck]) -> list[Turned]:
        """From each stated setting to the next."""
        nothing = np.zeros((self.instrument.frets, len(self.instrument.strings)))
        return [
            Turned(before, after, start, end, nothing)
            for (start, before), (end, after) in pairwise(ends)
        ]


@pytest.fixture(scope="session")
def make_bench(make_neck: Callable[..., object]) -> Callable[[Instrument], Bench]:
    """A strung neck of this instrument, read once."""

    def make(instrument: Instrument) -> Bench:
        made = make_neck(instrument)
        profiles = made.profiles(seed=4, strung=True)  # type: ignore[attr-defined]
        neck = read_neck(profiles, instrument, Tip(1.0))
        # what is the same in every scan falls out of a movement
        noise = {"noise": neck.terms.parts["noise"]}
        return Bench(instrument, replace(neck, terms=replace(neck.terms, parts=noise)))

    return make


@pytest.fixture(scope="session")
def bench(walnut: Instrument, make_bench: Callable[[Instrument], Bench]) -> Bench:
    return make_bench(walnut)


@pytest.fixture(scope="session")
def true_rod() -> Callable[..., TrueRod]:
    return TrueRod


@pytest.fixture(scope="session")
def beam_table() -> dict[str, float]:
    """Deflections of handbook beams by case, mm; the file names its source."""
    path = Path(__file__).parents[2] / "published" / "data" / "beam_deflection.csv"
    with path.open(encoding="utf-8") as lines:
        rows = csv.DictReader(line for line in lines if not line.startswith("#"))
        return {row["case"]: float(row["deflection_mm"]) for row in rows}
