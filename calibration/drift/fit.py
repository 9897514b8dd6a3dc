"""The drift of a session, averaged over every likely supposition of what it is like."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from calibration.drift.lattice import Place, likely_part
from calibration.drift.model import Model, Settings, Solved
from calibration.passes import FloatArray

#: Settings tried, from nothing to see to wild, close enough together for a long session to tell
#: one from the next.
WALK = (0.0, *np.geomspace(2e-5, 1e-3, 14).tolist())
BENDING = tuple(np.geomspace(2e-7, 6e-4, 27).tolist())
WANDER_MM = tuple(np.geomspace(5e-4, 0.128, 17).tolist())
SPAN_S = tuple(np.geomspace(15.0, 240.0, 13).tolist())
#: With fewer visits than the first number the readings cannot tell neighbours, and only every so
#: manyeth setting is tried.
COARSE = ((14, 4), (36, 2))
SCATTER_MM = (0.0, 1.5e-4, 4e-4, 1e-3, 3e-3)
#: What homemade rigs are like: the middle, and how many times more or less is as good as usual
#: (common practice, no source). It has a say where a session is too short to speak for itself.
USUAL_WALK = (1e-4, 4.0)
USUAL_BENDING = (3e-5, 4.0)
USUAL_WANDER_MM = (6e-3, 3.0)
#: Variances are averaged over the likeliest settings that hold this much of the chance together.
SHARE = 0.9
MOST_VARIANCES = 14


@dataclass(frozen=True, slots=True)
class Likely:
    """Likely suppositions and the weight of each.

    log_evidence: how likely the readings are under all of them together.
    """

    model: Model
    solved: tuple[Solved, ...]
    weight: FloatArray
    log_evidence: float

    @property
    def best(self) -> Solved:
        """The likeliest."""
        return self.solved[int(np.argmax(self.weight))]

    def drift(self, t_s: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Drift less its mean over the visits, and its standard uncertainty, mm; float[n].

        The uncertainty holds how far the suppositions disagree.
        """
        found = [(w, *self.model.drift(one, t_s)) for w, one in self._chief()]
        weight = np.array([w for w, _, _ in found]) / sum(w for w, _, _ in found)
        means, variances = (np.stack([one[k] for one in found]) for k in (1, 2))
        mean = weight @ means
        return mean, np.sqrt(weight @ (variances + (means - mean) ** 2))

    def amounts(self) -> tuple[FloatArray, FloatArray]:
        """Amount of each known effect and its standard uncertainty; float[effects]."""
        found = [(w, *self.model.amounts(one)) for w, one in self._chief()]
        weight = np.array([w for w, _, _ in found]) / sum(w for w, _, _ in found)
        means, variances = (np.stack([one[k] for one in found]) for k in (1, 2))
        mean = weight @ means
        return mean, np.sqrt(weight @ (variances + (means - mean) ** 2))

    def _chief(self) -> Iterator[tuple[float, Solved]]:
        order = np.argsort(-self.weight)
        enough = int(np.searchsorted(np.cumsum(self.weight[order]), SHARE)) + 1
        for k in order[: min(enough, MOST_VARIANCES)].tolist():
            yield float(self.weight[k]), self.solved[k]


def likely(model: Model) -> Likely:
    """The likely part of both families of wander; each family is as likely as the other."""
    solved: list[Solved] = []
    chance: list[float] = []
    for lattice in _families(_every(model.series.visits)):
        known: dict[Place, Solved] = {}

        def log_chance(
            place: Place, lattice: _Lattice = lattice, known: dict[Place, Solved] = known
        ) -> float:
            known[place] = model.solve(lattice.at(place))
            return known[place].log_chance + _usual(known[place].settings)

        part = likely_part(log_chance, lattice.shape, lattice.middle)
        solved += [known[place] for place in part]
        chance += [value - np.log(np.prod(lattice.shape)) for value in part.values()]
    logs = np.array(chance)
    weight = np.exp(logs - logs.max())
    evidence = float(logs.max() + np.log(weight.sum()))
    return Likely(model, tuple(solved), weight / weight.sum(), evidence)


def _every(visits: int) -> int:
    return next((step for fewer, step in COARSE if visits < fewer), 1)


@dataclass(frozen=True, slots=True)
class _Lattice:
    """One family: values along the axes walk, scatter, wander and span."""

    axes: tuple[Sequence[float | None], ...]

    @property
    def shape(self) -> Place:
        return tuple(len(axis) for axis in self.axes)

    @property
    def middle(self) -> Place:
        return tuple(len(axis) // 2 for axis in self.axes)

    def at(self, place: Place) -> Settings:
        walk, scatter, wander, span_s = (axis[k] for axis, k in zip(self.axes, place, strict=True))
        return Settings(walk or 0.0, wander or 0.0, span_s, scatter or 0.0)


def _families(step: int) -> tuple[_Lattice, _Lattice]:
    """Bending and wandering, every so manyeth value of each axis."""
    walk, scatter = WALK[::step], SCATTER_MM
    return (
        _Lattice((walk, scatter, BENDING[::step], (None,))),
        _Lattice((walk, scatter, WANDER_MM[::step], SPAN_S[::step])),
    )


def _usual(settings: Settings) -> float:
    """Log chance of the settings before anything was read."""
    wander = USUAL_BENDING if settings.span_s is None else USUAL_WANDER_MM
    return _near(max(settings.walk, WALK[1] / 2.0), USUAL_WALK) + _near(settings.wander, wander)


def _near(value: float, usual: tuple[float, float]) -> float:
    middle, times = usual
    return -0.5 * float(np.log(value / middle) / np.log(times)) ** 2
