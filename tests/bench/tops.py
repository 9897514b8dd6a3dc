"""Fret tops: the project's crowns against two usual ways, in time and against the truth."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
from scipy.signal import find_peaks, savgol_filter

from analysis.crowns.fit import fit_crowns
from analysis.crowns.windows import Windows

from ..campaign.test_crown_bounds import shape
from .table import Part, rounded, times
from .timing import interleaved

FRETS, LANES, SCANS = 24, 6, 12
CROWNS = FRETS * LANES
HALF_MM, RADIUS_MM, BALL_MM, STEP_MM, NOISE_MM = 0.8, 1.2, 1.0, 0.02, 0.002
SMOOTHED_MM = 0.4
FLATS_MM = (0.0, 0.3)

Tops = Callable[["Scan"], np.ndarray]


@dataclass(frozen=True)
class Scan:
    """Passes both ways over every crown, whose true tops are at 0. x_mm, z_mm: [passes, n]."""

    x_mm: np.ndarray
    z_mm: np.ndarray


def measure() -> Iterator[Part]:
    """Round crowns, then crowns with a flat."""
    ours = "neckform, shape and its uncertainty"
    ways: dict[str, Tops] = {
        "find_peaks, highest sample": _highest,
        f"Savitzky-Golay {SMOOTHED_MM:g} mm, highest": _smoothed,
        ours: _by_shape,
    }
    scan = _scan(0.0, 0)
    took = interleaved({name: lambda way=way: way(scan) for name, way in ways.items()})
    rows = []
    for name, way in ways.items():
        off = [
            1e3 * np.concatenate([way(_scan(flat, 100 + k)) for k in range(SCANS)])
            for flat in FLATS_MM
        ]
        rows.append(
            [
                name,
                rounded(1e3 * took[name].wall_s),
                times(took[name].wall_s / took[ours].wall_s),
                *(f"{of.mean():.2f} ± {of.std():.2f}" for of in off),
                *(rounded(float(np.sqrt(np.mean(of**2)))) for of in off),
            ]
        )
    yield Part(
        "Fret tops",
        f"{CROWNS} crowns of {RADIUS_MM} mm, both ways, under a ball of {BALL_MM:g} mm, a reading "
        f"each {STEP_MM} mm, noise {1e3 * NOISE_MM:g} µm: {SCANS} scans against the truth.",
        (
            "way", "ms a scan", "of ours", "round: bias ± std µm",
            f"flat {FLATS_MM[1]} mm: bias ± std µm", "round: rms µm", "flat: rms µm",
        ),
        rows,
    )  # fmt: skip


def _scan(flat_mm: float, seed: int) -> Scan:
    rng = np.random.default_rng(seed)
    start = rng.normal(0.0, 0.02, (2 * CROWNS, 1))
    count = int(2 * HALF_MM / STEP_MM)
    x = start - HALF_MM + STEP_MM * (np.arange(count) + rng.uniform(size=(2 * CROWNS, 1)))
    z = shape(x, flat_mm, 1.0 / (RADIUS_MM + BALL_MM), BALL_MM)
    return Scan(x, z + rng.normal(0.0, NOISE_MM, x.shape))


def _highest(scan: Scan) -> np.ndarray:
    """Mean of both passes; so below."""
    return _both([row[find_peaks(row)[0]].max() for row in scan.z_mm])


def _smoothed(scan: Scan) -> np.ndarray:
    width = round(SMOOTHED_MM / STEP_MM) | 1
    return _both(savgol_filter(scan.z_mm, width, 2, axis=1).max(axis=1))


def _by_shape(scan: Scan) -> np.ndarray:
    windows = Windows(
        scan.x_mm,
        scan.z_mm,
        np.ones(scan.z_mm.shape, dtype=bool),
        np.full(2 * CROWNS, NOISE_MM),
        scan.x_mm.mean(axis=1),
        np.sort(scan.z_mm, axis=1)[:, -3],
    )
    crown = np.tile(np.arange(CROWNS), 2)
    found = fit_crowns(
        windows,
        BALL_MM,
        crown.tolist(),
        (crown % FRETS).tolist(),
        (1.0 + crown // FRETS).tolist(),
    )
    return _both(found.z_mm)


def _both(tops: object) -> np.ndarray:
    return np.asarray(tops).reshape(2, CROWNS).mean(axis=0)
