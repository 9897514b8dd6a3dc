"""Modbus RTU sensors: answers in, samples out; the host asks, and waits."""

from __future__ import annotations

import json
import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from daq.wire.commands import Halt, Hello, Home, Move, Stop, Stream
from daq.wire.dialects import dialect_of
from daq.wire.modbus.dialect import ModbusDialect
from daq.wire.modbus.talk import ANSWER_S, ModbusTalk
from daq.wire.records import ABSENT, Batch, Reply, SampleBlock

DIALECT = ModbusDialect(unit=7, first_register=0, baud=115200, byte_bits=10)
WIDE = ModbusDialect(unit=7, first_register=256, baud=19200, byte_bits=11, count=2)
NOTHING = Batch(SampleBlock.empty(), (), (), 0, b"")


def framed(body: bytes) -> bytes:
    """With the checksum by the standard's words: bit by bit, from 0xFFFF, polynomial 0xA001,
    the low byte first (Modbus over serial line V1.02, 6.2.2)."""
    check = 0xFFFF
    for byte in body:
        check ^= byte
        for _ in range(8):
            low, check = check & 1, check >> 1
            check ^= 0xA001 * low
    return body + check.to_bytes(2, "little")


def answer(*registers: int, unit: int = 7, function: int = 4) -> bytes:
    data = b"".join(register.to_bytes(2, "big") for register in registers)
    return framed(bytes([unit, function, len(data)]) + data)


def raws(dialect: ModbusDialect, *frames: bytes) -> list[int]:
    return dialect.decoder().feed(b"".join(frames)).samples.raw.tolist()


def test_the_question_byte_by_byte() -> None:
    # unit 17, holding registers 107 to 109: the standard's own example (V1.1b3, 6.3), framed
    body = bytes([0x11, 0x03, 0x00, 0x6B, 0x00, 0x02])
    talk = ModbusDialect(0x11, 0x6B, 9600, 11, count=2, table="holding").talk()
    talk.say(Hello(), 0.0)

    assert talk.due(0.0) == framed(body)
    assert framed(b"\x02\x07") == b"\x02\x07\x41\x12"  # the standard's check, V1.02, appendix B


def test_answers_are_samples() -> None:
    batch = DIALECT.decoder().feed(answer(1250) + answer(0xFFFF))

    assert batch.samples.raw.tolist() == [1250, -1]
    assert batch.samples.seq.tolist() == [0, 1]
    assert batch.whole_after.tolist() == [7, 14]
    assert batch.bad_frames == 0


@pytest.mark.parametrize(
    ("keys", "registers", "wanted"),
    [
        ({}, (0x8000,), -32768),
        ({"signed": False}, (0x8000,), 32768),
        ({"invalid": -32768}, (0x8000,), ABSENT),
        ({"invalid": 32768}, (0x8000,), ABSENT),
        ({"count": 2}, (0x0001, 0x0002), 65538),
        ({"count": 2, "word_order": "little"}, (0x0001, 0x0002), 131073),
        ({"count": 2}, (0xFFFF, 0xFFFE), -2),
        ({"count": 2, "signed": False}, (0xFFFF, 0xFFFE), ABSENT),
        ({"count": 2}, (0x8000, 0), ABSENT),
        ({"count": 2, "invalid": 2**31 - 1}, (0x7FFF, 0xFFFF), ABSENT),
        ({"table": "holding"}, (5,), 5),
        # IEEE 754 single precision, by hand: 0 10000000 10..0 is 2 * 1.5, 1 01111110 0..0 is -0.5
        ({"count": 2, "decimals": 3}, (0x4040, 0x0000), 3000),
        ({"count": 2, "decimals": 2, "word_order": "little"}, (0x0000, 0xBF00), -50),
        ({"count": 2, "decimals": 3}, (0x7FC0, 0x0000), ABSENT),  # not a number
        ({"count": 2, "decimals": 3}, (0xFF80, 0x0000), ABSENT),  # minus infinity
        ({"count": 2, "decimals": 9}, (0x4040, 0x0000), ABSENT),  # more than an int32 holds
        ({"count": 2, "decimals": 1, "invalid": 3}, (0x4040, 0x0000), ABSENT),
    ],
)
def test_what_registers_mean(
    keys: dict[str, object], registers: tuple[int, ...], wanted: int
) -> None:
    dialect = dialect_of("modbus", {**DIALECT.settings(), **keys})
    function = 3 if keys.get("table") == "holding" else 4

    assert dialect.decoder().feed(answer(*registers, function=function)).samples.raw == [wanted]


@pytest.mark.parametrize(
    "rubbish",
    [
        b"\x00",
        b"\x07",
        b"\x07\x04",
        b"\x07\x04\x02",
        b"\x07\x07\x04\x02\x00",
        b"\xff" * 300,
        answer(5)[:-1],
        answer(5)[:-1] + b"\x00",
        answer(5, unit=8),
        answer(5, function=3),
        answer(5, 6),
        framed(bytes([8, 0x84, 2])),
    ],
)
def test_an_answer_is_found_behind_rubbish(rubbish: bytes) -> None:
    decoder = DIALECT.decoder()

    batch = decoder.feed(answer(1) + rubbish + answer(2) + answer(3))

    assert batch.samples.raw.tolist() == [1, 2, 3]
    assert batch.samples.seq.tolist() == [0, 2, 3]
    assert batch.bad_frames == 1
    assert rubbish.startswith(batch.bad_example)
    assert batch.bad_example


def test_rubbish_before_the_first_answer_may_be_left_uncounted() -> None:
    batch = DIALECT.decoder(skip_first=True).feed(answer(5)[3:] + answer(2))

    assert (batch.samples.raw.tolist(), batch.bad_frames) == ([2], 0)


def test_an_exception_is_a_sample_without_a_reading() -> None:
    batch = DIALECT.decoder().feed(answer(1) + framed(bytes([7, 0x84, 2])) + answer(3))

    assert batch.samples.raw.tolist() == [1, ABSENT, 3]
    assert batch.replies == (Reply("N", ("exception", "2"), 1),)


def test_its_settings_make_it_again() -> None:
    settings = json.loads(json.dumps(WIDE.settings()))

    assert dialect_of("modbus", settings) == WIDE
    assert not WIDE.has_clock


PIECES = st.sampled_from(
    [answer(1), answer(2, 3), framed(b"\x07\x84\x04"), b"\x07", b"\x04\x02", b"\x00", answer(9)[:5]]
)


@given(st.lists(PIECES, max_size=20), st.lists(st.integers(0, 150), max_size=8))
def test_however_answers_are_cut_the_same_comes_out(pieces: list[bytes], cuts: list[int]) -> None:
    text = b"".join(pieces)
    at = [0, *sorted(min(cut, len(text)) for cut in cuts), len(text)]
    whole = DIALECT.decoder().feed(text)
    decoder = DIALECT.decoder()
    parts = [decoder.feed(text[a:b]) for a, b in pairwise(at)]

    assert SampleBlock.concatenate(part.samples for part in parts) == whole.samples
    assert sum(part.bad_frames for part in parts) == whole.bad_frames
    assert [reply for part in parts for reply in part.replies] == list(whole.replies)
    after = [part.whole_after + a for part, a in zip(parts, at, strict=False)]
    assert np.concatenate(after).tolist() == whole.whole_after.tolist()


@given(st.lists(st.binary(max_size=300), max_size=5), st.integers(1, 2))
def test_no_bytes_make_it_raise(feeds: list[bytes], count: int) -> None:
    dialect = DIALECT if count == 1 else WIDE
    decoder = dialect.decoder()
    for feed in feeds:
        batch = decoder.feed(feed)
        assert len(batch.samples) == batch.whole_after.size
        assert len(decoder._tail) < 10


def heard(talk: ModbusTalk, data: bytes, now_s: float) -> tuple[Reply, ...]:
    return talk.hear(DIALECT.decoder().feed(data), now_s).replies


def test_hello_asks_until_it_is_answered() -> None:
    talk = DIALECT.talk()
    assert (talk.due(0.0), talk.due_in_s(0.0)) == (b"", math.inf)
    assert talk.say(Hello(), 1.0) == b""
    asked = talk.due(1.0)
    assert asked
    assert talk.due(1.2) == b""
    again_s = 1.0 + talk.due_in_s(1.0)
    assert again_s == pytest.approx(1.0 + ANSWER_S, abs=0.01)
    assert talk.due(again_s + 1e-6) == asked
    assert talk.hear(NOTHING, 1.3).replies == ()
    (reply,) = heard(talk, answer(5), 1.31)
    assert (reply.kind, reply.fields[:2]) == ("H", ("1", "modbus unit 7"))
    assert (talk.due(5.0), talk.due_in_s(5.0)) == (b"", math.inf)


@pytest.mark.parametrize("code", [1, 2, 3, 4, 77])
def test_hello_is_refused_by_an_exception(code: int) -> None:
    talk = DIALECT.talk()
    talk.say(Hello(), 0.0)
    talk.due(0.0)

    (reply,) = heard(talk, framed(bytes([7, 0x84, code])), 0.01)

    assert (reply.kind, reply.fields[0]) == ("N", "H")
    assert f"exception {code} from unit 7" in reply.fields[1]


def test_a_busy_sensor_is_asked_again() -> None:
    talk = DIALECT.talk()
    talk.say(Hello(), 0.0)
    talk.due(0.0)

    assert heard(talk, framed(bytes([7, 0x84, 6])), 0.01) == ()
    assert talk.due(0.1) == b""
    assert talk.due(0.01 + ANSWER_S + 1e-6)


def asked_at(talk: ModbusTalk, until_s: float, answers_in_s: float) -> list[float]:
    """When it asks, if every question is answered after so long."""
    now_s, asked = 0.0, []
    while True:
        now_s += talk.due_in_s(now_s)
        if now_s >= until_s:
            return asked
        if talk.due(now_s):
            asked.append(now_s)
            now_s += answers_in_s
            heard(talk, answer(1), now_s)


def test_it_asks_evenly() -> None:
    talk = DIALECT.talk()
    talk.say(Stream(50), 0.0)
    assert talk.hear(NOTHING, 0.0).replies == (Reply("A", ("G",), 0),)

    asked = asked_at(talk, 2.0, 0.004)

    np.testing.assert_allclose(np.diff(asked), 0.02, atol=1e-9)
    talk.say(Stop(), 2.0)
    assert talk.due_in_s(2.0) == math.inf


def test_a_slow_sensor_is_asked_as_fast_as_it_answers_and_never_twice_at_once() -> None:
    talk = DIALECT.talk()
    talk.say(Stream(50), 0.0)

    between = np.diff(asked_at(talk, 2.0, 0.03))

    assert (between >= 0.03 + 0.00175 - 1e-9).all()
    assert (between < 0.033).all()


def test_a_lost_answer_costs_its_time_and_no_hurry_follows() -> None:
    talk = DIALECT.talk()
    talk.say(Stream(50), 0.0)
    assert talk.due(0.0)
    lost_s = talk.due_in_s(0.0)
    assert lost_s == pytest.approx(ANSWER_S, abs=0.01)
    assert talk.due(lost_s + 1e-6)
    heard(talk, answer(1), lost_s + 0.004)
    assert talk.due_in_s(lost_s + 0.004) == pytest.approx(0.016, abs=1e-3)


def test_a_damaged_answer_is_not_waited_out() -> None:
    talk = DIALECT.talk()
    talk.say(Stream(50), 0.0)
    talk.due(0.0)

    talk.hear(DIALECT.decoder().feed(answer(1)[:-1] + b"\x00\x00"), 0.004)

    assert talk.due(0.02 + 1e-6)


def test_how_often_the_line_lets_it_be_asked() -> None:
    # 8 + 7 bytes of 10 bits at 115200, and 1.75 ms twice
    assert DIALECT.highest_hz == pytest.approx(1.0 / (150 / 115200 + 0.0035))
    # 8 + 9 of 11 bits at 19200, and 3.5 characters twice
    assert WIDE.highest_hz == pytest.approx(1.0 / ((17 + 7) * 11 / 19200))
    capped = dialect_of("modbus", {**DIALECT.settings(), "most_hz": 25.0}).talk()
    capped.say(Stream(26), 0.0)
    (reply,) = capped.hear(NOTHING, 0.0).replies
    assert reply == Reply("N", ("G", "it can be asked 25 times a second"), 0)


def test_it_moves_nothing() -> None:
    talk = DIALECT.talk()
    for command in (Move(1, None, None), Home(), Halt()):
        assert talk.say(command, 0.0) == b""

    replies = talk.hear(NOTHING, 0.0).replies

    assert [(reply.kind, reply.fields[0]) for reply in replies] == [
        ("N", "M"), ("N", "O"), ("N", "K"),
    ]  # fmt: skip
