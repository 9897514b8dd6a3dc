"""Frames as the protocol's page has them, byte for byte, into the real firmware and out of it."""

import re
from pathlib import Path

import pytest

PAGE = Path(__file__).parents[2] / "rig_configs" / "line-protocol.md"

SPOKEN = [
    (b"H*283C\n", b"H,1,reference-rig-1,400*1B90\n"),
    (b"G,400*356F\n", b"A,G*9DA9\n"),
    (b"X*3A0D\n", b"A,X*7E77\n"),
    (b"O*58DB\n", b"A,O*1CA1\n"),
    (b"M,120000,,5000*54E7\n", b"A,M*3CE3\n"),
    (b"M,,-250,*B59D\n", b"A,M*3CE3\n"),
    (b"M,120000,0,5000*CA26\n", b"A,M*3CE3\n"),
    (b"K*185F\n", b"A,K*5C25\n"),
]


def test_the_pinned_commands_are_those_of_the_page():
    """All worked frames of the page that a host says are among those spoken here."""
    said = re.findall(r"^(?:> )?([HGXMOK](?:,[^*\n]*)?\*[0-9A-F]{4})$", PAGE.read_text(), re.M)
    from_host = {line.encode() + b"\n" for line in said if not line.startswith("H,")}
    assert from_host == {command for command, _ in SPOKEN}


@pytest.mark.parametrize(("command", "answer"), SPOKEN)
def test_a_worked_frame_gets_its_pinned_answer(homed, command, answer):
    homed.chip.hear(command)
    assert homed.raw(0.002).startswith(answer)


@pytest.mark.parametrize(
    "command", [b"H*283C\r\n", b"\nH*283C\n", b"rubbish\nH*283C\n", b"H*283C\nX*3A"]
)
def test_what_stands_around_a_frame_does_not_hurt_it(homed, command):
    homed.chip.hear(command)
    assert homed.raw(0.01) == b"H,1,reference-rig-1,400*1B90\n"


def test_a_byte_at_a_time(homed):
    said = b""
    for byte in b"H*283C\n":
        homed.chip.hear(bytes([byte]))
        said += homed.raw(0.003)
    assert said == b"H,1,reference-rig-1,400*1B90\n"


def test_power_on_is_told(board):
    fresh = board()
    fresh.chip.reset()
    (said,) = fresh.run(0.02)
    assert re.fullmatch(r"E,\d+,reset", said)
