"""Steps as they leave the pins, by the simulated chip's own cycles."""

import numpy as np
import pytest

HZ = 16_000_000
MM_PER_COUNT = 0.005
ACCELERATION = 60_000.0


def x_steps(steps):
    """The cycles at which x moved, int64[n]."""
    x = steps["x"].astype(int)
    moved = np.diff(x, prepend=x[0] - np.sign(x[-1] - x[0])) != 0
    return steps["cycle"][moved].astype(np.int64)


def words(bodies):
    return [each.split(",")[2] for each in bodies if each.startswith("E,")]


def test_a_pass_at_25_mm_s_steps_evenly_while_it_samples(homed, columns):
    """5000 steps a second, 400 samples a second: no step is off by 5 % of the period."""
    homed.say("G,400")
    homed.moved()
    homed.tell("M,30000,600,5000")
    said = homed.run(7.0)
    assert words(said) == ["arrived"]
    at = x_steps(homed.moved())
    assert len(at) == 30_000
    period = np.diff(at[1000:-1000])
    assert np.abs(period - HZ / 5000).max() < 0.01 * HZ / 5000
    assert np.all(np.diff(columns(said)[:, 0]) == 1)
    assert not np.isnan(columns(said)).any()


@pytest.mark.parametrize("speed", [500, 2500, 10_000])
def test_speed_rises_and_falls_as_the_acceleration_says(homed, speed):
    homed.say(f"M,16000,,{speed}", 0.0)
    assert words(homed.run(16_000 / speed + 1.0)) == ["arrived"]
    t_s = x_steps(homed.moved()) / HZ
    ramp = round(speed**2 / (2 * ACCELERATION))
    rate = 1.0 / np.diff(t_s)
    assert np.median(rate) == pytest.approx(speed, rel=1e-3)
    assert rate.max() < 1.01 * speed
    # v^2 = 2 a s, from rest and to rest, but for the first steps, where it is rougher
    n = np.arange(10, max(ramp - 10, 10))
    expected = np.sqrt(2 * ACCELERATION * (n + 0.75))
    assert np.allclose(rate[n], expected, rtol=0.05)
    assert np.allclose(rate[::-1][n], expected, rtol=0.08)


def test_a_slow_move_is_as_slow_as_asked(homed):
    homed.say("M,5,,10", 0.0)
    assert words(homed.run(0.7)) == ["arrived"]
    at = x_steps(homed.moved())
    assert np.allclose(np.diff(at) / HZ, 0.1, rtol=1e-3)


def test_both_axes_arrive_together_in_a_straight_line(homed):
    homed.say("M,3000,1000,5000", 0.0)
    assert words(homed.run(1.5)) == ["arrived"]
    steps = homed.moved()
    assert homed.chip.where == (3000, 1000)
    # y is a third of x all the way, to half a step each
    off = steps["y"] - steps["x"] / 3.0
    assert np.abs(off).max() <= 1.0


def test_y_alone_goes_at_the_same_mm_a_second(homed):
    homed.say("M,,-2000,5000", 0.0)
    assert words(homed.run(2.0)) == ["arrived"]
    steps = homed.moved()
    assert set(steps["x"]) == {0}
    assert homed.chip.where == (0, -2000)
    period = np.diff(steps["cycle"].astype(np.int64))[500:-500]
    assert np.median(period) == pytest.approx(HZ / 2500, rel=1e-3)


def test_a_halt_stops_within_a_fiftieth_of_a_second_and_knows_where(homed, columns):
    homed.say("G,400")
    homed.say("M,100000,,5000", 1.0)
    assert homed.chip.last_pulse > 0
    asked = homed.chip.cycle
    said = homed.say("K", 0.1)
    assert said[0] == "A,K"
    assert words(said) == ["halted"]
    assert (homed.chip.last_pulse - asked) / HZ < 0.02
    where = homed.chip.where[0]
    assert 0 < where < 100_000
    assert columns(homed.run(0.05))[-1, 2] == where
    # and it is still homed: what it knew it knows
    assert homed.say("M,0,,") == ["A,M"]


def test_a_halt_at_rest_is_told_as_well(homed):
    said = homed.say("K")
    assert [said[0], *words(said)] == ["A,K", "halted"]


def test_a_halt_in_homing_leaves_it_not_homed(homed):
    homed.say("O", 0.5)
    assert words(homed.say("K", 0.1)) == ["halted"]
    assert homed.say("M,100,,") == ["N,M,not homed: send O first"]
