"""Sensors that print: lines in, samples out; the clock is the count of lines."""

from __future__ import annotations

import json
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from daq.wire.commands import Halt, Hello, Home, Move, Stop, Stream
from daq.wire.dialects import dialect_of
from daq.wire.printed.decode import LONGEST_LINE, PrintedDecoder
from daq.wire.printed.dialect import PrintedDialect
from daq.wire.records import ABSENT, Batch, Reply, SampleBlock

DIALECT = PrintedDialect("D {value} mm", 3, 50, ["----"])


def decoded(*feeds: bytes, dialect: PrintedDialect = DIALECT) -> Batch:
    """All of them, by one decoder; the first line is lost, as it is on any port."""
    return together(dialect.decoder(), *feeds)


def together(decoder: PrintedDecoder, *feeds: bytes) -> Batch:
    batches = [decoder.feed(feed) for feed in feeds]
    offsets = np.cumsum([0, *(len(feed) for feed in feeds)])
    whole = [batch.whole_after + at for batch, at in zip(batches, offsets, strict=False)]
    return Batch(
        SampleBlock.concatenate(batch.samples for batch in batches),
        (),
        (),
        sum(batch.bad_frames for batch in batches),
        b"",
        np.concatenate(whole),
    )


def test_a_line_a_sample() -> None:
    batch = decoded(b"3 mm\nD 1.25 mm\nD ---- mm\nD -1 mm\n")

    samples = batch.samples
    assert samples.raw.tolist() == [1250, ABSENT, -1000]
    assert samples.seq.tolist() == [0, 1, 2]
    assert samples.t_us.tolist() == [0, 20_000, 40_000]
    assert set(samples.y.tolist()) == {ABSENT} == set(samples.temp.tolist())
    assert batch.bad_frames == 0
    assert batch.whole_after.tolist() == [15, 25, 33]


@pytest.mark.parametrize("end", [b"\n", b"\r", b"\r\n", b"\r\n\r\n"])
def test_lines_end_as_they_like(end: bytes) -> None:
    text = b"D 1 mm".join([b"", end, end, end])

    assert decoded(text).samples.raw.tolist() == [1000, 1000]


def test_what_is_left_of_the_first_line_is_no_reading() -> None:
    # D 12.5 mm was cut in two by the opening of the port
    dialect = PrintedDialect("{value} mm", 3, 50)

    assert decoded(b"2.5 mm\n12.5 mm\n", dialect=dialect).samples.raw.tolist() == [12500]


def test_a_damaged_line_is_counted_and_still_a_line() -> None:
    batch = decoded(b"\nD 1 mm\nD 2\xffmm\nD 3 mm\n")

    assert batch.bad_frames == 1
    assert batch.samples.raw.tolist() == [1000, 3000]
    assert batch.samples.seq.tolist() == [0, 2]
    assert batch.samples.t_us.tolist() == [0, 40_000]


def test_two_lines_without_an_end_between_are_one_bad_one() -> None:
    batch = decoded(b"\nD 1 mm\nD 2 mmD 3 mm\nD 4 mm\n")

    assert batch.bad_frames == 1
    assert batch.samples.raw.tolist() == [1000, 4000]
    assert batch.samples.seq.tolist() == [0, 2]


def test_a_number_that_no_count_holds_is_a_bad_line() -> None:
    batch = DIALECT.decoder().feed(b"\nD 1 mm\nD 9.9e37 mm\nD 2 mm\n")

    assert (batch.bad_frames, batch.bad_example) == (1, b"D 9.9e37 mm")
    assert batch.samples.seq.tolist() == [0, 2]


def test_a_line_without_an_end_is_counted_once_and_not_kept() -> None:
    decoder = DIALECT.decoder()
    decoder.feed(b"\nD 1 mm\n")

    counted = [decoder.feed(b"x" * 100).bad_frames for _ in range(1000)]

    assert sum(counted) == 1
    assert counted.index(1) == LONGEST_LINE // 100
    assert decoder.feed(b"x\nD 2 mm\n").bad_frames == 0


def test_the_counts_wrap() -> None:
    decoder = DIALECT.decoder()
    decoder.feed(b"\n")
    decoder._count = 2**32 - 1

    samples = decoder.feed(b"D 1 mm\nD 2 mm\n").samples

    assert samples.seq.tolist() == [2**32 - 1, 0]
    assert np.diff(samples.t_us).tolist() == [20_000]


PIECES = st.sampled_from(
    [b"D 1.5 mm", b"D ---- mm", b"----", b"\n", b"\r", b"\r\n", b"D 2", b"\xff", b"x" * 200]
)


@given(st.lists(PIECES, max_size=40), st.lists(st.integers(0, 3000), max_size=10))
def test_however_it_is_cut_the_same_comes_out(pieces: list[bytes], cuts: list[int]) -> None:
    text = b"".join(pieces)
    at = [0, *sorted(min(cut, len(text)) for cut in cuts), len(text)]

    whole = decoded(text)
    parts = decoded(*(text[a:b] for a, b in pairwise(at)))

    assert parts == whole
    assert parts.whole_after.tolist() == whole.whole_after.tolist()


@given(st.lists(st.binary(max_size=300), max_size=6))
def test_nothing_makes_it_raise(feeds: list[bytes]) -> None:
    batch = decoded(b"\n", *feeds)

    assert len(batch.samples) == batch.whole_after.size


def test_its_settings_make_it_again() -> None:
    dialect = PrintedDialect("D {value}", 2, 10, ["OL"], False, "S\r", "Q\r")

    again = dialect_of("printed", json.loads(json.dumps(dialect.settings())))

    assert again.settings() == dialect.settings()
    assert (again.has_clock, DIALECT.has_clock) == (False, True)


NOTHING = Batch(SampleBlock.empty(), (), (), 0, b"")


def test_hello_is_answered_by_the_first_line() -> None:
    talk, decoder = DIALECT.talk(), DIALECT.decoder()

    assert talk.say(Hello(), 0.0) == b""
    assert talk.hear(NOTHING, 0.1).replies == ()
    heard = talk.hear(decoder.feed(b"\nD 1 mm\n"), 0.2)
    assert heard.replies == (Reply("H", ("1", "printed", "50"), 0),)
    assert talk.hear(decoder.feed(b"D 1 mm\n"), 0.3).replies == ()


def test_what_it_answers_itself() -> None:
    talk = DIALECT.talk()

    for command in (Stream(50), Stop(), Stream(51), Move(1, None, None), Home(), Halt()):
        assert talk.say(command, 0.0) == b""

    replies = talk.hear(NOTHING, 0.0).replies
    assert [(reply.kind, reply.fields[0]) for reply in replies] == [
        ("A", "G"), ("A", "X"), ("N", "G"), ("N", "M"), ("N", "O"), ("N", "K"),
    ]  # fmt: skip
    assert talk.hear(NOTHING, 0.0).replies == ()


def test_what_starts_and_stops_it_is_sent() -> None:
    talk = PrintedDialect("{value}", 0, 10, start="GO\r\n", stop="\x18").talk()

    sent = [talk.say(command, 0.0) for command in (Hello(), Stream(10), Stop(), Halt())]

    assert sent == [b"GO\r\n", b"GO\r\n", b"\x18", b""]
