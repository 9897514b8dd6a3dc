"""The lead screw's own error, play that varies, and a hand instead of a motor."""

from dataclasses import replace

import numpy as np
import pytest

from sim.faults import Faults
from sim.motion import Move, Play
from sim.part import HAND_RIG


def test_a_screw_is_uneven_over_its_turns(make_host):
    faults = replace(Faults.none(), screw_periodic_um=6.0, screw_pitch_mm=4.0)
    rail = make_host(faults=faults).bench.rail
    x_mm = np.arange(0.0, 640.0, 0.1)
    off_um = 1e3 * (rail.true_mm(x_mm) - x_mm)
    assert np.abs(off_um).max() == pytest.approx(6.0, abs=0.01)
    np.testing.assert_allclose(off_um[:40], off_um[40:80], atol=1e-6)


def test_play_grows_along_the_rail(make_host):
    faults = replace(Faults.none(), backlash_mm=0.04, backlash_slope_um_per_m=30.0)
    host = make_host(faults=faults)
    carriage = host.device._carriage
    for counts in (20_000, 120_000):
        behind = []
        for start in (-4000, 4000):
            host.run(f"M,{counts + start},,")
            host.run(f"M,{counts},,")
            true_mm, _ = carriage.true_mm(np.array([host.device.now_s]))
            behind.append(true_mm[0] - 0.005 * counts)
        play_um = 1e3 * (behind[1] - behind[0])
        assert play_um == pytest.approx(40.0 + 30.0 * 5e-6 * counts, abs=0.01)


def test_a_hand_pushes_unevenly_and_never_back():
    move = Move(5.0, (0.0, 0.0), (600.0, 0.0), 60.0, 300.0, 0.0, Play(0.0), uneven=0.6)
    t_s = np.linspace(5.0, move.end_s, 2001)
    x_mm, _ = move.counted_mm(t_s)
    assert (x_mm[0], x_mm[-1]) == (0.0, pytest.approx(600.0))
    speed = np.diff(x_mm)[100:-100]
    assert speed.min() > 0.0
    assert speed.max() > 2.0 * speed.min()


def test_a_hand_driven_rig_counts_but_does_not_move_itself(make_host, take_bodies):
    host = make_host(part=HAND_RIG)
    for order in ("M,5,,", "O"):
        assert host.say(order) == [["N", order[0], "no motor: the carriage is pushed by hand"]]
    host.say("G,400")
    host.device.push(600.0, 10.0, 7.0)
    start_s, data = host.device.now_s, b""
    while host.device.moving:
        data += host.device.produce(16_384)
    fields, _ = take_bodies(data)
    samples = [each for each in fields if each[0] == "S"]
    assert samples[-1][3:5] == ["120000", ""]
    assert host.device.now_s - start_s == pytest.approx(10.0, rel=0.1)
    assert not [each for each in fields if each[0] == "E" and each[2] == "arrived"]
    assert host.device._carriage.target_mm == (600.0, 7.0)
