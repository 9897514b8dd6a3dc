"""The order of the file's work and its checks."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from analysis.bench.beam import beam_setting
from analysis.bench.order import WORTH_UM, FileStep, file_steps
from analysis.bench.setting import BeamSetting
from analysis.instrument import Instrument
from analysis.neck.shape import Shape
from analysis.rod.rod import default_rod

MakeShape = Callable[..., Shape]
GAIN = 0.8


def hand(wanted: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Means what is wanted and takes less."""
    return wanted, GAIN * wanted


@pytest.fixture
def case(walnut: Instrument, make_shape: MakeShape) -> tuple[Shape, np.ndarray, BeamSetting]:
    rng = np.random.default_rng(3)
    shape = make_shape(walnut, 1.1 + rng.normal(0.0, 0.02, (22, 6)))
    cuts = np.where(rng.uniform(size=(22, 6)) < 0.5, rng.uniform(0.0, 0.05, (22, 6)), 0.0)
    rod = default_rod(walnut, shape.x_mm)
    return shape, cuts, beam_setting(shape, cuts, walnut, rod)


def steps_of(case: tuple[Shape, np.ndarray, BeamSetting]) -> tuple[FileStep, ...]:
    shape, cuts, beam = case
    after, u = shape.height_mm - cuts, shape.u_height_mm
    return file_steps(beam, cuts, after, u, shape.x_mm, shape.u_top_mm, hand)


def test_from_the_nut_on_and_no_fret_twice(
    case: tuple[Shape, np.ndarray, BeamSetting],
) -> None:
    frets = [step.fret for step in steps_of(case)]
    assert frets == sorted(set(frets))


def test_beam_and_file_do_the_whole_plan_but_for_what_is_not_worth_it(
    case: tuple[Shape, np.ndarray, BeamSetting],
) -> None:
    _, cuts, beam = case
    done = beam.taken_um.copy()
    for step in steps_of(case):
        done[step.fret - 1] += step.take_um
    left = 1e3 * cuts - done
    assert left.min() > -1e-9
    assert left.max() < WORTH_UM


def straight(x: np.ndarray, z: np.ndarray, at: float) -> float:
    return float(z[0] + (z[1] - z[0]) * (at - x[0]) / (x[1] - x[0]))


def test_each_check_is_what_a_straightedge_shows_at_that_moment(
    case: tuple[Shape, np.ndarray, BeamSetting],
) -> None:
    """The neck worked through fret by fret, and a line laid on the two frets named."""
    shape, _, beam = case
    z = 1e3 * beam.tops_mm - beam.taken_um
    for step in steps_of(case):
        f, (a, b) = step.fret - 1, (foot - 1 for foot in step.feet)
        z[f] -= GAIN * step.take_um
        x = shape.x_mm
        for s in range(6):
            # over the outer two where that leaves the one between below, else over the far two
            between = straight(x[[f, b], s], z[[f, b], s], x[a, s])
            slope = (z[b, s] - z[a, s]) / (x[b, s] - x[a, s])
            beyond = z[a, s] + slope * (x[f, s] - x[a, s])
            shown = between - z[a, s] if between > z[a, s] else z[f, s] - beyond
            assert step.gap_um[s] == pytest.approx(shown, abs=1e-9)


def test_no_check_but_the_last_two_stands_on_a_filed_fret(
    case: tuple[Shape, np.ndarray, BeamSetting],
) -> None:
    done: set[int] = set()
    for step in steps_of(case):
        done.add(step.fret)
        if step.fret <= 20:
            assert not done & set(step.feet)


def test_what_remains_is_in_the_height(case: tuple[Shape, np.ndarray, BeamSetting]) -> None:
    shape, cuts, _ = case
    for step in steps_of(case):
        np.testing.assert_allclose(step.remains_um, (1 - GAIN) * step.take_um)
        planned = (shape.height_mm - cuts)[step.fret - 1]
        np.testing.assert_allclose(step.height_after_mm, planned + 1e-3 * step.remains_um)
