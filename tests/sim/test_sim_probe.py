"""The ball over a surface: against published values and against brute force."""

import numpy as np
import pytest

from sim.bench import Bench
from sim.faults import Faults
from sim.neck import Neck
from sim.probe import dilate_along, lift_across
from sim.rigspec import RigSpec
from sim.scenario import draw_scenario
from sim.trace import Line


def test_a_crown_is_traced_as_a_wider_crown_with_the_same_apex():
    x = np.arange(-1.4, 1.4005, 0.001)
    crown = np.sqrt(1.5**2 - x**2) - 1.5
    ridden = dilate_along(crown, 0.001, 0.5)
    # A grid of h loses up to h^2 / 8 (1/R + 1/r) / cos^3 of the flank: 3.9e-7 at 0.6.
    inner = np.abs(x) < 0.6
    assert ridden.max() == pytest.approx(0.0, abs=1e-12)
    wider = np.sqrt(2.0**2 - x[inner] ** 2) - 2.0
    assert np.abs(ridden[inner] - wider).max() < 4e-7


def test_a_ball_stays_above_the_bottom_of_a_v_groove():
    x = np.arange(-2.0, 2.0005, 0.001)
    groove = np.abs(x) * np.tan(np.radians(30.0))
    ridden = dilate_along(groove, 0.001, 0.5)
    assert ridden[len(x) // 2] == pytest.approx(0.077350269, abs=1e-6)


@pytest.mark.parametrize("slope", [0.0, 0.02, 0.08])
def test_a_plane_leaning_across_lifts_the_ball(slope):
    exact = np.sqrt(1.0 + slope**2) - 1.0
    assert lift_across(np.array([slope]), np.zeros(1), 1.0)[0] == pytest.approx(exact, abs=1e-5)


def test_the_trace_over_a_dented_crown_agrees_with_a_ball_in_three_dimensions():
    scenario = draw_scenario(2)
    neck = Neck(scenario, "unstrung", 0.0, np.zeros((22, 6)))
    fret, string = np.unravel_index(np.argmax(scenario.frets.dent_mm), (22, 6))
    x0 = scenario.frets.x_mm[fret]
    bench = Bench(2, Faults.none(), RigSpec())
    bench.place("neck")
    bench.set_state("unstrung")
    stand = bench._stand
    off = np.arange(-1.0, 1.0001, 0.01)
    dx, dy = (each.ravel() for each in np.meshgrid(off, off))
    inside = np.hypot(dx, dy) < 1.0
    dx, dy = dx[inside], dy[inside]
    ball = np.sqrt(1.0 - dx**2 - dy**2) - 1.0
    y_string = neck.string_y_mm[fret, string]
    for y in (y_string, y_string + 1.0):
        lane = Line(stand.at_mm + x0 - 20, y, stand.at_mm + x0 + 20, y)
        for x in (x0, x0 + 0.25, x0 - 0.5):
            brute = (neck.surface_mm(x + dx, y + dy) + ball).max()
            lift = stand.lift_mm(np.array([x + 0.0]), np.array([y]))[0]
            read = bench.trace(lane).read_mm(np.array([x + stand.at_mm]), np.array([y]))[0]
            # The stand leans by under a milliradian, so the ball sees the same surface.
            assert read - lift == pytest.approx(brute, abs=1.5e-4)


def test_a_line_across_reads_what_lanes_along_read():
    bench = Bench(3, Faults.none(), RigSpec())
    bench.place("neck")
    bench.set_state("unstrung")
    across = bench.trace(Line(300.0, -10.0, 300.0, 12.0))
    for y in (-9.0, 0.0, 11.0):
        along = bench.trace(Line(280.0, y, 320.0, y))
        x, at = np.array([300.0]), np.array([y])
        assert across.read_mm(x, at)[0] == pytest.approx(along.read_mm(x, at)[0], abs=2e-4)
