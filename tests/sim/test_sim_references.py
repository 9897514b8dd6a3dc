"""Things of known size under the sensor, and the straightedge laid in each of its ways."""

from dataclasses import replace

import numpy as np
import pytest

from sim.bench import Bench
from sim.faults import Faults
from sim.placing import How
from sim.rigspec import RigSpec
from sim.trace import Line


def bench_with(**faults):
    return Bench(3, replace(Faults.none(), **faults), RigSpec())


def read_um(bench, x_mm, y_mm=0.0):
    line = Line(float(x_mm[0]), y_mm, float(x_mm[-1]), y_mm)
    return 1e3 * bench.trace(line).read_mm(x_mm, np.full_like(x_mm, y_mm))


def bent_um(z_um):
    """Less its best line."""
    at = np.linspace(-1.0, 1.0, len(z_um))
    return z_um - np.polyval(np.polyfit(at, z_um, 1), at)


def laid_um(bench, how):
    bench.place("straightedge", how)
    x_mm = bench.truth()["at_mm"] + np.arange(2.0, 568.5, 1.0)
    return bent_um(read_um(bench, x_mm, how.y_mm))


def test_a_straightedge_has_the_error_it_was_given():
    bench = bench_with(straightedge_um=0.8)
    truth = bench.truth()
    shape_um = np.array(truth["straightedge_shape_um"])
    assert shape_um.std() == pytest.approx(0.8, rel=0.01)
    assert len(truth["straightedge_along_mm"]) == 571
    np.testing.assert_allclose(laid_um(bench, How()), bent_um(shape_um[2:569]), atol=0.01)


def test_turned_over_its_error_changes_sign_and_end_for_end_its_order():
    bench = bench_with(straightedge_um=3.0)
    here = laid_um(bench, How())
    np.testing.assert_allclose(laid_um(bench, How(turned="over")), -here, atol=0.02)
    np.testing.assert_allclose(laid_um(bench, How(turned="ends")), here[::-1], atol=0.02)
    assert np.abs(here - here[::-1]).max() > 0.5


def test_a_straightedge_lies_where_it_is_put():
    bench = bench_with()
    bench.place("straightedge", How(at_mm=28.0, y_mm=-25.0))
    assert bench.truth()["at_mm"] == pytest.approx(28.0, abs=0.3)
    x_mm = np.arange(40.0, 50.0, 0.1)
    assert (read_um(bench, x_mm, -30.0) > 1000).all()
    assert (read_um(bench, x_mm, 20.0) < -1e4).all()


def test_laid_again_nothing_stands_quite_alike():
    bench = bench_with()
    heights = []
    for _ in range(2):
        bench.place("straightedge")
        heights.append(read_um(bench, np.array([100.0, 500.0])))
    assert np.abs(np.diff(heights, axis=0)).min() > 1.0


def test_a_neck_can_be_moved_along_the_rail_and_is_bowed_by_its_clamps():
    bench = bench_with(clamp_um=40.0)
    bench.place("neck")
    first = bench._stand
    bench.place("neck", How(shift_mm=23.0))
    assert bench.truth()["nut_at_mm"] - first.at_mm == pytest.approx(23.0, abs=0.6)
    assert bench._stand.bow_mm != first.bow_mm
    assert bench_with()._stand.bow_mm == 0.0


def test_a_gauge_block_is_as_high_as_it_is_thick_wherever_the_tip_is():
    bench = bench_with()
    bench.place("gauge", How(mm=1.5))
    for at_mm in (0.0, 10.0, 320.0):
        assert read_um(bench, at_mm + np.array([0.0, 1.0])).tolist() == [1500.0, 1500.0]
    seated = bench_with(gauge_um=0.5)
    seated.place("gauge", How(mm=1.5))
    assert 0.0 < abs(1e3 * seated.truth()["gauge_mm"] - 1500.0) < 2.5


def test_a_pin_is_traced_as_a_circle_of_both_radii():
    bench = bench_with()
    bench.place("pin", How(mm=3.0, at_mm=200.0))
    at_mm = bench.truth()["at_mm"]
    u_mm = np.linspace(-1.2, 1.2, 97)
    circle_um = 1e3 * (3.0 - 2.5 + np.sqrt(2.5**2 - u_mm**2))
    np.testing.assert_allclose(read_um(bench, at_mm + u_mm), circle_um, atol=0.05)
    assert read_um(bench, at_mm + np.array([10.0, 11.0])).tolist() == [0.0, 0.0]


@pytest.mark.parametrize("off_mm", [0.0, -0.2])
def test_a_sharp_edge_is_traced_as_the_tip_itself(off_mm):
    bench = bench_with(tip_radius_off_mm=off_mm)
    bench.place("edge", How(at_mm=250.0))
    radius_mm = bench.truth()["tip_radius_mm"]
    assert radius_mm == 1.0 + off_mm
    u_mm = np.linspace(-0.5, 0.5, 41)
    tip_um = 1e3 * (2.0 - radius_mm + np.sqrt(radius_mm**2 - u_mm**2))
    # Between points of the trace it is a chord.
    np.testing.assert_allclose(read_um(bench, bench.truth()["at_mm"] + u_mm), tip_um, atol=0.05)


def test_the_rail_rolls_with_y_only_where_it_is_told_to():
    bench = bench_with(rail_roll_urad=50.0)
    x_mm = np.arange(0.0, 641.0)
    at_20_um = 1e3 * bench.rail.error_mm(x_mm, 20.0)
    np.testing.assert_allclose(at_20_um, 0.02 * np.array(bench.truth()["roll_urad"]), atol=1e-9)
    assert 0.3 < np.abs(at_20_um).max() <= 1.0
    assert not bench.rail.error_mm(x_mm, 0.0).any()
