"""Across the neck: the radius of each fret's tops, and what form the board has."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from analysis.board.arc import Arc, sagitta_mm
from analysis.instrument import FloatArray
from analysis.neck.neck import Neck

Form = Literal["flat", "cylinder", "cone", "not known"]
#: A drop at the outermost lane that no hand feels and no file follows, mm (own choice).
FORM_MM = 0.01
#: A fret's top so far off its arc, in deviations, is worn or dirty there.
OFF_ARC = 3.0
#: Tops lie no nearer to an arc than this, whatever is stated for them, mm.
FINEST_MM = 0.0005
#: No board is rounder than this, 1/mm; it keeps the first steps on the circle.
SHARPEST = 0.02
ROUNDS = 8
#: An arc has three coefficients: height, roll and curvature.
_ARC = 3


@dataclass(frozen=True, slots=True)
class Across:
    """Radii, mm. radius_mm, u_radius_mm: float[frets], circle through each fret's tops: inf
    where the tops are flat within twice their u, NaN where too few lanes saw them.

    lanes: int[frets], how many lanes the circle goes through. form: the simplest the board's
    readings allow. board_radius_mm, u_board_radius_mm: of the board, at the nut and at the last
    fret. Every u holds that the tip's radius across is not known.
    """

    radius_mm: FloatArray
    u_radius_mm: FloatArray
    lanes: NDArray[np.int_]
    form: Form
    board_radius_mm: tuple[float, float]
    u_board_radius_mm: tuple[float, float]


def across_of(neck: Neck) -> Across:
    """The arcs across a neck, fret by fret, and the board's own."""
    between = neck.string % 1.0 != 0.0
    own = neck.terms.without("tip").u_mm
    tip = neck.terms.parts.get("tip", np.zeros_like(own))
    fits = [
        fret_radius_mm(neck.y_mm[n], neck.top_mm[n], own[n], tip[n], between)
        for n in range(neck.top_mm.shape[0])
    ]
    last = float(np.max(neck.x_mm[-1]))
    places = (0.0, last)
    radii = (neck.arc.nut_radius_mm, float(neck.arc.radius_mm(np.array(last))))
    u = (neck.arc.u_radius_mm(0.0), neck.arc.u_radius_mm(last))
    form = board_form(neck.arc, places, float(np.max(np.abs(neck.y_mm))))
    if form == "not known":
        radii = u = (np.nan, np.nan)
    elif form == "flat":
        radii, u = (np.inf, np.inf), (np.nan, np.nan)
    return Across(
        np.array([fit[0] for fit in fits]),
        np.array([fit[1] for fit in fits]),
        np.array([fit[2] for fit in fits]),
        form,
        radii,
        u,
    )


def fret_radius_mm(
    y: FloatArray, z: FloatArray, u: FloatArray, tip: FloatArray, between: NDArray[np.bool_]
) -> tuple[float, float, int]:
    """Radius of the circle through one fret's tops, its u and how many lanes it goes through.

    Strings wear the fret down right under them, so the circle goes through the lanes between
    the strings first, where three or more saw the fret; a lane that lies within 3 deviations of
    it, or of the mean scatter about it, joins, and the circle is laid anew. The curvature c of
    z = a + b y - sagitta(y, 1 / c) is found by Gauss-Newton from the parabola's. u takes the
    larger of what is stated and what the tops scatter by, and the tip's part, one factor for
    all lanes. y, z, u, tip: float[lanes]; between: bool[lanes]. NaN where fewer than three lanes
    saw the fret.
    """
    seen = np.isfinite(z) & np.isfinite(u)
    used = seen & between if np.count_nonzero(seen & between) >= _ARC else seen
    if np.count_nonzero(used) < _ARC:
        return np.nan, np.nan, 0
    u = np.maximum(u, FINEST_MM)
    arc = _arc(y, z, u, used)
    joined = seen & (np.abs(arc.off_mm) <= OFF_ARC * max(1.0, arc.scatter) * u)
    if np.count_nonzero(joined) >= _ARC:
        used, arc = joined, _arc(y, z, u, joined)
    own = float(np.linalg.norm(arc.row * u[used])) * max(1.0, arc.scatter)
    u_curvature = float(np.hypot(own, arc.row @ tip[used]))
    count = int(np.count_nonzero(used))
    if arc.curvature <= 2.0 * u_curvature:
        return np.inf, np.nan, count
    return 1.0 / arc.curvature, u_curvature / arc.curvature**2, count


@dataclass(frozen=True, slots=True)
class _FretArc:
    """curvature: 1/mm. row: its weights on the used tops. scatter: of those over their u.
    off_mm: float[lanes], every lane's way off the arc."""

    curvature: float
    row: FloatArray
    scatter: float
    off_mm: FloatArray


def _arc(y: FloatArray, z: FloatArray, u: FloatArray, used: NDArray[np.bool_]) -> _FretArc:
    design = np.stack([np.ones_like(y), y, -0.5 * y**2], axis=1)
    inverse = np.linalg.pinv(design[used] / u[used, None]) / u[used]
    c = 0.0
    for _ in range(ROUNDS):
        step = inverse @ (z + _drop_mm(c, y))[used]
        c = float(np.clip(c + step[2], -SHARPEST, SHARPEST))
    off = z + _drop_mm(c, y) - design[:, :2] @ step[:2]
    free = max(int(np.count_nonzero(used)) - _ARC, 1)
    scatter = float(np.sqrt(np.sum((off[used] / u[used]) ** 2) / free))
    return _FretArc(c, inverse[2], scatter, off)


def _drop_mm(curvature: float, y: FloatArray) -> FloatArray:
    """Sagitta of an arc, hollow where its curvature is negative."""
    radius = 1.0 / max(abs(curvature), 1e-9)
    return np.asarray(np.sign(curvature) * sagitta_mm(np.full_like(y, radius), y))


def board_form(arc: Arc, places_mm: tuple[float, float], half_width_mm: float) -> Form:
    """The simplest form that the readings and 0.01 mm at the outermost lane allow.

    Flat, where the drop at both ends is less than that or than twice its u; a cylinder, where
    the drops at both ends differ by less than twice that (one arc between them is then within
    it of both) or than twice the difference's u; else a cone. Not known from fewer than three
    lanes.
    """
    if not np.isfinite(arc.radius_covariance).all():
        return "not known"
    radius = arc.radius_mm(np.array(places_mm))
    y2 = 0.5 * half_width_mm**2
    drop = y2 / radius
    share = np.array(places_mm) / arc.last_x_mm
    rows = np.stack([1.0 - share, share], axis=1) * (y2 / radius**2)[:, None]
    covariance = rows @ arc.radius_covariance @ rows.T
    if np.all(drop <= np.maximum(FORM_MM, 2.0 * np.sqrt(np.diag(covariance)))):
        return "flat"
    apart = np.array([1.0, -1.0])
    u_apart = float(np.sqrt(max(apart @ covariance @ apart, 0.0)))
    if abs(drop[0] - drop[1]) <= max(2.0 * FORM_MM, 2.0 * u_apart):
        return "cylinder"
    return "cone"
