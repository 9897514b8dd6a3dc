"""Necks of many sizes with all that a report may tell of one."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
import pytest

from analysis.form.across import Across
from analysis.form.along import Along, Hump
from analysis.instrument import Instrument
from analysis.neck.shape import Shape
from analysis.plan.clearances import Clearance
from analysis.plan.plan import Plan
from analysis.rod.rod import default_rod
from analysis.wear.wear import VERDICTS, Wear
from daq.report.record import ReportInput
from daq.text.margins import MARKS

from ..drawn import Drawing, drawings_of

Sized = Callable[..., ReportInput]


@pytest.fixture
def drawings() -> Callable[[str], list[Drawing]]:
    """drawings(page): all that are on it, each read as XML."""

    def read(page: str) -> list[Drawing]:
        return drawings_of(page)

    return read


@pytest.fixture
def one(drawings: Callable[[str], list[Drawing]]) -> Callable[[str, str], Drawing]:
    """one(page, title): the drawing whose title starts so."""

    def read(page: str, title: str) -> Drawing:
        return next(each for each in drawings(page) if each.title.startswith(title))

    return read


@pytest.fixture
def sized(six: Instrument, plain_shape: Callable[..., Shape], plan: Plan) -> Sized:
    """sized(strings, frets, fan_mm=0): a job with everything measured and planned."""

    def make(strings: int, frets: int, fan_mm: float = 0.0) -> ReportInput:
        it = _instrument(six, strings, frets, fan_mm)
        rng = np.random.default_rng(7)
        strung, unstrung = (
            _rough(plain_shape(it, state, relief, {(9, 2): 0.04}), rng)
            for state, relief in (("strung", 0.16), ("unstrung", 0.05))
        )
        sizes = (frets, strings)
        cut = np.where(rng.random(sizes) < 0.2, 0.02, 0.0)
        clearances = tuple(
            Clearance(s, n, min(n + 1, frets), False, 0.1 + spare, 0.1, 0.0, 0.01, verdict)
            for s in range(1, strings + 1)
            for n in range(frets)
            for spare, verdict in [_spare(rng)]
        )
        return ReportInput(
            "a job", it, "neckform 0.1.0", "2025-11-25 10:00",
            strung=strung, unstrung=unstrung, wear=_wear(sizes), across=_across(frets),
            along={state: _along(strings, frets) for state in ("strung", "unstrung")},
            arcs={"strung": _Turning(1.0), "unstrung": _Turning(-0.5)},
            plan=replace(plan, remove_mm=cut, height_after_mm=unstrung.height_mm - cut,
                         rod=default_rod(it, unstrung.x_mm), now=clearances, after=clearances,
                         saddle_mm=np.zeros(strings),
                         nut_mm=np.zeros(strings)),
        )  # fmt: skip

    return make


def _instrument(six: Instrument, strings: int, frets: int, fan_mm: float) -> Instrument:
    spacing = (7.1, 10.4) if strings <= 6 else (3.9, 5.6)
    reach = [(strings - 1) * mm + 8.0 for mm in spacing]
    return replace(
        six, scale_bass_mm=six.scale_treble_mm + fan_mm, square_fret=7 if fan_mm else 0,
        frets=frets, body_joint_fret=round(0.65 * frets), spacing_mm=spacing,
        strings=tuple(six.strings[i % 6] for i in range(strings)),
        board_width_mm=(reach[0], reach[0] + 0.75 * (reach[1] - reach[0])),
        action_mm=(1.6,) * strings, nut_gap_mm=(0.4,) * strings,
    )  # fmt: skip


def _rough(shape: Shape, rng: np.random.Generator) -> Shape:
    """Tops and heights that differ, one of each unknown."""
    top = shape.top_mm + rng.normal(0.0, 0.006, shape.top_mm.shape)
    height = shape.height_mm + rng.normal(0.0, 0.02, top.shape)
    top[3, 1] = height[3, 1] = np.nan
    return replace(shape, top_mm=top, height_mm=height)


def _spare(rng: np.random.Generator) -> tuple[float, str]:
    spare = float(rng.normal(0.06, 0.05))
    names = sorted(MARKS, key=lambda name: name != "clear")
    return spare, names[int(rng.choice(len(names), p=[0.7, 0.15, 0.15]))]


def _wear(sizes: tuple[int, int]) -> Wear:
    """Every verdict in turn, dents 21 µm deep where one is."""
    rng = np.random.default_rng(3)
    verdict = np.resize(np.array(VERDICTS), sizes)
    return Wear(
        dent_mm=np.where(verdict == "dented", 0.021, 0.001),
        u_dent_mm=np.full(sizes, 0.002),
        dent_width_mm=np.full(sizes, 1.4),
        flat_mm=np.where(verdict == "round", 0.0, rng.uniform(0.1, 1.6, sizes)),
        u_flat_mm=np.full(sizes, 0.03),
        verdict=verdict,
    )


def _across(frets: int) -> Across:
    """A cone, fret 6 flat."""
    radius = np.linspace(243.0, 361.0, frets)
    radius[5] = np.inf
    return Across(
        radius_mm=radius,
        u_radius_mm=np.full(frets, 5.0),
        lanes=np.full(frets, 11),
        form="cone",
        board_radius_mm=(239.0, 357.0),
        u_board_radius_mm=(4.0, 7.0),
    )


def _along(strings: int, frets: int) -> tuple[Along, ...]:
    """Fret 9 high, frets 3 to 5 low, the neck falling away past the joint."""
    humps = (Hump(9, 9, 9, 0.041, 0.002), Hump(4, 3, 5, -0.02, 0.002))
    off, u_off = np.zeros(frets), np.full(frets, 0.002)
    return tuple(
        Along(s, 0.01, 0.003, 0.045, 0.004, humps, off, u_off, 0.003) for s in range(1, strings + 1)
    )


@dataclass(frozen=True)
class _Turning:
    """As much of a board's arc as a drawing of its twist asks for."""

    size: float

    def twist_mrad(self, from_mm: float, to_mm: float) -> tuple[float, float]:
        part = (to_mm - from_mm) / 550.0
        return self.size * (2.0 * part - part**2), 0.08 * part
