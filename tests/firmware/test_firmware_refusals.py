"""Bad input on the simulated chip: dropped or refused, and nothing moves."""

import numpy as np
import pytest

HELLO = ["H,1,reference-rig-1,400"]


@pytest.mark.parametrize(
    ("command", "reason"),
    [
        ("M,128001,,", "x 128001 outside 0 to 128000"),
        ("M,-1,,", "x -1 outside 0 to 128000"),
        ("M,,3001,", "y 3001 outside -3000 to 3000"),
        ("M,5,5,0", "speed 0 outside 1 to 10000"),
        ("M,5,5,10001", "speed 10001 outside 1 to 10000"),
        ("M,99999999999,,", "x is not a whole number"),
        ("M,--5,,", "x is not a whole number"),
        ("M,five,,", "x is not a whole number"),
        ("M,5,5", "wrong number of fields"),
        ("M,5,5,5,5,5,5", "wrong number of fields"),
        ("M", "wrong number of fields"),
        ("K,1", "wrong number of fields"),
        ("G,401", "rate 401 outside 1 to 400"),
        ("G,0", "rate 0 outside 1 to 400"),
        ("G,", "rate is not a whole number"),
        ("G", "wrong number of fields"),
        ("Q", "unknown command"),
    ],
)
def test_a_refusal_says_what_was_asked_and_what_is_allowed(homed, command, reason):
    assert homed.say(command, 0.05) == [f"N,{command[0]},{reason}"]
    assert len(homed.moved()) == 0


@pytest.mark.parametrize(
    "line",
    [
        b"H*283D\n",  # the checksum is another's
        b"H*283c\n",  # lower case
        b"H 283C\n",
        b"*FFFF\n",  # no body
        b"H283C\n",
        b"H*283C \n",
        b"H*28\n3C\n",
        b"M,\xb5,5,5*86FE\n",  # no ASCII, and a good checksum over it
        b"M,\x05,5,5*A8C0\n",
        b"M" + b"," * 90 + b"*2EDE\n",  # 91 bytes, else good
        b"M" * 4000 + b"\n",
        b"\x00" * 50 + b"\n",
        b"ff*5DB3\n",  # a good frame, but no command
    ],
)
def test_a_line_that_is_no_good_frame_is_dropped_and_the_next_is_heard(homed, line):
    homed.chip.hear(line)
    assert homed.run(0.005 + 25e-6 * len(line)) == []
    assert homed.say("H") == HELLO
    assert len(homed.moved()) == 0


def test_nothing_moves_before_it_knows_where_it_stands(board):
    fresh = board()
    fresh.run(0.02)
    assert fresh.say("M,100,,", 0.1) == ["N,M,not homed: send O first"]
    assert len(fresh.moved()) == 0


def test_rubbish_at_full_speed_moves_nothing_and_is_over_when_it_is_over(homed):
    homed.chip.hear(np.random.default_rng(3).bytes(20_000) + b"\n")
    assert homed.run(0.6) == []
    assert homed.say("H") == HELLO
    assert len(homed.moved()) == 0


def test_a_flood_of_commands_costs_answers_but_no_sample(homed, columns):
    """More is asked than the line can carry answers for; every frame that comes is whole."""
    homed.say("G,400")
    homed.chip.hear(b"H*283C\n" * 3000)
    said = homed.run(0.5)
    seq = columns(said)[:, 0]
    assert len(seq) == pytest.approx(200, abs=2)
    assert np.all(np.diff(seq) == 1)
    assert said.count(*HELLO) > 50
    # what was left of the last line ends here
    homed.chip.hear(b"\n")
    homed.run(0.1)
    assert homed.say("H") == HELLO


def test_a_command_said_twice_is_done_once(homed):
    assert homed.say("M,2000,,") == ["A,M"]
    assert homed.say("M,2000,,") == ["A,M"]
    assert homed.say("M,1000,,")[0].startswith("N,M,still moving")
    assert [each.split(",")[2] for each in homed.run(1.5)] == ["arrived"]
    assert homed.chip.where[0] == 2000
    assert homed.say("O") == ["A,O"]
    assert homed.say("O") == ["A,O"]
    assert [each.split(",")[2] for each in homed.run(6.0)] == ["homed"]
