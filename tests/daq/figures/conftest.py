"""Strings from the side and boards from above, of any size, written by hand."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
import pytest

from analysis.instrument import Instrument
from analysis.neck.shape import Shape
from analysis.plan.room import Room
from analysis.plan.section import Section
from analysis.plan.target import Held
from analysis.plan.tight import Tight
from analysis.wear.wear import VERDICTS, Wear
from daq.figures.neckmap import MapView

Viewed = Callable[..., MapView]
Sided = Callable[..., Section]
U_MM = 0.004
SCALE_MM = 641.0


@pytest.fixture
def viewed(six: Instrument, plain_shape: Callable[..., Shape]) -> Viewed:
    """viewed(strings, frets, held=Held()): a board with everything known but fret 4, string 2."""

    def make(strings: int, frets: int, held: Held = Held()) -> MapView:  # noqa: B008
        it = replace(
            six, frets=frets, body_joint_fret=round(0.65 * frets),
            strings=tuple(six.strings[i % 6] for i in range(strings)),
            spacing_mm=(3.9, 5.6), action_mm=(1.6,) * strings, nut_gap_mm=(0.4,) * strings,
        )  # fmt: skip
        shape = plain_shape(it, bumps={(9, 2): 0.04})
        height = shape.height_mm.copy()
        height[3, 1] = np.nan
        rng = np.random.default_rng(5)
        sizes = (frets, strings)
        return MapView(
            it,
            replace(shape, height_mm=height),
            _wear(sizes),
            np.where(rng.random(sizes) < 0.3, 0.0123, 0.0),
            _room(sizes),
            held,
            2,
        )

    return make


def _wear(sizes: tuple[int, int]) -> Wear:
    return Wear(
        np.full(sizes, 0.021), np.full(sizes, 0.002), np.full(sizes, 1.4), np.full(sizes, 0.6),
        np.full(sizes, 0.03), np.resize(np.array(VERDICTS), sizes),
    )  # fmt: skip


def _room(sizes: tuple[int, int]) -> Room:
    """Open: 0.123 mm short on string 1; nothing to tell at the last position of string 2."""
    spare = np.full(sizes, 0.046)
    verdict = np.full(sizes, "clear", dtype="<U9")
    at = np.full(sizes, 9)
    spare[0, 0], verdict[0, 0], spare[1, 0], verdict[1, 0] = -0.123, "buzzes", 0.001, "undecided"
    spare[-1, 1], verdict[-1, 1], at[-1, 1] = np.nan, "", 0
    bend = np.zeros(sizes, dtype=bool)
    bend[1, 0] = True
    return Room(spare, verdict, at, bend)


@pytest.fixture
def sided() -> Sided:
    """sided(frets, cut=True, unseen=(), fretted=2, asked=None): string 2 of a hollow neck.

    With a cut fret 5 loses 40 µm and the saddle rises; u of every top is U_MM. asked: the two
    anchors of a shape that is straight from one top to the other.
    """
    return _sided


def _sided(
    frets: int,
    *,
    cut: bool = True,
    unseen: Sequence[int] = (),
    fretted: int = 2,
    asked: tuple[int, int] | None = None,
) -> Section:
    n = np.arange(1.0, frets + 1)
    x = SCALE_MM * (1.0 - 2.0 ** (-n / 12.0))
    top = 1.0 + 0.001 * x - 0.15 * np.sin(np.pi * np.clip(x / x[-1], 0.0, 1.0))
    top[[fret - 1 for fret in unseen]] = np.nan
    removed = np.where((n == 5) & cut, 0.04, 0.0)
    after = top - removed
    nut, saddle = (1.4, 1.4), (4.2, 4.3 if cut else 4.2)
    # no margin hangs on a top that nobody saw
    at = np.array([n for n in range(fretted + 1, frets + 1) if n not in unseen])
    held = at.size and fretted not in unseen
    tight = _tight(x, top, after, removed, at, fretted, saddle) if held else None
    return Section(
        2, x, top, np.full(frets, U_MM), after, removed,
        None if asked is None else _straight(x, top, asked), asked, 0.0, SCALE_MM, nut, saddle,
        tight,
    )  # fmt: skip


def _straight(x: np.ndarray, top: np.ndarray, asked: tuple[int, int]) -> np.ndarray:
    i, j = asked[0] - 1, asked[1] - 1
    shape = top[i] + (x - x[i]) / (x[j] - x[i]) * (top[j] - top[i])
    return np.where((np.arange(x.size) >= i) & (np.arange(x.size) <= j), shape, np.nan)


def _tight(
    x: np.ndarray, top: np.ndarray, after: np.ndarray, removed: np.ndarray, at: np.ndarray,
    fretted: int, saddle: tuple[float, float],
) -> Tight:  # fmt: skip
    held_x = float(x[fretted - 1]) if fretted else 0.0
    clearance = []
    for z, end in ((top, saddle[0]), (after, saddle[1])):
        start = float(z[fretted - 1]) if fretted else 1.4
        line = start + (x[at - 1] - held_x) / (SCALE_MM - held_x) * (end - start)
        clearance.append(line - z[at - 1])
    swing = 0.05 + 0.002 * np.arange(at.size)
    u = np.full(at.size, 0.005)
    return Tight(
        2, fretted, False, held_x, at, x[at - 1], clearance[0], clearance[1], removed[at - 1],
        swing - 0.01, swing, u, swing + 2.0 * u,
    )  # fmt: skip
