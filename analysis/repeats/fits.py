"""Whether an earlier scan of a state still shows the neck that the latest shows."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from analysis.instrument import FloatArray
from analysis.repeats.lie import fit_lie
from analysis.repeats.outliers import HARMLESS_MM, ODD
from analysis.repeats.places import DoesNotFit, Places

#: A neck that bent by more between two scans has had its rod turned, or its strings: half of
#: what an eighth of a turn does, the least that anybody turns (0.4 mm a turn: common practice,
#: no source).
BENT_MM = 0.025
#: Where more than this share of the tops stand elsewhere it is not a matter of single tops, nor
#: where fewer than that number do (own choice).
MANY_SHARE, MANY = 0.1, 5
#: What is stated may be too little by so much; more is no longer scatter (own choice).
WIDEST = 3.0
#: Of tops that moved, so many the same way have one cause (own choice).
ONE_WAY = 0.8


def check_fits(places: Places, earlier: FloatArray, latest: FloatArray, u_mm: FloatArray) -> None:
    """An earlier scan lies elsewhere on the rig, and is the latest in all else.

    earlier, latest, u_mm: [points], u of their difference.

    Raises DoesNotFit where the neck has changed in between: bent, or many of its tops. The
    latest scan stands: what was changed was changed before it.
    """
    change = earlier - latest
    try:
        lie = fit_lie(places.rows, change, u_mm, places.is_board)
    except ValueError as error:
        raise DoesNotFit(str(error)) from error
    bend = float(np.max(np.abs(places.bends @ lie.coefficients)))
    if bend > BENT_MM:
        raise DoesNotFit(
            f"the neck has bent by {1e3 * bend:.0f} µm since; clamping anew may bend one by "
            f"{1e3 * BENT_MM:.0f} µm: a rod was turned, or the neck was clamped by force"
        )
    _check_tops(change - places.rows @ lie.coefficients, u_mm, places.is_board)


def _check_tops(off: FloatArray, u_mm: FloatArray, is_board: NDArray[np.bool_]) -> None:
    seen = ~is_board & np.isfinite(off) & np.isfinite(u_mm)
    off, u = off[seen], u_mm[seen]
    # filing takes tops one way only: scatter is told from the other
    below = np.abs(off[off < 0.0]) / u[off < 0.0]
    scale = 1.4826 * float(np.median(below)) if 5 * below.size > off.size else 1.0
    moved = np.abs(off) > np.maximum(ODD * np.clip(scale, 1.0, WIDEST) * u, HARMLESS_MM)
    count = int(np.count_nonzero(moved))
    if count < MANY or count <= MANY_SHARE * off.size:
        return
    higher = np.count_nonzero(off[moved] > 0.0) / count
    by = f"by {1e3 * float(np.median(np.abs(off[moved]))):.0f} µm in the middle of them"
    if higher >= ONE_WAY:
        raise DoesNotFit(
            f"{count} of {off.size} tops stood higher over the board than now, {by}: "
            "metal came off since"
        )
    raise DoesNotFit(
        f"{count} of {off.size} tops stand elsewhere than now, {by}: frets were seated or "
        "changed, or it is another neck"
    )
