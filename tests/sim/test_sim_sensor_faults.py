"""What the sensor itself does wrong: its curve, its play, its drift, its warmth."""

from dataclasses import replace

import numpy as np
import pytest

from sim.drift import Climate, drift_mm
from sim.faults import Faults
from sim.placing import How
from sim.plunger import Plunger


def gauge_um(host, mm, tip_from=None):
    """The reading of a gauge block, the tip resting on it."""
    host.bench.place("gauge", How(mm=mm, tip_from=tip_from))
    return float(host_samples(host)[-1][5])


def host_samples(host):
    host.say("G,400")
    data = host.samples(20).decode("ascii").splitlines()
    host.say("X")
    return [line[:-5].split(",") for line in data if line.startswith("S")]


def test_a_curve_is_a_gain_and_a_bend_over_the_range(make_host):
    faults = replace(Faults.none(), sensor_gain_percent=0.5, sensor_bend_um=20.0)
    host = make_host(faults=faults)
    for mm in (0.0, 1.0, 3.0):
        share = (mm + 6.0) / 14.0
        wanted_um = 1005.0 * mm + 80.0 * share * (1.0 - share)
        assert gauge_um(host, mm) == pytest.approx(wanted_um, abs=0.51)
    truth = host.bench.truth()
    told = np.interp(1.0, truth["sensor_z_mm"], truth["sensor_reads_mm"])
    assert 1e3 * told == pytest.approx(gauge_um(host, 1.0), abs=0.51)


def test_what_a_gauge_reads_hangs_on_where_the_tip_came_from(make_host):
    host = make_host(faults=replace(Faults.none(), sensor_hysteresis_um=8.0))
    assert gauge_um(host, 1.0, "above") == 1004.0
    assert gauge_um(host, 1.0, "below") == 996.0
    assert gauge_um(host, 2.0) == 1996.0
    assert gauge_um(host, 1.5) == 1504.0


def test_play_is_taken_up_before_a_turn_shows():
    plunger = Plunger(0.01, 0.0)
    z_mm = np.array([0.0, 0.004, 0.02, 0.03, 0.025, 0.015, 0.0])
    stands = plunger.stands_mm(np.arange(7.0), z_mm)
    np.testing.assert_allclose(stands, [0.0, 0.0, 0.015, 0.025, 0.025, 0.02, 0.005], atol=1e-12)


def test_a_tip_that_falls_slowly_skips_behind_a_step_in_one_block_or_two():
    t_s = np.linspace(0.0, 0.1, 101)
    z_mm = np.where(t_s < 0.0205, 1.0, 0.0)
    whole = Plunger(0.0, 20.0).stands_mm(t_s, z_mm)
    np.testing.assert_allclose(whole, np.maximum(z_mm, 1.0 - 20.0 * (t_s - 0.02).clip(0.0)))
    twice = Plunger(0.0, 20.0)
    halves = [twice.stands_mm(t_s[part], z_mm[part]) for part in (slice(40), slice(40, None))]
    np.testing.assert_allclose(np.concatenate(halves), whole, atol=1e-9)


def test_wander_makes_drift_as_crooked_as_asked():
    t_s = np.arange(0.0, 1200.0, 1.0)
    crooked = {}
    for share in (1.0, 3.0):
        faults = replace(Faults.none(), drift_um_per_min=20.0, drift_wander=share)
        drift_um = 1e3 * drift_mm(faults, t_s)
        assert np.polyfit(t_s, drift_um, 1)[0] * 60.0 == pytest.approx(20.0, abs=2.5)
        crooked[share] = np.ptp(np.diff(drift_um))
    assert crooked[1.0] > 0.1
    assert crooked[3.0] == pytest.approx(3.0 * crooked[1.0], rel=1e-6)


def test_the_room_holds_ramps_and_forgets_what_was_planned():
    climate = Climate(0.0)
    climate.change(100.0, 24.0, 200.0)
    seen = climate.celsius(np.array([0.0, 100.0, 200.0, 300.0, 900.0]))
    np.testing.assert_allclose(seen, [20.0, 20.0, 22.0, 24.0, 24.0])
    climate.change(200.0, 21.0, 100.0)
    np.testing.assert_allclose(climate.celsius(np.array([200.0, 250.0, 400.0])), [22, 21.5, 21])


def test_a_degree_shows_in_the_reading_and_in_the_frame(make_host):
    host = make_host(faults=replace(Faults.none(), temperature_um_per_c=7.0, thermometer=1))
    host.run("M,2000,,")
    host.bench.climate.change(host.device.now_s, 23.0, 0.0)
    last = host_samples(host)[-1]
    assert float(last[5]) == 2021.0
    assert abs(int(last[6]) - 2300) <= 3
    assert make_host().bench.truth(0.0)["celsius"] == 20.0
