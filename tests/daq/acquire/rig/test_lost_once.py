"""A link that a write finds gone: its end is told once, and what it still sent is from before."""

from __future__ import annotations

from typing import Any

import pytest

from daq.acquire.rig.rig import Rig
from daq.files.rig import RigFile
from daq.link.faults import LinkLost
from daq.wire.line import encode


class Wire:
    """A port that a fake rig hangs on; it knows it is gone only once the last bytes were read."""

    def __init__(self, rig: Any) -> None:
        self.rig = rig
        self.gone = False

    def read(self) -> bytes:
        return bytes(self.rig.read())

    def write(self, data: bytes) -> None:
        if self.gone:
            self.rig.say(encode.sample(7, 7, 7, 7, 7), b"S,8,")
            self.rig.pull(LinkLost("/dev/fake"))
            raise LinkLost("/dev/fake")
        self.rig.write(data)

    def close(self) -> None:
        self.rig.close()


def test_a_loss_is_told_once(fake_rig: Any, rig_file: RigFile, sink: Any) -> None:
    first, second = Wire(fake_rig()), Wire(fake_rig())
    rig = Rig([first], rig_file, sink, reopen=lambda number: second)
    try:
        rig.hello()
        first.gone = True
        with pytest.raises(LinkLost):
            rig.halt()
        while b"S,8," not in sink.received:
            rig.take_in()
        rig.take_in()
        assert sink.notes == []
        rig.reconnect(1.0)
        rig.take_in()
    finally:
        rig.close()
    assert [note["note"] for note in sink.notes] == ["reconnected"]


def test_what_came_before_the_loss_is_before_its_mark(
    fake_rig: Any, rig_file: RigFile, sink: Any
) -> None:
    first, second, before = Wire(fake_rig()), Wire(fake_rig()), []
    sink.note = lambda note: before.append(sink.received)
    rig = Rig([first], rig_file, sink, reopen=lambda number: second)
    try:
        rig.hello()
        first.gone = True
        with pytest.raises(LinkLost):
            rig.halt()
        rig.reconnect(1.0)
    finally:
        rig.close()
    (received,) = before
    assert received.endswith(b"S,8,")
