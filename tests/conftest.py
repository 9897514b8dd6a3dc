"""Instruments, necks and passes made of formulas, for the pure rooms.

Written from the geometry alone: nothing here calls the code under test, apart from the plain
records it takes.
"""

from __future__ import annotations

import gc
import os
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from analysis.instrument import Instrument, StringSpec
from analysis.neck.relief import reliefs
from analysis.neck.shape import Shape
from analysis.neck.terms import Terms
from calibration.passes import Pad, RawPass
from calibration.profile import Profile

Array = np.ndarray
Surface = Callable[[Array], Array]

# Processes of tests take the modules that this one has compiled, but leave none: where a disk is
# full Python leaves half a one, and takes it for a whole one ever after.
os.environ["PYTHONDONTWRITEBYTECODE"] = "1"

NUT_AT_MM = 61.0
PADS = (Pad(4.0, 16.0), Pad(600.0, 614.0))


#: Rooms of tests that start programs: a file of them takes up to a minute. They are begun first,
#: so that at the end no process is left alone with one of them.
LONG = ("firmware", "end_to_end", "browser", "daq/daemon", "daq/archive")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Long ones first; within a room as they stand."""
    tests = Path(__file__).parent

    def rank(item: pytest.Item) -> int:
        rooms = (item.path.is_relative_to(tests / room) for room in LONG)
        return next((number for number, here in enumerate(rooms) if here), len(LONG))

    items.sort(key=rank)


def pytest_collection_finish() -> None:
    """What was collected is there to the end: the search for garbage need not walk over it."""
    gc.collect()
    gc.freeze()


def walnut_parlour() -> Instrument:
    inches = (0.010, 0.013, 0.017, 0.026, 0.036, 0.046)
    notes = (
        ("E4", 329.627557),
        ("B3", 246.941651),
        ("G3", 195.997718),
        ("D3", 146.832384),
        ("A2", 110.0),
        ("E2", 82.406889),
    )
    strings = tuple(
        StringSpec(name, hz, 25.4 * inch, inch > 0.02)
        for (name, hz), inch in zip(notes, inches, strict=True)
    )
    return Instrument(
        name="walnut parlour",
        scale_bass_mm=641.0,
        scale_treble_mm=641.0,
        square_fret=0,
        frets=22,
        body_joint_fret=16,
        board_radius_mm=(241.0, 355.0),
        board_width_mm=(42.8, 56.4),
        nut_at_mm=NUT_AT_MM,
        strings=strings,
        spacing_mm=(7.1, 10.4),
        action_mm=(1.4, 1.5, 1.6, 1.7, 1.8, 1.9),
        nut_gap_mm=(0.40, 0.42, 0.44, 0.46, 0.48, 0.50),
    )


def crown_trace(v: Array, radius: float, flat: float, ball: float) -> Array:
    """A ball over a circle with a flat: the highest of all the balls set on its points.

    The flat's points give 0 over the flat and a quarter turn about its corner; the round's
    give the parallel circle. -inf where the ball touches neither.
    """
    half = flat / 2.0
    sunk = radius - np.sqrt(radius**2 - half**2)
    outer = radius + ball
    a = np.abs(v)
    with np.errstate(invalid="ignore"):
        ring = np.sqrt(outer**2 - a**2) - outer + sunk
        corner = np.sqrt(ball**2 - (a - half) ** 2) - ball
    if half == 0.0:
        return np.where(a < 0.97 * outer, ring, -np.inf)
    z = np.where(a <= half * (1.0 + ball / radius), corner, ring)
    return np.where(a <= half, 0.0, np.where(a < 0.97 * outer, z, -np.inf))


@dataclass(frozen=True)
class MadeNeck:
    """A neck of formulas. bow_mm: height of the centre line; height_mm: [frets, strings]."""

    instrument: Instrument
    bow_mm: Surface = field(default=lambda x: 0.2 * ((x - 225.0) / 225.0) ** 2)
    roll_mrad: float = 0.0
    twist_mrad_per_mm: float = 0.0
    height_mm: Array | None = None
    flat_mm: Array | None = None
    crown_mm: float = 1.2
    nut_mm: float = NUT_AT_MM
    screw: float = 1.0
    hidden: tuple[int, ...] = ()
    extra_x_mm: tuple[float, ...] = ()

    def heights(self) -> Array:
        if self.height_mm is not None:
            return self.height_mm
        return np.full((self.instrument.frets, len(self.instrument.strings)), 1.1)

    def flats(self) -> Array:
        return self.flat_mm if self.flat_mm is not None else np.zeros(self.instrument.frets)

    def curvature(self, x: Array) -> Array:
        """A cone's: the radius is linear from the nut to the last fret."""
        nut, last = self.instrument.board_radius_mm
        share = x / float(self.instrument.fret_x_mm(self.instrument.frets, 1.0))
        return 1.0 / (nut + share * (last - nut))

    def turn(self, x: Array) -> Array:
        return 1e-3 * (self.roll_mrad + self.twist_mrad_per_mm * x)

    def board_mm(self, x: Array, y: Array) -> Array:
        r = 1.0 / self.curvature(x)
        return self.bow_mm(x) + self.turn(x) * y - (r - np.sqrt(r**2 - y**2))

    def fret_height(self, fret: int, string: float) -> float:
        numbers = np.arange(1, len(self.instrument.strings) + 1)
        return float(np.interp(string, numbers, self.heights()[fret - 1]))

    def top_mm(self, string: float) -> Array:
        """True tops along one string's line, [frets]."""
        frets = np.arange(1, self.instrument.frets + 1)
        x = self.instrument.fret_x_mm(frets, string)
        y = self.instrument.string_y_mm(string, x)
        high = np.array([self.fret_height(n, string) for n in frets])
        return self.board_mm(x, y) + high

    def ridden_mm(self, x: Array, string: float, ball: float) -> Array:
        """What a ball reads along a string's line at places x on the neck; NaN off the neck."""
        y = self.instrument.string_y_mm(string, x)
        across = self.turn(x) - y * self.curvature(x)
        lift = ball * (np.sqrt(1.0 + across**2) - 1.0)
        z = self.board_mm(x, y)
        for n, top in enumerate(self.top_mm(string), start=1):
            if n in self.hidden:
                continue
            at = float(self.instrument.fret_x_mm(n, string))
            near = np.abs(x - at) < 4.0
            crown = top + crown_trace(x[near] - at, self.crown_mm, self.flats()[n - 1], ball)
            z[near] = np.maximum(z[near], crown)
        for at in self.extra_x_mm:
            near = np.abs(x - at) < 4.0
            z[near] = np.maximum(z[near], 1.0 + crown_trace(x[near] - at, 1.2, 0.0, ball))
        z = z + lift
        z[x < 0.0] += 2.1
        last = float(self.instrument.fret_x_mm(self.instrument.frets, string)) + 8.0
        z[(x < -5.5) | (x > last)] = np.nan
        return z

    def lanes(self, strung: bool = False) -> list[float]:
        count = len(self.instrument.strings)
        return [s for s in np.arange(1.0, count + 0.25, 0.5) if not strung or s % 1.0]

    def profile(
        self,
        string: float,
        direction: int,
        rng: np.random.Generator,
        noise_mm: float = 0.002,
        ball_mm: float = 1.0,
        step_mm: float = 0.0625,
    ) -> Profile:
        carriage = np.arange(45.0, 595.0, step_mm) + step_mm * rng.uniform()
        on_neck = (carriage - self.nut_mm) / self.screw
        z = self.ridden_mm(on_neck, string, ball_mm) + rng.normal(0.0, noise_mm, carriage.size)
        return Profile(
            lane=int(2 * string),
            string=string,
            direction=direction,
            x_mm=carriage,
            y_mm=np.asarray(self.instrument.string_y_mm(string, on_neck)),
            z_mm=z,
            ok=np.isfinite(z),
            u_rail_mm=np.zeros_like(carriage),
            noise_mm=noise_mm,
            u_drift_mm=0.0,
        )

    def profiles(
        self, seed: int = 1, strung: bool = False, lanes: list[float] | None = None, **how: Any
    ) -> list[Profile]:
        rng = np.random.default_rng(seed)
        chosen = self.lanes(strung) if lanes is None else lanes
        return [self.profile(s, d, rng, **how) for s in chosen for d in (1, -1)]


def raw_pass(
    surface: Surface,
    direction: int = 1,
    speed: float = 25.0,
    rate_hz: float = 400.0,
    lane: int = 1,
    lag_s: float = 0.0,
    backlash_mm: float = 0.0,
    start_s: float = 0.0,
    drift: Surface | None = None,
    noise_mm: float = 0.0,
    quantum_mm: float = 0.0,
    span: tuple[float, float] = (2.0, 616.0),
    seed: int = 0,
) -> RawPass:
    """One traverse at constant speed: the reading comes late and the tip trails the count."""
    rng = np.random.default_rng(seed)
    run = np.arange(0.0, (span[1] - span[0]) / speed, 1.0 / rate_hz)
    x = span[0] + speed * run if direction > 0 else span[1] - speed * run
    t = start_s + run
    tip = x - direction * (speed * lag_s + backlash_mm / 2.0)
    z = surface(tip) + rng.normal(0.0, noise_mm, x.size)
    if drift is not None:
        z = z + drift(t)
    if quantum_mm > 0.0:
        z = quantum_mm * np.round(z / quantum_mm)
    return RawPass(lane, float(lane), direction, speed, t, x, np.zeros_like(x), z)


def flat_profile(x: Array, z: Array, direction: int = 1, lane: int = 1) -> Profile:
    return Profile(
        lane, float(lane), direction, x, np.zeros_like(x), z, np.isfinite(z),
        np.zeros_like(x), 0.002, 0.0,
    )  # fmt: skip


def shape_of(
    instrument: Instrument,
    over_board: Array | None = None,
    relief_mm: float = 0.12,
    u_mm: float = 0.001,
    flat_board: bool = False,
) -> Shape:
    """A strung neck in its datum frame: bowed by relief_mm, crowns over_board [frets, strings]."""
    count = len(instrument.strings)
    frets = np.arange(1, instrument.frets + 1)[:, None]
    high = np.full((instrument.frets, count), 1.1) if over_board is None else over_board

    def at(strings: Array, over: Array) -> tuple[Array, Array, Array]:
        x = instrument.fret_x_mm(frets, strings[None, :])
        y = instrument.string_y_mm(strings[None, :], x)
        joint = float(instrument.fret_x_mm(instrument.body_joint_fret, 1.0))
        bow = -4.0 * relief_mm * x * (joint - x) / joint**2
        bow = np.where(x > joint, 0.0, bow)
        radius = instrument.board_radius_mm[0]
        drop = 0.0 if flat_board else y**2 / (2.0 * radius)
        return x, y, bow + over - drop

    under = np.arange(1.0, count + 1)
    x, y, top = at(under, high)
    _, _, between = at(under[:-1] + 0.5, 0.5 * (high[:, :-1] + high[:, 1:]))
    u = np.full_like(top, u_mm)
    return Shape(
        state="strung",
        x_mm=x,
        y_mm=y,
        top_mm=top,
        u_top_mm=u,
        height_mm=high.copy(),
        u_height_mm=np.full_like(top, 0.004),
        flat_mm=np.zeros_like(top),
        between_mm=between,
        u_between_mm=np.full_like(between, u_mm),
        status=np.full(top.shape, "ok"),
        relief=reliefs(x, top, u, instrument.body_joint_fret),
        twist_mrad=0.0,
        u_twist_mrad=0.1,
        board_radius_mm=(1e7, 1e7) if flat_board else instrument.board_radius_mm,
        terms=Terms({"noise": u}),
        u_datum_mm=0.001,
    )


def ridden_by_ball(surface: Array, step_mm: float, ball_mm: float) -> Array:
    """Dilation by hand: every point of the surface carries a ball, the highest one counts."""
    reach = int(ball_mm / step_mm)
    out = np.full(surface.size, -np.inf)
    for k in range(-reach, reach + 1):
        ball = np.sqrt(max(ball_mm**2 - (k * step_mm) ** 2, 0.0)) - ball_mm
        low, high = max(k, 0), surface.size + min(k, 0)
        out[low:high] = np.maximum(out[low:high], surface[low - k : high - k] + ball)
    return out


@pytest.fixture(scope="session")
def walnut() -> Instrument:
    """A six-string of 641 mm and 22 frets, as the example file has it."""
    return walnut_parlour()


@pytest.fixture(scope="session")
def tiny() -> Instrument:
    """Two strings and 13 frets: small enough to plan by brute force."""
    whole = walnut_parlour()
    return replace(
        whole,
        frets=13,
        body_joint_fret=12,
        strings=(whole.strings[0], whole.strings[2]),
        action_mm=(1.4, 1.6),
        nut_gap_mm=(0.4, 0.44),
    )


@pytest.fixture(scope="session")
def make_neck() -> Callable[..., MadeNeck]:
    return MadeNeck


@pytest.fixture(scope="session")
def make_shape() -> Callable[..., Shape]:
    return shape_of


@pytest.fixture(scope="session")
def make_pass() -> Callable[..., RawPass]:
    return raw_pass


@pytest.fixture(scope="session")
def make_profile() -> Callable[..., Profile]:
    return flat_profile


@pytest.fixture(scope="session")
def ride() -> Callable[[Array, float, float], Array]:
    return ridden_by_ball


@pytest.fixture(scope="session")
def pads() -> tuple[Pad, ...]:
    return PADS
