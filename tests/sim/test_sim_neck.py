"""The neck, what is done to it, and what its truth says."""

import dataclasses

import numpy as np
import pytest

from sim.bench import Bench, Cut
from sim.faults import Faults
from sim.neck import Neck
from sim.rigspec import RigSpec
from sim.scenario import draw_scenario
from sim.shape import NeckShape
from sim.trace import Line


@pytest.fixture
def bench():
    made = Bench(4, Faults.none(), RigSpec())
    made.place("neck")
    made.set_state("unstrung")
    return made


def lane(bench, string):
    """Under a string, from end to end of the rig's travel over the neck."""
    truth = bench.truth()
    x = np.array([0.0, 470.0])
    y = bench.scenario.instrument.string_y_mm(x)[:, string - 1]
    return Line(truth["nut_at_mm"], y[0], truth["nut_at_mm"] + 470.0, y[1])


@pytest.mark.parametrize("string", [1, 4, 6])
def test_what_the_ball_reads_on_the_crowns_is_the_truth(bench, string):
    truth = bench.truth()
    tops = np.array(truth["tops_mm"]["unstrung"])[:, string - 1]
    x_mm = np.array(truth["x_mm"])
    line = lane(bench, string)
    at = x_mm[:, np.newaxis] + np.linspace(-0.3, 0.3, 61) + line.x0_mm
    read = bench.trace(line).read_mm(at, np.zeros_like(at)).max(axis=1)
    apart = read - tops
    straight = np.polyval(np.polyfit(x_mm, apart, 1), x_mm)
    assert np.abs(apart - straight).max() < 0.0005


def test_tension_bends_more_under_the_bass_and_never_like_one_arc():
    for seed in range(5):
        truth = Bench(seed, Faults.none(), RigSpec()).truth()
        moved = np.array(truth["movement_mm"])
        dips = -moved[:16].min(axis=0)
        assert (dips > 0.12).all()
        assert (np.diff(dips) > 0.0).all()
    x = np.linspace(0.0, 386.0, 200)
    scenario = draw_scenario(1)
    load = NeckShape(scenario, "strung", 0.0).centre_mm(x)
    load = load - NeckShape(scenario, "unstrung", 0.0).centre_mm(x)
    left = load - np.polyval(np.polyfit(x, load, 2), x)
    assert 0.0005 < np.abs(left).max() < 0.03


def test_relief_is_found_under_the_chord_from_fret_1_to_the_joint(bench):
    truth = bench.truth()
    tops, x = np.array(truth["tops_mm"]["strung"]), np.array(truth["x_mm"])
    deepest = max(
        tops[0, 2] + (tops[15, 2] - tops[0, 2]) * (x[n] - x[0]) / (x[15] - x[0]) - tops[n, 2]
        for n in range(16)
    )
    assert truth["relief_mm"]["strung"][2] == pytest.approx(deepest)
    assert truth["relief_mm"]["strung"][2] > truth["relief_mm"]["unstrung"][2] + 0.1


def test_a_cut_lowers_the_crown_by_what_was_removed_and_shrinks_the_flat(bench):
    before = bench.truth()
    bench.cut([Cut(3, 2, 30.0), Cut(9, 5, 12.0)], gain=0.88, hand_um=1.0)
    after = bench.truth()
    removed = np.array(after["removed_um"])
    assert removed[2, 1] == pytest.approx(0.88 * 30.0, abs=5.0)
    assert np.count_nonzero(removed) == 2
    for state in ("strung", "unstrung"):
        lower = np.array(before["tops_mm"][state]) - np.array(after["tops_mm"][state])
        np.testing.assert_allclose(1e3 * lower[removed == 0], 0.0, atol=1e-9)
        # a flat on a sloping board has its highest point at an edge, which goes with the flat
        edge = (1e3 * lower - removed)[removed > 0]
        assert (edge >= -1e-9).all()
        assert (edge < 0.5).all()
    assert after["flat_mm"][2][1] < before["flat_mm"][2][1]
    assert np.array(after["flat_mm"])[12].tolist() == np.array(before["flat_mm"])[12].tolist()


def test_between_strings_the_removal_is_in_between(bench):
    y = bench.truth()["string_y_mm"][8]
    here = Line(200.0, 0.5 * (y[2] + y[3]), 400.0, 0.5 * (y[2] + y[3]))
    x = np.array([bench.truth()["nut_at_mm"] + bench.truth()["x_mm"][8]])
    before = bench.trace(here).read_mm(x, x)
    bench.cut([Cut(9, 3, 40.0), Cut(9, 4, 20.0)], gain=1.0, hand_um=0.0)
    assert 1e3 * (before - bench.trace(here).read_mm(x, x))[0] == pytest.approx(30.0, abs=0.7)


def test_strings_stand_where_their_owner_measured_them():
    truth = Bench(9, Faults.none(), RigSpec()).truth()
    np.testing.assert_allclose(truth["action_mm"], np.linspace(1.4, 1.9, 6), atol=0.0101)
    np.testing.assert_allclose(truth["nut_gap_mm"], np.linspace(0.4, 0.5, 6), atol=0.0101)


def test_a_tightened_rod_takes_relief_out_of_both_states(bench):
    before = bench.truth()
    bench.turn_rod(0.25)
    after = bench.truth()
    for state in ("strung", "unstrung"):
        change = np.array(after["relief_mm"][state]) - np.array(before["relief_mm"][state])
        assert (change < -0.03).all()


def test_raised_saddles_raise_the_action_by_their_share():
    bench = Bench(9, Faults.none(), RigSpec())
    before = np.array(bench.truth()["action_mm"])
    bench.set_ends(np.zeros(6), np.array([0.2, 0, 0, 0, 0, 0]))
    change = np.array(bench.truth()["action_mm"]) - before
    np.testing.assert_allclose(change, [0.1, 0, 0, 0, 0, 0], atol=1e-4)


def test_a_string_in_the_way_is_read_instead_of_the_frets(bench):
    line = lane(bench, 3)
    x = line.x0_mm + np.linspace(20.0, 400.0, 50)
    bare = bench.trace(line).read_mm(x, x)
    bench.set_state("strung")
    strung = bench.trace(line).read_mm(x, x)
    assert (strung > bare + 0.4).all()
    gap = dataclasses.replace(line, y0_mm=line.y0_mm + 3.55, y1_mm=line.y1_mm + 4.7)
    assert (bench.trace(gap).read_mm(x, x) < strung - 0.3).all()


def test_the_same_seed_makes_the_same_neck():
    again = [Bench(11, Faults(), RigSpec()).truth() for _ in range(2)]
    assert again[0] == again[1]
    assert again[0]["tops_mm"] != Bench(12, Faults(), RigSpec()).truth()["tops_mm"]


def test_a_crown_leans_with_the_board_and_its_top_lies_at_the_edge_of_its_flat():
    scenario = draw_scenario(4)
    neck = Neck(scenario, "unstrung", 0.0, np.zeros((22, 6)))
    crowns, fret, y = neck.crowns, np.array([2]), neck.string_y_mm[2, 1:2]
    half = 0.5 * crowns.flat_width_mm(fret, y)[0]
    assert half > 0.05
    along = np.linspace(-1.0, 1.0, 20001)
    below = crowns.below_top_mm(np.full_like(along, 2, dtype=int), along, np.full_like(along, y[0]))
    for slope in (0.0, 0.003, -0.004, 0.5):
        highest = np.max(slope * along - below)
        assert crowns.rise_mm(fret, y, np.array([slope]))[0] == pytest.approx(highest, abs=2e-8)
    assert crowns.rise_mm(fret, y, np.array([-0.004]))[0] == pytest.approx(0.004 * half)
