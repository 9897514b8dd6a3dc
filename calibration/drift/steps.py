"""Somebody bumped the sensor: a step in the readings, found, named and taken out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from calibration.drift.model import Model, Settings, Solved, divided
from calibration.drift.series import Effect, Series
from calibration.passes import FloatArray, RawPass

#: How far a bump may move a sensor.
BUMP_MM = 0.05
#: A step is believed once it is so many times likelier than none (natural logarithm), shared
#: out over all the places where it might be.
BELIEVED = 9.0
MOST_STEPS = 3
MOST_MOVED = 3
#: What drift between steps may be like, from calm to wild.
_CALM = tuple(
    Settings(walk, bending, None, scatter)
    for walk in (0.0, 5e-5, 2e-4)
    for bending in (1e-6, 1e-5, 6e-5, 2e-4)
    for scatter in (1e-4, 6e-4)
)


@dataclass(frozen=True, slots=True)
class Step:
    """The sensor reads higher from at_s on, by an amount not known: an Effect."""

    at_s: float

    @property
    def size_mm(self) -> float:
        return BUMP_MM

    def at(self, t_s: FloatArray) -> FloatArray:
        """1 after the step, 0 before it."""
        return np.where(t_s > self.at_s, 1.0, 0.0)


@dataclass(frozen=True, slots=True)
class SensorStep:
    """A step that was found.

    before, after: numbers of the passes between which it happened, from 1; the same number
    where it happened within a pass.
    """

    before: int
    after: int
    size_mm: float
    u_size_mm: float

    @property
    def within(self) -> bool:
        return self.before == self.after

    def __str__(self) -> str:
        where = (
            f"during pass {self.before}"
            if self.within
            else f"between pass {self.before} and {self.after}"
        )
        return f"the sensor stepped by {1e3 * self.size_mm:+.0f} µm {where}"


def find_steps(series: Series, effects: Sequence[Effect]) -> list[Step]:
    """Steps without which the readings cannot be understood, in the order they were found.

    The pads alone must show a step as well: what only the neck shows is the neck's.
    """
    steps: list[Step] = []
    instants = np.unique(series.t_s)
    places = 0.5 * (instants[1:] + instants[:-1])
    enough = BELIEVED + np.log(max(places.size, 1))
    while len(steps) < MOST_STEPS:
        known = [*effects, *steps]
        models = Model(series, known), Model(series.without_turns(), known)
        if not all(model.solvable for model in models):
            break
        whole, pads = (_gain(model, _stepped(model.series, places)) for model in models)
        best = int(np.argmax(np.where(pads > enough, whole, -np.inf)))
        if not min(pads[best], whole[best]) > enough:
            break
        steps.append(Step(float(places[best])))
    return steps


def _stepped(series: Series, places_s: FloatArray) -> FloatArray:
    """What the readings see of a step at each place, float[readings, places]."""
    return series.rows((series.t_s[:, None] > places_s).astype(float))


def moved_turns(series: Series, effects: Sequence[Effect]) -> list[int]:
    """Turns at which the neck, not the sensor, moved: all of the lane reads higher or lower.

    Drift cannot do that, for it is nothing at the turn itself.
    """
    moved: list[int] = []
    while len(moved) < MOST_MOVED:
        model = Model(series, effects)
        turns = np.unique(series.turn)
        if not turns.size or not model.solvable:
            break
        own = (series.turn[:, None] == turns).astype(float)
        gain = _gain(model, np.vstack([np.zeros((series.visits, turns.size)), own]))
        if gain.max() < BELIEVED + np.log(turns.size):
            break
        moved.append(int(turns[np.argmax(gain)]))
        series = series.without_turn(moved[-1])
    return moved


def _gain(model: Model, columns: FloatArray) -> FloatArray:
    """How much likelier the readings are with each column besides, float[columns]."""
    solved = [model.solve(settings) for settings in _CALM]
    without = np.array([one.log_chance for one in solved])[:, None]
    with_column = without + np.array([_gains(one, columns) for one in solved])
    return _log_sum(with_column) - _log_sum(without)


def _gains(solved: Solved, columns: FloatArray) -> FloatArray:
    """How much likelier the readings are with each column besides, its amount integrated out."""
    white = divided(solved.root, columns)
    inside = solved.free.T @ white
    own = np.sum(white**2, axis=0) - np.sum(
        inside * np.linalg.solve(solved.information, inside), axis=0
    )
    grown = 1.0 + BUMP_MM**2 * np.clip(own, 0.0, None)
    return np.asarray(0.5 * (white.T @ solved.off) ** 2 * BUMP_MM**2 / grown - 0.5 * np.log(grown))


def _log_sum(values: FloatArray) -> FloatArray:
    top = values.max(axis=0)
    return np.asarray(top + np.log(np.sum(np.exp(values - top), axis=0)))


def named(step: Step, size_mm: float, u_mm: float, passes: Sequence[RawPass]) -> SensorStep:
    """The step by the numbers of the passes around it."""
    begun = [k for k, one in enumerate(passes, start=1) if one.t_s[0] <= step.at_s]
    ended = [k for k, one in enumerate(passes, start=1) if one.t_s[-1] <= step.at_s]
    before = begun[-1] if begun else 1
    after = before + 1 if before in ended and before < len(passes) else before
    return SensorStep(before, after, size_mm, u_mm)
