"""Each fault of the rig as it shows in what the rig sends."""

import dataclasses

import numpy as np
import pytest

from sim.faults import Faults
from sim.rail import draw_rail
from sim.rigspec import RigSpec


def edge_mm(rows):
    """Where the last pad's near edge crosses 1.9 mm, in counted mm."""
    x_mm, z_mm = 0.005 * rows[:, 2], 0.001 * rows[:, 4]
    near = (x_mm > 598.5) & (x_mm < 605) & np.isfinite(z_mm)
    order = np.argsort(z_mm[near], kind="stable")
    rising = z_mm[near][order] < 2.14
    return np.interp(1.9, z_mm[near][order][rising], x_mm[near][order][rising])


@pytest.mark.parametrize("speed_mm_s", [25.0, 10.0])
def test_lag_and_backlash_set_the_two_ways_apart(make_host, take_columns, speed_mm_s):
    host = make_host(faults=dataclasses.replace(Faults.none(), lag_ms=3.5, backlash_mm=0.045))
    counts_s = round(speed_mm_s / 0.005)
    host.run("M,110000,,")
    host.say("G,2000")
    there = take_columns(host.run(f"M,124000,,{counts_s}"))
    back = take_columns(host.run(f"M,110000,,{counts_s}"))
    apart_mm = edge_mm(there) - edge_mm(back)
    assert apart_mm == pytest.approx(2 * speed_mm_s * 0.0035 + 0.045, abs=0.004)


def test_backlash_is_taken_up_only_after_its_own_length(make_host):
    host = make_host(faults=dataclasses.replace(Faults.none(), backlash_mm=0.045))
    host.run("M,2000,,")
    carriage = host.device._carriage
    start_s = host.device.now_s
    host.say("M,0,,200")
    t_s = start_s + np.linspace(0.0, 0.1, 1001)
    x_mm, _ = carriage.counts(t_s)
    true_mm, _ = carriage.true_mm(t_s)
    behind = true_mm - 0.005 * x_mm
    assert behind[0] == pytest.approx(-0.0225)
    assert behind[-1] == pytest.approx(0.0225, abs=0.003)
    assert np.ptp(true_mm[0.005 * x_mm > 10.0 - 0.04]) == 0.0


def test_a_long_screw_brings_things_nearer_in_counts(make_host, take_columns):
    edges = []
    for percent in (0.0, 0.04):
        host = make_host(faults=dataclasses.replace(Faults.none(), screw_percent=percent))
        host.run("M,110000,,")
        host.say("G,2000")
        edges.append(edge_mm(take_columns(host.run("M,124000,,2000"))))
    assert edges[0] - edges[1] == pytest.approx(600 * 0.0004, abs=0.003)


def test_noise_drift_and_spikes_have_their_stated_size(make_host, take_columns):
    still = {"lag_ms": 0.0, "bad_frame_one_in": 0, "rail_bow_mm": 0.0, "rail_wave_um": 0.0}
    host = make_host(faults=dataclasses.replace(Faults(), **still))
    host.run("M,2000,,")
    host.say("G,100")
    rows = take_columns(host.samples(60_000))
    z_um = rows[:, 4]
    jumps = np.diff(z_um)
    spikes = np.abs(jumps) > 40
    assert np.std(jumps[~spikes]) / np.sqrt(2) == pytest.approx(1.5, abs=0.06)
    assert np.count_nonzero(spikes) / 2 == pytest.approx(60_000 / 2500, abs=5 * 5)
    minutes = len(rows) / 100 / 60
    assert (np.median(z_um[-500:]) - np.median(z_um[:500])) / minutes == pytest.approx(6, abs=0.6)


def test_one_frame_in_five_hundred_is_lost_or_damaged(make_host, take_bodies):
    host = make_host(faults=dataclasses.replace(Faults(), spike_one_in=0))
    host.run("M,2000,,")
    host.say("G,400")
    data = host.samples(60_000)
    fields, damaged = take_bodies(data)
    seq = np.array([int(each[1]) for each in fields if each[0] == "S"])
    missing = int(np.sum((np.diff(seq) % 2**32) - 1))
    # 120 expected, and a sixth as many again where two lines ran together.
    assert missing == pytest.approx(130, abs=5 * 11)
    assert damaged == pytest.approx(60, abs=5 * 8)


def test_replies_are_whole_unless_asked_otherwise(make_host):
    losing = make_host(faults=dataclasses.replace(Faults.none(), bad_reply_one_in=1))
    assert losing.say("H") == []
    assert len(make_host(faults=Faults()).say("H")) == 1


def test_the_rail_is_as_bent_and_as_wavy_as_stated():
    rail = draw_rail(1, RigSpec(), Faults())
    x_mm = np.linspace(0.0, 640.0, 6401)
    straight = dataclasses.replace(rail, wave_mm=np.zeros(2))
    assert straight.error_mm(x_mm).max() == pytest.approx(0.07)
    waves = rail.error_mm(x_mm) - straight.error_mm(x_mm)
    assert np.abs(waves).max() == pytest.approx(0.009, abs=0.0005)


def test_a_perfect_rig_reads_the_straightedge_straight(make_host, take_columns):
    host = make_host()
    host.bench.place("straightedge")
    host.run("M,5000,,")
    host.say("G,400")
    rows = take_columns(host.run("M,118000,,5000"))
    x_mm, z_um = 0.005 * rows[:, 2], rows[:, 4]
    off = z_um - np.polyval(np.polyfit(x_mm, z_um, 1), x_mm)
    assert np.isfinite(z_um).all()
    assert np.abs(off).max() < 0.5 + 0.3
