"""The host's half of the talk and the simulated board, in a time of their own."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from daq.files.rig_gcode import GcodeKeys
from daq.files.rig_protocol import Around, Counts
from daq.wire.arrivals import timed_by_arrival
from daq.wire.commands import Command, Halt, Hello, Home, Move, Stop, Stream
from daq.wire.dialects import dialect_of
from daq.wire.records import Batch
from sim.bench import Bench
from sim.controller import World
from sim.device import parked_carriage
from sim.faults import Faults
from sim.gcode_board import Board
from sim.gcode_tongues import FRAMED, PLAIN, Tongue
from sim.part import CARRIAGE
from sim.rigspec import RigSpec

AROUND = Around(115200, 10, 400, Counts(0.005, 0.01, 25.0))
TURN_S = 0.002
Said = tuple[str, ...]
Spoil = Callable[[bytes], bytes]


class Conversation:
    """said: what the talk told, answers as (kind, *fields) and events as (word, text).
    written: what went out, with its time."""

    def __init__(self, tongue: Tongue, spoil: Spoil = bytes, **changed: Any) -> None:
        bench = Bench(1, Faults.none(), RigSpec())
        self.board = Board(World(bench, parked_carriage(bench), 0, 0.0), CARRIAGE, tongue)
        given = {**yaml.safe_load(tongue.settings)["gcode"], **changed}
        keys = {k: tuple(v) if isinstance(v, list) else v for k, v in given.items()}
        dialect = dialect_of("gcode", GcodeKeys.model_validate(keys).settings(AROUND))
        self.talk, self.decoder = dialect.talk(), dialect.decoder()
        self.spoil = spoil
        self.now_s = 0.0
        self.said: list[Said] = []
        self.written: list[tuple[float, bytes]] = []
        self.places: list[tuple[float, int]] = []
        self.bad_frames = 0

    def write(self, data: bytes) -> None:
        if data:
            self.written.append((self.now_s, data))
            self.board.feed(data)

    def turn(self) -> Batch:
        self.now_s += TURN_S
        data = self.spoil(self.board.produce(4096, self.now_s))
        self.write(self.talk.due(self.now_s))
        batch = self.decoder.feed(data)
        came_ns = np.full(len(batch.samples), round(1e9 * self.now_s))
        batch = self.talk.hear(timed_by_arrival(batch, came_ns), self.now_s)
        assert self.talk.due_in_s(self.now_s) >= 0.0
        self.said += [(r.kind, *r.fields) for r in batch.replies if r.kind == "H" or r.fields[0]]
        self.said += [(event.word, event.text) for event in batch.events]
        self.places += [(self.now_s, int(x)) for x in batch.samples.x]
        self.bad_frames += batch.bad_frames
        return batch

    def tell(self, command: Command) -> None:
        self.said.clear()
        self.write(self.talk.say(command, self.now_s))

    def ask(self, command: Command, *ends: str, most_s: float = 30.0) -> Said:
        """What is told first of these: an answer's kind, or an event's word."""
        self.tell(command)
        return self.until(*ends, most_s=most_s)

    def until(self, *ends: str, most_s: float = 30.0) -> Said:
        end_s = self.now_s + most_s
        while self.now_s < end_s:
            self.turn()
            for said in self.said:
                if said[0] in ends:
                    return said
        raise AssertionError(f"none of {ends} in {most_s} s; said {self.said}")

    def lines(self) -> list[bytes]:
        """What went out but for questions."""
        return [line for _, line in self.written if line not in (b"M114\n", b"?")]

    def ready(self) -> Conversation:
        """Greeted and homed."""
        assert self.ask(Hello(), "H", "N")[0] == "H"
        assert self.ask(Home(), "homed", "N")[0] == "homed"
        return self


@pytest.fixture(params=[PLAIN, FRAMED], ids=["plain", "framed"])
def tongue(request: pytest.FixtureRequest) -> Any:
    return request.param


def test_hello_sends_the_first_lines_once(tongue: Tongue) -> None:
    talk = Conversation(tongue)
    assert talk.ask(Hello(), "H") == ("H", "1", f"G-code board {tongue.greeting}", "50")
    talk.ask(Hello(), "H")
    assert talk.lines() == [b"G21\n", b"G90\n"] * 2


def test_a_move_is_taken_and_then_ends(tongue: Tongue) -> None:
    talk = Conversation(tongue).ready()
    assert talk.ask(Move(2000, 100, 5000), "A", "arrived") == ("A", "M")
    taken_s = talk.now_s
    assert talk.until("arrived") == ("arrived", "")
    assert talk.now_s - taken_s > 0.4  # 10 mm at 25 mm/s
    assert talk.places[-1][1] == 2000
    assert b"G1 X10 Y1 F1507.4813\n" in talk.lines()
    assert talk.lines()[-1] == b"G4 P0\n"


def test_streaming_is_asking(tongue: Tongue) -> None:
    talk = Conversation(tongue).ready()
    assert talk.ask(Stream(400.0), "A") == ("A", "G")
    talk.ask(Move(20000, None, 10000), "arrived")
    moving = [when for when, x in talk.places if 0 < x < 20000]
    assert len(moving) / (moving[-1] - moving[0]) == pytest.approx(50.0, rel=0.03)
    assert talk.ask(Stop(), "A") == ("A", "X")
    for _ in range(50):
        talk.turn()
    count = len(talk.places)
    for _ in range(500):
        talk.turn()
    assert len(talk.places) == count


def test_a_halt_goes_out_before_anything_that_waits(tongue: Tongue) -> None:
    talk = Conversation(tongue).ready()
    talk.ask(Stream(400.0), "A")
    talk.ask(Move(20000, 0, 5000), "A")
    for _ in range(500):
        talk.turn()
    told_s = talk.now_s
    assert talk.ask(Halt(), "A", "N") == ("A", "K")
    halt = b"\x18" if tongue is FRAMED else b"M410\n"
    assert [when for when, line in talk.written if line == halt] == [told_s]
    assert ("halted", "") in talk.said
    assert not talk.board.moving
    assert talk.now_s - told_s < 0.2


def test_after_a_halt_by_a_line_it_moves_on(tongue: Tongue) -> None:
    talk = Conversation(PLAIN).ready()
    talk.ask(Move(20000, 0, 5000), "A")
    talk.ask(Halt(), "halted")
    assert talk.ask(Move(0, 0, 5000), "arrived", "N") == ("arrived", "")


def test_a_reset_in_the_middle_is_told(tongue: Tongue) -> None:
    talk = Conversation(tongue).ready()
    talk.ask(Move(20000, 0, 5000), "A")
    for _ in range(300):
        talk.turn()
    talk.said.clear()
    talk.board.reset()
    assert talk.until("reset", "arrived") == ("reset", tongue.greeting)
    before = len(talk.lines())
    talk.ask(Home(), "homed", "N")
    assert talk.lines()[before : before + 2] == [b"G21\n", b"G90\n"]


def test_a_reset_that_no_greeting_tells_of() -> None:
    talk = Conversation(PLAIN, greeting="").ready()
    talk.ask(Stream(400.0), "A")
    talk.ask(Move(20000, 0, 5000), "A")
    for _ in range(500):
        talk.turn()
    talk.said.clear()
    talk.board.reset()
    word, text = talk.until("reset", "arrived", "stalled")
    assert word == "reset"
    assert "M114 tells where it is sent and not where it is, or the board started anew" in text


def test_a_refusal_is_told_in_the_boards_words(tongue: Tongue) -> None:
    talk = Conversation(tongue).ready()
    kind, letter, why = talk.ask(Move(140_000, 0, 5000), "A", "N")
    assert (kind, letter) == ("N", "M")
    assert why == f"{tongue.error}X700 is outside 0 to 640 (to G1 X700 Y0 F1500)"
    assert talk.ask(Move(2000, 0, 5000), "arrived", "N") == ("arrived", "")


def test_an_axis_that_is_stuck(tongue: Tongue) -> None:
    talk = Conversation(tongue).ready()
    talk.board.stall()
    word, text = talk.ask(Move(20000, 0, 5000), "arrived", "stalled")
    assert (word, text) == ("stalled", f"{tongue.alarm}1 the axis is stuck")


def test_homing_that_it_does_not_know() -> None:
    talk = Conversation(FRAMED, home="G28 X0 Y0")
    talk.ask(Hello(), "H")
    assert talk.ask(Home(), "A", "N") == (
        "N", "O", "error:unknown code G28 (to G28 X0 Y0)",
    )  # fmt: skip


def test_homing_may_take_long(tongue: Tongue) -> None:
    talk = Conversation(tongue).ready()
    talk.ask(Move(100_000, 0, 20000), "arrived")
    assert talk.ask(Home(), "A", "N") == ("A", "O")
    answered_s = talk.now_s
    assert talk.until("homed", most_s=60.0) == ("homed", "")
    assert talk.now_s - answered_s > 15.0  # 500 mm at 25 mm/s
    assert talk.places[-1][1] == 0


def test_a_place_after_homing_that_is_not_the_rig_files(tongue: Tongue) -> None:
    talk = Conversation(tongue, home_mm=[-1.0, 0.0])
    talk.ask(Hello(), "H")
    talk.ask(Home(), "homed")
    kind, letter, why = talk.ask(Move(0, 0, 5000), "A", "N")
    assert (kind, letter) == ("N", "M")
    assert "the board says X0 Y0, and by home_mm in the rig file it should say X-1 Y0" in why


def test_an_answer_that_is_not_as_the_rig_file_says(tongue: Tongue) -> None:
    talk = Conversation(tongue, position="Pos {x} {y}")
    kind, letter, why = talk.ask(Hello(), "H", "N", most_s=5.0)
    assert (kind, letter) == ("N", "H")
    came = "<Idle|MPos:0.000,0.000" if tongue is FRAMED else "X:0.00 Y:0.00 Z:0.00"
    assert f"it answers '{came}" in why
    assert "gcode.position in the rig file says 'Pos {x} {y}'" in why


def test_an_accepted_that_is_not_as_the_rig_file_says() -> None:
    kind, _, why = Conversation(FRAMED, accepted="done").ask(Hello(), "H", "N")
    assert kind == "N"
    assert "no 'done' came to the start line G21: 'ok' came" in why


def test_a_first_line_that_it_refuses(tongue: Tongue) -> None:
    kind, _, why = Conversation(tongue, start=["G21", "M600"]).ask(Hello(), "H", "N")
    assert kind == "N"
    assert why.startswith(f"it answers '{tongue.error}unknown code M600' to the start line M600")


def test_a_board_that_goes_silent_gets_few_lines(tongue: Tongue) -> None:
    talk = Conversation(tongue).ready()
    talk.ask(Stream(400.0), "A")
    talk.spoil = lambda data: b""
    before = len(talk.written)
    talk.tell(Move(20000, 0, 5000))
    for _ in range(5000):
        talk.turn()
    assert talk.said == []
    if tongue is PLAIN:  # what it has not answered is asked again four times a second
        assert len(talk.written) - before < 50
    assert talk.bad_frames >= 1  # that an answer did not come is counted


def flaws(rng: random.Random, one_in: int) -> Spoil:
    """A line to one lost, doubled, cut, garbled, or kept back until the next but one."""
    kept: list[bytes] = []

    def spoil(data: bytes) -> bytes:
        out = []
        for line in data.splitlines(keepends=True):
            if rng.randrange(one_in):
                out.append(line)
                out += kept
                kept.clear()
                continue
            what = rng.randrange(5)
            if what == 0:
                kept.append(line)
            out.append((b"", b"", line * 2, line[len(line) // 2 :], b"\x91" + line[1:])[what])
        return b"".join(out)

    return spoil


@settings(max_examples=20, deadline=None)
@given(st.integers(0, 2**32), st.sampled_from([PLAIN, FRAMED]))
def test_spoilt_answers_never_hang_it(seed: int, tongue: Tongue) -> None:
    """Whatever is lost: said again as the rig says it, a move comes to its end."""
    talk = Conversation(tongue).ready()
    talk.spoil = flaws(random.Random(seed), 6)
    talk.ask(Stream(400.0), "A")
    for target in (1000, 3000):
        for _ in range(6):
            talk.tell(Move(target, 0, 20000))
            end_s = talk.now_s + 8.0
            while talk.now_s < end_s and ("arrived", "") not in talk.said:
                talk.turn()
            if ("arrived", "") in talk.said:
                break
        else:
            raise AssertionError(f"never arrived at {target}")
        assert not talk.board.moving
        at = talk.board._at_mm()[0] / 0.005
        assert abs(at - target) <= 10


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.sampled_from([b"ok\n", b"error:1\n", b"start\n", b"!! x\n", b"huh\n", b"echo:\n"])
        | st.builds(lambda x: b"X:%d Y:0 Z:0\n" % x, st.integers(-700, 700))
        | st.sampled_from([Hello(), Stream(400.0), Stop(), Move(100, 0, None), Home(), Halt()]),
        max_size=60,
    )
)
def test_nothing_that_comes_makes_it_raise(steps: list[Any]) -> None:
    talk = Conversation(PLAIN)
    for step in steps:
        if isinstance(step, bytes):
            talk.talk.hear(talk.decoder.feed(step), talk.now_s)
            talk.now_s += 0.3
        else:
            talk.talk.say(step, talk.now_s)
        assert len(talk.talk.due(talk.now_s)) < 100
    assert replace(talk.talk.hear(talk.decoder.feed(b""), talk.now_s + 9.0)) is not None
