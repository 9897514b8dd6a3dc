"""What the firmware accepts, refuses and reports."""

import pytest

from sim.faults import Faults


@pytest.mark.parametrize(
    ("command", "reason"),
    [
        ("M,128001,,", "x 128001 outside 0 to 128000"),
        ("M,-1,,", "x -1 outside 0 to 128000"),
        ("M,,3001,", "y 3001 outside -3000 to 3000"),
        ("M,5,5,0", "speed 0 outside 1 to 20000"),
        ("M,5,5", "M takes three fields: x and y and speed"),
        ("M,five,,", "x is not a whole number"),
        ("G,2001", "rate 2001 outside 1 to 2000"),
        ("G", "G takes one field: the rate in Hz"),
        ("Q", "unknown command"),
    ],
)
def test_refusals_say_what_was_asked_and_what_is_allowed(make_host, command, reason):
    assert make_host().say(command) == [["N", command[0], reason]]


def test_a_second_move_is_refused_until_the_first_has_ended(make_host):
    host = make_host()
    assert host.say("M,2000,,") == [["A", "M"]]
    assert host.say("M,0,,")[0][:2] == ["N", "M"]
    assert host.say("O")[0][:2] == ["N", "O"]


def test_empty_fields_keep_an_axis(make_host, take_columns):
    host = make_host()
    host.run("M,2000,300,")
    host.run("M,,-200,")
    host.say("G,100")
    sample = take_columns(host.samples(1))[0]
    assert sample[2:4].tolist() == [2000, -200]


def test_home_ends_at_zero_with_its_event(make_host, take_bodies, take_columns):
    host = make_host()
    host.run("M,2000,300,")
    fields, _ = take_bodies(host.run("O"))
    assert [fields[0], fields[-1][2]] == [["A", "O"], "homed"]
    host.say("G,100")
    assert take_columns(host.samples(1))[0][2:4].tolist() == [0, 0]


def test_halt_stops_the_carriage_where_it_is(make_host, take_columns):
    host = make_host()
    host.say("G,400")
    assert host.say("M,100000,,5000") == [["A", "M"]]
    on_the_way = take_columns(host.samples(1000))[-1][2]
    assert [each[0] for each in host.say("K")] == ["A", "E"]
    assert not host.device.moving
    after = take_columns(host.samples(100))[:, 2]
    assert after.tolist() == [on_the_way] * len(after)
    assert 0 < on_the_way < 100000


def test_halt_at_rest_is_answered_too(make_host):
    answers = make_host().say("K")
    assert answers[0] == ["A", "K"]
    assert answers[1][2] == "halted"


def test_a_stall_stops_half_way_and_says_so(make_host, take_bodies, take_columns):
    host = make_host()
    host.device.stall()
    fields, _ = take_bodies(host.run("M,100000,,5000"))
    assert fields[-1][2] == "stalled"
    host.say("G,100")
    assert take_columns(host.samples(1))[0][2] == pytest.approx(50000, abs=5)
    assert take_bodies(host.run("M,100000,,"))[0][-1][2] == "arrived"


def test_time_and_sample_numbers_wrap_in_the_first_pass(make_host, take_columns):
    host = make_host()
    host.say("G,400")
    pass_ = host.run("M,124000,,5000") + host.run("M,0,,5000")
    seq, t_us = take_columns(pass_)[:, :2].T
    for column in (seq, t_us):
        assert column.max() > 2**32 - 20_000
        assert column.min() < 20_000
        steps = (column[1:] - column[:-1]) % 2**32
        assert set(steps.tolist()) == ({1.0} if column is seq else {2500.0})


def test_moves_keep_their_speed_and_end_where_asked(make_host, take_columns):
    host = make_host()
    host.say("G,400")
    rows = take_columns(host.run("M,20000,,2500"))
    steps = rows[200:-200, 2][1:] - rows[200:-200, 2][:-1]
    assert steps.mean() == pytest.approx(2500 / 400, rel=1e-3)
    assert rows[-1, 2] == pytest.approx(20000, abs=1)


def test_the_same_seed_gives_the_same_bytes_and_another_does_not(make_host):
    def all_bytes(seed):
        host = make_host(seed, Faults())
        host.bench.place("neck")
        host.say("G,400")
        return host.run("M,124000,300,5000")

    first = all_bytes(5)
    assert first == all_bytes(5)
    assert first != all_bytes(6)


def test_device_time_waits_for_the_clock_in_real_time(make_host):
    host = make_host()
    host.run("M,2000,,")
    now_s = host.device.now_s
    host.say("G,400")
    assert host.device.produce(100_000, until_s=now_s + 1.001).count(b"\n") == 400
    assert host.device.produce(100_000, until_s=now_s + 1.001) == b""
    assert host.device.produce(100_000, until_s=now_s + 1.011).count(b"\n") == 4
