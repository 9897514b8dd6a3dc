"""The serial port over a pseudo-terminal: what goes in comes out, and each fault has its line."""

from __future__ import annotations

import errno
import os
import tty
from collections.abc import Iterator
from pathlib import Path

import pytest
from serial import SerialException

from daq.errors import RigError
from daq.link.faults import cannot_open
from daq.link.serial_port import SerialLink, serial_ports


@pytest.fixture
def pty() -> Iterator[tuple[int, str]]:
    """The rig's end of a pseudo-terminal and the path of the host's end."""
    rig, host = os.openpty()
    tty.setraw(host)
    path = os.ttyname(host)
    os.close(host)
    yield rig, path
    os.close(rig)


def test_bytes_go_both_ways_unchanged(pty: tuple[int, str]) -> None:
    rig, path = pty
    link = SerialLink(path, 460800, "8N1")
    every = bytes(range(256))
    os.write(rig, every)
    came = b""
    while len(came) < len(every):
        came += link.read()
    link.write(b"H*1234\n\r\x00\xff")
    sent = os.read(rig, 100)
    link.close()
    assert came == every
    assert sent == b"H*1234\n\r\x00\xff"


def test_nothing_sent_reads_as_nothing(pty: tuple[int, str]) -> None:
    link = SerialLink(pty[1], 115200, "8N1")
    assert link.read() == b""
    link.close()
    link.close()


def test_many_bytes_come_in_few_reads(pty: tuple[int, str]) -> None:
    rig, path = pty
    link = SerialLink(path, 115200, "8N1")
    os.write(rig, b"x" * 3000)
    reads = [link.read()]
    while sum(map(len, reads)) < 3000:
        reads.append(link.read())
    link.close()
    assert len(reads) <= 3


def test_a_second_program_is_told_the_port_is_busy(pty: tuple[int, str]) -> None:
    link = SerialLink(pty[1], 115200, "8N1")
    with pytest.raises(RigError, match="is busy: another program has it open"):
        SerialLink(pty[1], 115200, "8N1")
    link.close()


def test_a_port_that_vanishes_is_a_cable_that_came_loose() -> None:
    rig, host = os.openpty()
    link = SerialLink(os.ttyname(host), 115200, "8N1")
    os.close(host)
    os.close(rig)
    with pytest.raises(RigError, match=r"the cable to /dev/pts/.* came loose"):
        link.read()
    with pytest.raises(RigError, match="came loose"):
        link.write(b"K")
    link.close()


def test_an_absent_port_is_named(tmp_path: Path) -> None:
    with pytest.raises(RigError, match=r"there is no port .*ttyNONE: ") as caught:
        SerialLink(str(tmp_path / "ttyNONE"), 115200, "8N1")
    assert "\n" not in str(caught.value)


def test_a_file_is_no_serial_port(tmp_path: Path) -> None:
    plain = tmp_path / "plain"
    plain.touch()
    with pytest.raises(RigError, match="does not open as a serial port"):
        SerialLink(str(plain), 115200, "8N1")


def test_an_absent_port_lists_those_there_are() -> None:
    gone = SerialException(errno.ENOENT, "no such file")
    line = str(cannot_open("/dev/ttyACM0", 9600, gone, ["/dev/ttyUSB1", "/dev/ttyS0"]))
    assert line == (
        "there is no port /dev/ttyACM0: the serial ports there are: /dev/ttyS0, /dev/ttyUSB1; "
        "set one in the rig file"
    )


def test_no_permission_names_the_group(tmp_path: Path) -> None:
    port = tmp_path / "ttyX"
    port.touch()
    line = str(cannot_open(str(port), 9600, PermissionError(errno.EACCES, "no"), []))
    assert f"it belongs to the group {port.group()}" in line


def test_a_baud_rate_no_port_knows() -> None:
    assert "cannot run at 7 baud" in str(cannot_open("/dev/ttyS0", 7, ValueError("no"), []))


def test_serial_ports_are_paths() -> None:
    assert all(port.startswith("/") for port in serial_ports())
