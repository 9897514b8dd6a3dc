"""Samples: even, whole, numbered, and honest about a sensor that says nothing."""

import re

import numpy as np
import pytest

from sim.indicator import BITS, frame

HZ = 16_000_000
US = 16


@pytest.mark.parametrize("rate_hz", [1, 7, 100, 333, 400])
def test_samples_come_at_the_rate_asked_for(homed, columns, rate_hz):
    homed.say(f"G,{rate_hz}", 0.0)
    took_s = max(1.0, 8.0 / rate_hz)
    seen = columns(homed.run(took_s + 0.01))
    assert len(seen) == pytest.approx(took_s * rate_hz, abs=0.015 * rate_hz + 1)
    assert np.all(np.diff(seen[:, 0]) == 1)
    # t is when it was latched: no drift over the whole, nothing off by more than 20 us
    due = seen[0, 1] + 1e6 / rate_hz * np.arange(len(seen))
    assert np.abs(seen[:, 1] - due).max() <= 20


@pytest.mark.parametrize("build", ["indicator-encoder", "indicator-steps"])
def test_position_and_request_belong_to_the_same_moment(board, columns, build):
    """What x a sample has is where the carriage stood when its indicator was asked."""
    board = board(build)
    board.home()
    stood = []
    reading = board.chip.reading

    def noted(*answer):
        stood.append(board.chip.where[0])
        reading(*answer)

    board.chip.reading = noted
    board.say("G,400")
    board.tell("M,10000,,5000")
    seen = columns(board.run(2.5))
    off = seen[:, 2] - np.array(stood)[seen[:, 0].astype(int)]
    # a step in the two or three microseconds in between is all there may be
    assert set(off) <= {0.0, 1.0}
    assert np.mean(off) < 0.03
    assert seen[-1, 2] == 10_000


def test_number_and_clock_wrap(homed, columns):
    homed.say("G,400")
    homed.run(0.1)
    homed.poke("sampler::seq", 2**32 - 20)
    homed.poke("clock::turns", 2**17 - 2)
    homed.run(0.01)
    seen = columns(homed.run(0.3))
    assert seen[0, 0] > 2**32 - 20
    assert seen[0, 1] > 2**32 - 100_000
    step = np.diff(seen[:, :2], axis=0) % 2**32
    assert np.all(step[:, 0] == 1)
    assert np.all(np.abs(step[:, 1] - 2500) < 20)
    assert seen[-1, 0] < 200
    assert seen[-1, 1] < 400_000


@pytest.mark.parametrize("counts", [0, 1, -1, 1234, -6000, 999_999, -999_999])
def test_a_reading_is_what_the_indicator_shows(homed, columns, counts):
    homed.shows = (frame(counts), BITS)
    homed.say("G,400")
    assert set(columns(homed.run(0.05))[:, 4]) == {counts}


@pytest.mark.parametrize(
    "shows",
    [
        (frame(1234), 51),  # the last bit lost
        (frame(1234), 30),
        (frame(1234), 0),  # switched off
        (frame(1234) >> 1, BITS),  # a bit slipped
        (frame(1234) << 1, BITS),
        (frame(1234, inches=True), BITS),
        (frame(1234, decimals=2), BITS),
        (frame(None), BITS),  # out of its range
        (frame(1234) ^ (1 << 17), BITS),  # no sign it has
        (0, BITS),
        (2**52 - 1, BITS),
    ],
)
def test_a_frame_that_is_none_gives_no_reading_and_one_event(homed, columns, shows):
    homed.say("G,400")
    homed.run(0.05)
    homed.shows = shows
    said = homed.run(0.1)
    empty = np.isnan(columns(said)[:, 4])
    assert empty.sum() >= 30
    assert np.all(np.diff(columns(said)[:, 0]) == 1)
    told = [row for row, each in enumerate(said) if each.startswith("E,")]
    assert len(told) == 1
    assert said[told[0]].split(",")[2] == "overrange"
    # the event stands before the first sample without a reading, with that sample's time
    assert said[told[0]].split(",")[1] == said[told[0] + 1].split(",")[2]
    assert said[told[0] + 1].endswith(",")
    homed.shows = (frame(77), BITS)
    homed.run(0.02)
    assert set(columns(homed.run(0.05))[:, 4]) == {77.0}


def test_a_reading_is_not_another_samples(homed, columns):
    """The indicator counts how often it was asked; every number comes once and in order."""
    homed.say("G,400")
    homed.run(0.05)
    shown = iter(range(10_000))
    reading = homed.chip.reading
    homed.chip.reading = lambda *_: reading(frame(next(shown)), BITS)
    seen = columns(homed.run(1.0))[4:, 4]
    assert np.all(np.diff(seen) == 1)


def test_what_the_line_cannot_carry_is_missing_and_nothing_else(homed, columns):
    """Five samples in the time of one: numbers are left out, and no sample is mixed of two."""
    homed.shows = (frame(1234), 0)
    homed.say("G,400")
    homed.run(0.05)
    homed.poke("sampler::whole", 1000)
    homed.run(0.05)
    homed.poke("sampler::seq", 0)
    homed.run(0.05)
    seen = columns(homed.run(0.5))
    left_out = np.diff(seen[:, 0]) - 1
    assert left_out.min() >= 0
    assert left_out.max() > 0
    late_us = seen[:, 1] - seen[0, 1] - 500 * (seen[:, 0] - seen[0, 0])
    assert np.abs(late_us).max() <= 20


def test_nothing_comes_after_the_stream_was_stopped(homed):
    homed.say("G,400")
    homed.run(0.1)
    homed.chip.hear(b"X*3A0D\n")
    said = homed.run(0.2)
    assert said[-1] == "A,X"


def test_an_interrupt_waits_less_than_half_a_bit_and_less_than_two_bytes(homed):
    """All at once: a pass, samples, commands. A bit's data stand for 20 us after its edge, and a
    real receiver holds two bytes, 40 us."""
    homed.say("G,400")
    homed.tell("M,20000,600,5000")
    for _ in range(40):
        homed.say("H", 0.05)
    assert 0 < homed.chip.longest_wait(1) < 20 * US
    assert 0 < homed.chip.longest_wait(18) < 40 * US
    # the encoder: two edges are 100 us apart at twice the speed
    assert 0 < homed.chip.longest_wait(4) < 50 * US


@pytest.mark.parametrize(("millivolts", "raw"), [(2500, 16_384), (1250, 8_192), (4000, 26_190)])
def test_a_voltage_is_summed_over_the_conversions_before(board, columns, millivolts, raw):
    board = board("analogue-encoder")
    board.chip.voltage(millivolts)
    board.run(0.05)
    board.say("G,400")
    seen = columns(board.run(0.1))[:, 4]
    assert np.abs(seen - raw).max() <= 32


@pytest.mark.parametrize("millivolts", [0, 5000])
def test_a_voltage_at_the_end_of_its_range_is_no_reading(board, columns, millivolts):
    board = board("analogue-encoder")
    board.chip.voltage(millivolts)
    board.run(0.05)
    board.chip.hear(b"G,400*356F\n")
    said = board.run(0.1)
    assert np.isnan(columns(said)[:, 4]).all()
    assert re.fullmatch(r"E,\d+,overrange", said[1])
