"""Whether a tip's traces are those of a ball that never left the surface."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from calibration.passes import FloatArray
from calibration.probe.cap import Cap, ProbeError
from calibration.probe.capfit import CapFit
from calibration.probe.trace import SHARE, Touched

#: Stretches of the cap, in shares of its radius, over which the residuals are looked at.
_EDGES = np.linspace(-SHARE, SHARE, 15)
#: The mean over a stretch may be off the circle by this, and by what noise makes of it.
OFF_MM, OFF_SIGMAS = 0.004, 6.0
#: Readings that scatter by this many times their noise come from a plunger that sticks.
ROUGH = 2.0


@dataclass(frozen=True, slots=True)
class _Off:
    """Mean residual of the passes one way over each stretch, along their travel, and the u."""

    mean_mm: FloatArray
    u_mm: FloatArray

    @property
    def far(self) -> NDArray[np.bool_]:
        """Where it is more than noise and worth naming."""
        return np.asarray(np.abs(self.mean_mm) > np.maximum(OFF_MM, OFF_SIGMAS * self.u_mm))

    @property
    def falls_high_mm(self) -> float:
        """How far the end of the falling flank stands too high; 0 where it does not."""
        high = self.far[-2:] & (self.mean_mm[-2:] > 0.0)
        return float(np.max(self.mean_mm[-2:], where=high, initial=0.0))


def _off(caps: Sequence[Cap], fits: Sequence[CapFit], over: Touched, way: int) -> _Off:
    mine = [(cap, fit) for cap, fit in zip(caps, fits, strict=True) if cap.direction == way]
    along, left, variance = (
        np.concatenate(each)
        for each in zip(
            *(
                (
                    way
                    * (cap.x_mm - float(fit.middle_mm[0]))
                    / (float(fit.values[0]) + over.radius_mm),
                    fit.left_mm,
                    np.full(cap.x_mm.size, cap.sigma_mm**2 + cap.sigma_x_mm**2),
                )
                for cap, fit in mine
            ),
            strict=True,
        )
    )
    inside = np.isfinite(left) & (np.abs(along) < SHARE)
    stretch = np.digitize(along[inside], _EDGES) - 1
    size = _EDGES.size - 1
    count = np.maximum(np.bincount(stretch, minlength=size), 1)
    mean = np.bincount(stretch, left[inside], minlength=size) / count
    u = np.sqrt(np.bincount(stretch, variance[inside], minlength=size)) / count
    return _Off(mean, u)


def check_shape(caps: Sequence[Cap], fits: Sequence[CapFit], over: Touched) -> None:
    """Every stretch of the cap lies on the circle.

    What is not round itself stands out on the same side both ways; a tip that falls too slowly
    on the falling flank of either. Lag, backlash and drift move the whole cap.
    """
    ways = {way: _off(caps, fits, over, way) for way in sorted({cap.direction for cap in caps})}
    high = {way: off.falls_high_mm for way, off in ways.items()}
    if all(high.values()):
        names = {1: "away from the nut", -1: "towards the nut"}
        said = " and ".join(f"{1e3 * mm:.0f} µm going {names[way]}" for way, mm in high.items())
        raise ProbeError(
            "the tip left the surface after the crest: the end of the falling flank reads too "
            f"high, by {said}: it falls too slowly or the plunger sticks; scan slower, free it or "
            "press it harder"
        )
    worst = max(
        float(np.max(np.abs(off.mean_mm), where=off.far, initial=0.0)) for off in ways.values()
    )
    rough = float(np.median([np.nanstd(fit.left_mm) for fit in fits]))
    if rough > OFF_MM and float(np.median([fit.over_noise for fit in fits])) > ROUGH:
        worst = max(worst, 2.0 * rough)
    if worst:
        raise ProbeError(
            f"the trace is no circle: it lies up to {1e3 * worst:.0f} µm off the best one: is it "
            f"{over.words}, lying across and clean, and does the plunger move freely, without play?"
        )
