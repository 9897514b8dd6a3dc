"""How the sensor drifted over a session: from every visit to a pad, and from every turn."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from calibration.drift.fit import Likely, likely
from calibration.drift.model import Model
from calibration.drift.pads import PadVisits, visit_pads
from calibration.drift.series import Effect, Series, series_of
from calibration.drift.steps import SensorStep, Step, find_steps, moved_turns, named
from calibration.drift.temperature import Warmth, warmth_of
from calibration.drift.turns import see_turns
from calibration.passes import FloatArray, Pad, RawPass

#: Drift is worked out at so many instants of each pass, and is straight between them.
INSTANTS = 17
#: Warmth is believed to matter once that is so many times likelier than not (natural logarithm).
BELIEVED = 3.0


@dataclass(frozen=True, slots=True)
class PerDegree:
    """What a degree adds to a reading, mm, and its standard uncertainty."""

    k_mm: float
    u_k_mm: float


@dataclass(frozen=True, slots=True)
class Drift:
    """How far each pass had drifted from the session's mean over its visits to the pads.

    t_s, drift_mm, u_mm: float[passes, instants]. steps: where the sensor was bumped.
    per_degree: the part that followed the temperature, None where none was seen to. moved_after:
    passes (from 1) between which and the next one the neck, not the sensor, moved.
    """

    t_s: FloatArray
    drift_mm: FloatArray
    u_mm: FloatArray
    steps: tuple[SensorStep, ...] = ()
    per_degree: PerDegree | None = None
    moved_after: tuple[int, ...] = ()

    def at(self, number: int, t_s: FloatArray) -> FloatArray:
        """Drift of pass `number` at device times `t_s`, mm."""
        return np.asarray(np.interp(t_s, self.t_s[number], self.drift_mm[number]))

    def u_at(self, number: int, t_s: FloatArray) -> FloatArray:
        """Standard uncertainty of `at`, mm."""
        return np.asarray(np.interp(t_s, self.t_s[number], self.u_mm[number]))

    def u_of(self, number: int) -> float:
        """Standard uncertainty of a pass's drift, root mean square over the pass, mm."""
        return float(np.sqrt(np.mean(self.u_mm[number] ** 2)))

    @property
    def remarks(self) -> tuple[str, ...]:
        """What somebody should know of this session, a phrase each."""
        moved = (f"the neck moved between pass {k} and {k + 1}" for k in self.moved_after)
        return (*map(str, self.steps), *moved)


def find_drift(passes: Sequence[RawPass], pads: Sequence[Pad], quantum_mm: float) -> Drift:
    """The drift of a session's passes, in the order they were made.

    quantum_mm: the sensor's smallest step. Without a pad seen, or with too little seen to tell
    drift from the heights of the pads, drift is zero, and so is its uncertainty: nothing is
    known of it.
    """
    t_s = np.stack([np.linspace(one.t_s[0], one.t_s[-1], INSTANTS) for one in passes])
    visits = visit_pads(passes, pads)
    series = series_of(visits, see_turns(passes, pads), quantum_mm)
    if series.visits == 0 or not Model(series).solvable:
        u = np.full(t_s.shape, _plain_u(visits))
        return Drift(t_s, np.zeros_like(t_s), u)
    return _found(t_s, passes, series)


def _plain_u(visits: PadVisits) -> float:
    """Uncertainty of the mean over the pads, where no drift can be told."""
    u = visits.u_mm[np.isfinite(visits.u_mm)]
    return float(np.sqrt(np.sum(u**2)) / u.size) if u.size else 0.0


def _found(t_s: FloatArray, passes: Sequence[RawPass], series: Series) -> Drift:
    warmth = warmth_of(passes)
    known: tuple[Effect, ...] = () if warmth is None else (warmth,)
    steps = find_steps(series, known)
    moved = moved_turns(series, (*known, *steps))
    for turn in moved:
        series = series.without_turn(turn)
    fitted = likely(Model(series, (*known, *steps)))
    if warmth is not None:
        plain = likely(Model(series, steps))
        if fitted.log_evidence < plain.log_evidence + BELIEVED:
            fitted = plain
    mean, u = (a.reshape(t_s.shape) for a in fitted.drift(t_s.ravel()))
    found = _named(fitted, passes)
    for step in found:
        if step.within:  # where within the pass it happened is not known to a crown's width
            u[step.before - 1] = np.hypot(u[step.before - 1], 0.5 * step.size_mm)
    moved_after = tuple(sorted(turn + 1 for turn in moved))
    return Drift(t_s, mean, u, found, _per_degree(fitted), moved_after)


def _named(fitted: Likely, passes: Sequence[RawPass]) -> tuple[SensorStep, ...]:
    amounts, u = fitted.amounts() if fitted.model.effects else (np.empty(0), np.empty(0))
    steps = (
        named(effect, float(size), float(u_size), passes)
        for effect, size, u_size in zip(fitted.model.effects, amounts, u, strict=True)
        if isinstance(effect, Step)
    )
    return tuple(sorted(steps, key=lambda step: (step.before, step.after)))


def _per_degree(fitted: Likely) -> PerDegree | None:
    for k, effect in enumerate(fitted.model.effects):
        if isinstance(effect, Warmth):
            amounts, u = fitted.amounts()
            return PerDegree(float(amounts[k]), float(u[k]))
    return None
