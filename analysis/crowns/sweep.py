"""Every window fitted at every flat width of a few nodes: position, top and curvature."""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from analysis.crowns.grid import NODES_MM
from analysis.crowns.trace import Eye, trace
from analysis.crowns.windows import Windows
from analysis.instrument import FloatArray

#: Crown radius before looking: fret wire runs from about 0.7 to 2 mm (common practice, no source).
RADIUS_MM, RADIUS_SPREAD_MM = 1.25, 0.4
RADIUS_LIMITS_MM = (0.5, 4.0)
#: A window stands on its crown to this, mm: only where a flat fills it is that of use.
PLACE_MM = 0.5
#: Gauss-Newton steps for the first node, and for each next one, begun where its neighbour's fit
#: and slopes point.
_STEPS, _NEXT_STEPS = 4, 1


@dataclass(frozen=True, slots=True)
class Sweep:
    """Best fit of each window at each node, [nodes, windows].

    x_mm, z_mm, bend: position, top, curvature of the outer circle less its prior mean; x_by,
    z_by, bend_by: how they change with the flat. chi2, chi2_by. var_z_mm2: of the top when the
    curvature is known. z_by_bend: how the top follows the curvature. precision: of the curvature,
    its prior included. log_det: of what is known of position and top together.
    """

    x_mm: FloatArray
    z_mm: FloatArray
    bend: FloatArray
    x_by: FloatArray
    z_by: FloatArray
    bend_by: FloatArray
    chi2: FloatArray
    chi2_by: FloatArray
    var_z_mm2: FloatArray
    z_by_bend: FloatArray
    precision: FloatArray
    log_det: FloatArray

    def columns(self, chosen: NDArray[np.intp]) -> Sweep:
        """Some of the windows."""
        return Sweep(*(getattr(self, f.name)[:, chosen] for f in fields(self)))

    def with_columns(self, chosen: NDArray[np.intp], other: Sweep) -> Sweep:
        """With other's windows in place of those."""
        tables = {f.name: getattr(self, f.name).copy() for f in fields(self)}
        for name, table in tables.items():
            table[:, chosen] = getattr(other, name)
        return Sweep(**tables)


def bend_prior(eye: Eye) -> tuple[float, float]:
    """Mean and standard deviation of the outer circle's curvature before looking, 1/mm."""
    outer = RADIUS_MM + eye.ball_mm
    return 1.0 / outer, RADIUS_SPREAD_MM / outer**2


def sweep(windows: Windows, eye: Eye) -> Sweep:
    """Gauss-Newton over all windows at once, node after node."""
    mean, _ = bend_prior(eye)
    at = np.stack([windows.start_x_mm, windows.start_z_mm, np.full(windows.count, mean)])
    found = []
    for k, flat in enumerate(NODES_MM.tolist()):
        for _ in range(_NEXT_STEPS if k else _STEPS):
            step = _step(windows, at, flat, eye)
            at = step.at
        found.append(step)
        if k + 1 < NODES_MM.size:
            at = _held(at + step.by * (NODES_MM[k + 1] - flat), eye)
    at, by = np.array([s.at for s in found]), np.array([s.by for s in found])
    rest = (np.array([getattr(s, n) for s in found]) for n in _REST)
    return Sweep(at[:, 0], at[:, 1], at[:, 2] - mean, by[:, 0], by[:, 1], by[:, 2], *rest)


_REST = ("chi2", "chi2_by", "var_z", "z_by_bend", "precision", "log_det")


@dataclass(frozen=True, slots=True)
class _Step:
    """at, by: [3, windows], the parameters after the step and their slopes with the flat."""

    at: FloatArray
    by: FloatArray
    chi2: FloatArray
    chi2_by: FloatArray
    var_z: FloatArray
    z_by_bend: FloatArray
    precision: FloatArray
    log_det: FloatArray


def _step(windows: Windows, at: FloatArray, flat: float, eye: Eye) -> _Step:
    """One Gauss-Newton step with position and top eliminated, written out: 3 by 3 for each.

    chi2 is that after the step as the linear model has it, exact to the second order.
    """
    x, z, bend = at
    mean, spread = bend_prior(eye)
    shape = trace(windows.x_mm - x[:, None], bend[:, None], flat, eye)
    ok = windows.ok
    off = np.where(ok, windows.z_mm - z[:, None] - shape.z_mm, 0.0)
    columns = np.empty((x.size, 5, ok.shape[1]))
    columns[:, 0] = -shape.by_x
    columns[:, 1] = 1.0
    columns[:, 2] = shape.by_curvature
    columns[:, 3] = shape.by_flat
    columns[:, 4] = off
    columns *= ok[:, None]
    told = (columns @ columns.transpose(0, 2, 1)) / (windows.noise_mm**2)[:, None, None]
    weight = told.transpose(1, 2, 0)
    xx, xz, xb, zz, zb, bb = (
        weight[i, j] for i, j in ((0, 0), (0, 1), (0, 2), (1, 1), (1, 2), (2, 2))
    )
    xx = xx + 1.0 / PLACE_MM**2
    bb = bb + 1.0 / spread**2
    det = xx * zz - xz**2 + 1e-12
    px, pz = (zz * xb - xz * zb) / det, (xx * zb - xz * xb) / det
    precision = bb - xb * px - zb * pz

    def solved(gx: FloatArray, gz: FloatArray, gb: FloatArray) -> FloatArray:
        db = (gb - px * gx - pz * gz) / precision
        return np.stack(
            [(zz * gx - xz * gz) / det - px * db, (xx * gz - xz * gx) / det - pz * db, db]
        )

    gradient = np.stack(
        [
            weight[0, 4] + (windows.start_x_mm - x) / PLACE_MM**2,
            weight[1, 4],
            weight[2, 4] + (mean - bend) / spread**2,
        ]
    )
    by_flat = weight[:3, 3]
    step = solved(*gradient)
    before = (
        weight[4, 4] + ((windows.start_x_mm - x) / PLACE_MM) ** 2 + ((mean - bend) / spread) ** 2
    )
    return _Step(
        _held(at + np.clip(step, -0.3, 0.3), eye),
        -solved(*by_flat),
        before - np.sum(gradient * step, axis=0),
        -2.0 * (weight[3, 4] - np.sum(by_flat * step, axis=0)),
        xx / det,
        -pz,
        precision,
        np.log(det),
    )


def _held(at: FloatArray, eye: Eye) -> FloatArray:
    """Curvatures of radii that no wire has are held at the limit."""
    low, high = (1.0 / (r + eye.ball_mm) for r in RADIUS_LIMITS_MM[::-1])
    at[2] = np.clip(at[2], low, high)
    return at
