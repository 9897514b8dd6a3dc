"""The spot of light: what it averages, and the strings it sees from above."""

from dataclasses import replace

import numpy as np
import pytest

from sim.bench import Bench
from sim.faults import Faults
from sim.files import rig_yaml
from sim.placing import How
from sim.probe import average_along
from sim.rigspec import RigSpec
from sim.trace import Line


@pytest.fixture
def bench():
    made = Bench(4, Faults.none(), RigSpec.optical())
    made.place("neck")
    return made


def along_string_mm(bench, string):
    """Positions past the nut, and what is read there along a string."""
    truth = bench.truth()
    x_mm = np.arange(2.0, 520.0, 0.5)
    y_mm = bench.scenario.instrument.string_y_mm(np.array([0.0, 530.0]))[:, string - 1]
    nut_mm = truth["nut_at_mm"]
    line = Line(nut_mm, float(y_mm[0]), nut_mm + 530.0, float(y_mm[1]))
    return x_mm, bench.trace(line).read_mm(x_mm + nut_mm, np.zeros_like(x_mm))


@pytest.mark.parametrize("spot_mm", [0.03, 0.4])
def test_a_crown_loses_what_a_flat_spot_takes_off(spot_mm):
    x_mm = np.arange(-1.0, 1.0005, 0.01)
    crown = np.sqrt(1.5**2 - x_mm**2) - 1.5
    seen = average_along(crown, 0.01, spot_mm)
    # spot^2 / (24 R), and a grid of h adds h^2 / (12 R).
    lost_mm = spot_mm**2 / (24.0 * 1.5) + 0.01**2 / (12.0 * 1.5)
    assert seen[len(x_mm) // 2] == pytest.approx(-lost_mm, rel=0.02)


def test_an_even_slope_stays_where_it_is():
    z_mm = 0.3 * np.arange(100) * 0.01
    np.testing.assert_allclose(average_along(z_mm, 0.01, 0.037)[5:-5], z_mm[5:-5], atol=1e-12)


@pytest.mark.parametrize("string", [1, 6])
def test_a_string_is_straight_but_for_its_weight(bench, string):
    x_mm, z_mm = along_string_mm(bench, string)
    truth = bench.truth()
    share = x_mm / 641.0
    n_per_mm = 9.81e-3 * truth["string_kg_per_m"][string - 1]
    sag_mm = n_per_mm * 641.0**2 / (8.0 * truth["string_tension_n"][string - 1])
    assert 1e3 * sag_mm == pytest.approx(truth["string_sag_um"][string - 1])
    unloaded = z_mm + 4.0 * sag_mm * share * (1.0 - share)
    off = unloaded - np.polyval(np.polyfit(x_mm, unloaded, 1), x_mm)
    assert np.abs(off).max() < 1e-5


def test_sags_are_those_of_pitch_alone(bench):
    # w l^2 / (8 T) with T = m (2 l f)^2 is g / (32 f^2): E4 and E2 (ISO 16), tuned within 3 cents.
    sag_um = bench.truth()["string_sag_um"]
    assert sag_um[0] == pytest.approx(1e6 * 9.81 / (32.0 * 329.63**2), rel=0.004)
    assert sag_um[5] == pytest.approx(1e6 * 9.81 / (32.0 * 82.41**2), rel=0.004)


def test_a_string_is_as_uneven_as_stated():
    bench = Bench(4, replace(Faults.none(), string_uneven_um=0.5), RigSpec.optical())
    bench.place("neck")
    even = Bench(4, Faults.none(), RigSpec.optical())
    even.place("neck")
    apart = along_string_mm(bench, 2)[1] - along_string_mm(even, 2)[1]
    assert 1e3 * apart.std() == pytest.approx(0.5, rel=0.2)


def test_the_far_pad_is_seen_above_the_strings_and_all_is_in_reach(bench):
    line = Line(0.0, 18.0, 630.0, 25.0)
    for string in range(1, 7):
        x_mm, z_mm = along_string_mm(bench, string)
        assert z_mm.max() < 7.4
    x_mm = np.array([602.0, 607.0, 612.0])
    assert bench.trace(line).read_mm(x_mm, x_mm) == pytest.approx([7.6, 7.6, 7.6])


def test_off_a_string_light_falls_on_the_board(bench):
    x_mm, on_mm = along_string_mm(bench, 3)
    nut_mm, y_mm = bench.truth()["nut_at_mm"], bench.scenario.instrument.string_y_mm(x_mm)[0, 2]
    beside = Line(nut_mm, y_mm + 0.6, nut_mm + 530.0, y_mm + 0.6 + 1.36)
    assert (bench.trace(beside).read_mm(x_mm[:40] + nut_mm, x_mm[:40]) < on_mm[:40] - 0.3).all()


def test_half_over_an_edge_it_reads_nothing(bench):
    bench.place("nothing")
    line = Line(0.0, 0.0, 30.0, 0.0)
    x_mm = np.array([3.9, 4.0, 4.1])
    assert bench.trace(line).read_mm(x_mm, x_mm).tolist() == [-60.0, -60.0, 2.0]


def test_a_sharp_edge_is_seen_for_what_it_is(bench):
    bench.place("edge", How(at_mm=250.0))
    at_mm = bench.truth()["at_mm"]
    x_mm = at_mm + np.array([-0.2, 0.2])
    flank_mm = 2.0 - 0.2 * np.tan(np.radians(75.0))
    read_mm = bench.trace(Line(240.0, 0.0, 260.0, 0.0)).read_mm(x_mm, x_mm)
    np.testing.assert_allclose(read_mm, flank_mm, atol=1e-6)


def test_the_rig_file_says_what_it_is():
    text = rig_yaml({"rig": "/dev/x"}, {"rig": "line"}, False, RigSpec.optical())
    assert "kind: optical" in text
    assert "spot_mm: 0.03" in text
    assert "tip_radius_mm" not in text
