"""Frames pinned as literal bytes written out from the protocol's page."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from daq.wire.line import encode

PINNED = [
    (encode.hello(), b"H*283C\n"),
    (encode.stream(400), b"G,400*%04X\n"),
    (encode.stream(12.5), b"G,12.5*%04X\n"),
    (encode.stop(), b"X*%04X\n"),
    (encode.move(1000, -20, 5000), b"M,1000,-20,5000*%04X\n"),
    (encode.move(1000, None, None), b"M,1000,,*%04X\n"),
    (encode.move(None, 7, 300), b"M,,7,300*%04X\n"),
    (encode.home(), b"O*%04X\n"),
    (encode.halt(), b"K*%04X\n"),
    (encode.sample(1, 2, 3, None, -5, 2000), b"S,1,2,3,,-5,2000*3182\n"),
    (encode.sample(0, 0, 0, 0, 0), b"S,0,0,0,0,0*%04X\n"),
    (encode.sample(4294967295, 4294967295, -9, 8, None), b"S,4294967295,4294967295,-9,8,*%04X\n"),
    (encode.event(77, "arrived"), b"E,77,arrived*%04X\n"),
    (encode.event(77, "stalled", "at x 12"), b"E,77,stalled,at x 12*%04X\n"),
    (encode.hello_reply("rail-7", 4000), b"H,1,rail-7,4000*%04X\n"),
    (encode.accept("M"), b"A,M*%04X\n"),
    (encode.refuse("M", "not homed"), b"N,M,not homed*%04X\n"),
]


@pytest.mark.parametrize(("made", "expected"), PINNED)
def test_frame_is_the_literal_bytes(
    bitwise: Callable[[bytes], int], made: bytes, expected: bytes
) -> None:
    body = expected.rpartition(b"*")[0]
    assert made == body + b"*%04X\n" % bitwise(body)
    assert b"%" in expected or made == expected


@pytest.mark.parametrize("body", [b"", b"x" * 91, "café".encode(), b"a\nb", b"a\rb"])
def test_body_that_cannot_be_framed(body: bytes) -> None:
    with pytest.raises(ValueError, match="a frame's body"):
        encode.frame(body)


def test_longest_body_is_framed() -> None:
    assert len(encode.frame(b"x" * 90)) == 96


def test_unknown_event_word_is_refused() -> None:
    with pytest.raises(ValueError, match="not 'exploded'"):
        encode.event(1, "exploded")


@pytest.mark.parametrize("device_id", ["", "a,b"])
def test_device_id_that_would_not_come_back(device_id: str) -> None:
    with pytest.raises(ValueError, match="device id"):
        encode.hello_reply(device_id, 400)


COUNTS = st.integers(-(2**31) + 1, 2**31 - 1)


@given(
    st.lists(
        st.tuples(
            st.integers(0, 2**32 - 1),
            st.integers(0, 2**32 - 1),
            COUNTS,
            st.none() | COUNTS,
            st.none() | COUNTS,
            st.integers(-(2**15), 2**15 - 1),
        )
    ),
    st.booleans(),
)
def test_many_samples_are_each_as_one(rows: list[tuple[int | None, ...]], has_temp: bool) -> None:
    if not has_temp:
        rows = [(*row[:5], None) for row in rows]
    columns = [[row[cell] for row in rows] for cell in range(6)]
    assert encode.samples(*columns) == [encode.sample(*row) for row in rows]  # type: ignore[arg-type]
