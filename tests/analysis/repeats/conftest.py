"""A neck, and as many scans of it as wanted: each lies elsewhere and draws its noise anew."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np
import pytest

from analysis.instrument import Instrument
from analysis.neck.neck import Neck, Tip, read_neck
from analysis.neck.terms import Terms

Array = np.ndarray


@dataclass(frozen=True)
class Lab:
    """neck: what all scans are of. anew_um, shared_um: rms of what each draws anew, by the
    readings, and of what its tip gets wrong alike in all."""

    neck: Neck
    anew_um: float = 0.8
    shared_um: float = 0.5

    def scan(
        self,
        rng: np.random.Generator,
        shared_mm: Array | float = 0.0,
        bow_mm: float = 0.0,
        anew_um: float | None = None,
    ) -> Neck:
        """One more scan, its noise as stated unless said otherwise."""
        neck, noise = self.neck, rng.normal(0.0, 1e-3, (2, *self.neck.top_mm.shape))
        top, board, turn = _displaced(neck, rng, bow_mm)
        nothing = np.zeros_like(neck.top_mm)
        terms = Terms({"noise": nothing + 1e-3 * self.anew_um, "drift": nothing,
                       "crown": nothing, "tip": nothing + 1e-3 * self.shared_um})  # fmt: skip
        wide = self.anew_um if anew_um is None else anew_um
        return replace(
            neck,
            top_mm=neck.top_mm + top + shared_mm + wide * noise[0],
            u_top_mm=terms.u_mm,
            board_mm=neck.board_mm + board + 0.3 * noise[1],
            u_board_mm=nothing + 1e-3,
            terms=terms,
            arc=replace(neck.arc, roll=replace(neck.arc.roll, value=neck.arc.roll.value + turn)),
        )

    def scans(self, count: int, seed: int = 1, **how: Any) -> list[Neck]:
        rng = np.random.default_rng(seed)
        return [self.scan(rng, **how) for _ in range(count)]

    def off(self, neck: Neck) -> Array:
        """Its tops less the true ones as shapes: [frets * lanes], the best plane off."""
        off = (neck.top_mm - self.neck.top_mm).ravel()
        x, y = self.neck.x_mm.ravel(), self.neck.y_mm.ravel()
        design = np.column_stack([np.ones_like(x), x, y])
        return np.asarray(off - design @ np.linalg.lstsq(design, off, rcond=None)[0])

    def off_at(self, neck: Neck, fret: int, lane: int) -> float:
        return float(self.off(neck).reshape(self.neck.top_mm.shape)[fret - 1, lane])

    def strung(self) -> Lab:
        """The same neck with 0.15 mm more relief, by the lanes between its strings."""
        keep = np.flatnonzero(self.neck.string % 1.0 > 0.0)
        shape = self.neck.top_mm.shape
        cut: dict[str, Any] = {
            one.name: value[:, keep]
            for one in fields(self.neck)
            if isinstance(value := getattr(self.neck, one.name), np.ndarray)
            and value.shape == shape
        }
        gaps = replace(self.neck, **cut, string=self.neck.string[keep])
        pulled = replace(
            gaps,
            top_mm=gaps.top_mm + _pulled(gaps.x_mm),
            board_mm=gaps.board_mm + _pulled(gaps.gap_x_mm),
        )
        return replace(self, neck=pulled)


def moved(scan: Neck, fret: int, lane: int, by_um: float) -> Neck:
    """One top elsewhere."""
    top = scan.top_mm.copy()
    top[fret - 1, lane] += 1e-3 * by_um
    return replace(scan, top_mm=top)


def _pulled(x: Array) -> Array:
    share = np.minimum(x, 400.0) / 400.0
    return np.asarray(-0.6 * share * (1.0 - share))


def _displaced(neck: Neck, rng: np.random.Generator, bow_mm: float) -> tuple[Array, Array, float]:
    """How a neck lies once more: height, tilt, turn and a bow, at tops and board; the turn."""
    up, along, across = rng.normal(0.0, [0.2, 4e-4, 1e-3])
    lanes = zip(neck.gap_x_mm.T, neck.x_mm.T, neck.y_mm.T, strict=True)
    gap_y = np.stack([np.interp(gaps, x, y) for gaps, x, y in lanes], axis=1)

    def at(x: Array, y: Array) -> Array:
        share = x / 470.0
        return np.asarray(up + along * x + across * y + 4.0 * bow_mm * share * (1.0 - share))

    return at(neck.x_mm, neck.y_mm), at(neck.gap_x_mm, gap_y), float(across)


@pytest.fixture(scope="session")
def lab(walnut: Instrument, make_neck: Callable[..., Any]) -> Lab:
    """Of a neck as one fine scan has it."""
    profiles = make_neck(walnut, twist_mrad_per_mm=2e-3).profiles(noise_mm=5e-4)
    return Lab(read_neck(profiles, walnut, Tip(1.0)))


@pytest.fixture(scope="session")
def move_top() -> Callable[[Neck, int, int, float], Neck]:
    return moved
