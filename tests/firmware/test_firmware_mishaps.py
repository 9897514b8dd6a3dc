"""A carriage that sticks, an end stop in the way, power that fails: it stops by its own means."""

import numpy as np
import pytest

HZ = 16_000_000


def events(bodies):
    return [each.split(",")[2:] for each in bodies if each.startswith("E,")]


def test_a_carriage_that_does_not_follow_is_a_stall(homed, columns):
    homed.say("M,100000,,5000", 1.0)
    homed.chip.jam(True)
    stuck_at, since = homed.chip.where[0], homed.chip.cycle
    (event,) = events(homed.run(0.3))
    assert event[0] == "stalled"
    assert event[1].startswith("x lost ")
    # 40 counts and no more than a few that came while it was seen
    assert 40 <= int(event[1].split()[2]) <= 50
    assert (homed.chip.last_pulse - since) / HZ < 0.02
    homed.chip.jam(False)
    homed.say("G,100")
    assert columns(homed.run(0.1))[-1, 2] == stuck_at
    homed.say("M,0,,5000", 0.0)
    assert events(homed.run(5.0)) == [["arrived"]]
    assert homed.chip.where[0] == 0


def test_a_carriage_without_an_encoder_is_halted_by_its_end_stop(board):
    """It lost 2000 steps and does not know; going home again it meets the stop first."""
    board = board("indicator-steps")
    board.home()
    board.chip.jam(True)
    board.say("M,2000,,5000", 1.5)
    board.chip.jam(False)
    assert board.chip.where[0] == 0
    assert events(board.say("M,0,,5000", 1.5)) == [["endstop"]]
    # 25 mm/s end within a fifth of a millimetre, 42 counts, and a millisecond's way before
    assert -100 - 55 <= board.chip.where[0] <= -100
    assert board.say("M,1900,,") == ["A,M"]


def test_it_does_not_set_off_against_a_stop_that_is_pressed(board):
    board = board("indicator-steps")
    board.home()
    board.chip.jam(True)
    board.say("M,2000,,5000", 1.5)
    board.chip.jam(False)
    board.say("M,0,,5000", 1.5)
    board.moved()
    assert board.say("M,0,,") == ["N,M,endstop"]
    assert len(board.moved()) == 0


def test_homing_without_an_end_stop_ends(board):
    board = board("indicator-steps")
    board.chip.jam(True)
    (event,) = events(board.say("O", 40.0))
    assert event == ["stalled", "no end stop found"]
    board.run(0.1)
    assert board.say("M,10,,") == ["N,M,not homed: send O first"]


@pytest.mark.parametrize("way", ["M,100000,,5000", "O"])
def test_power_lost_in_a_move_leaves_it_standing_and_lost(homed, way):
    if way == "O":
        homed.say("M,20000,,10000", 3.0)
    homed.say(way, 0.4)
    assert homed.chip.cycle - homed.chip.last_pulse < HZ // 1000
    homed.chip.reset()
    homed.moved()
    assert events(homed.run(0.5)) == [["reset"]]
    assert len(homed.moved()) == 0
    assert homed.say("M,100,,") == ["N,M,not homed: send O first"]
    homed.home()
    assert homed.chip.where == (0, 0)


def test_home_is_the_same_place_from_everywhere(homed):
    """To the count, from beside the stop, on it, and from far away."""
    found = []
    for far in (0, 150, 20_000):
        homed.say(f"M,{far},500,10000", 0.02 + far / 9000 + 1.0)
        homed.say("O", far / 4000 + 6.0)
        found.append(homed.chip.where)
    assert np.ptp(np.array(found), axis=0).max() <= 1
