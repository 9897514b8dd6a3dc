"""The simulated chip as a rig of `python -m sim`: what it can be asked for, and what it cannot."""

from __future__ import annotations

import binascii

import pytest

from sim.bench import Bench
from sim.chip import ChipFault, Firmware
from sim.chip_board import ChipBoard
from sim.controller import World
from sim.device import parked_carriage
from sim.faults import Faults
from sim.limits import Refusal
from sim.options import options
from sim.part import RIG
from sim.rigspec import RigSpec


def framed(body: str) -> bytes:
    raw = body.encode("ascii")
    return raw + b"*%04X\n" % binascii.crc_hqx(raw, 0xFFFF)


@pytest.fixture
def rig(built):
    """A chip over a strung neck, on a perfect rig, powered on at second 3 of the rig's time."""
    bench = Bench(5, Faults.none(), RigSpec())
    bench.place("neck")
    world = World(bench, parked_carriage(bench), 0, 3.0)
    firmware = Firmware(built / "rig-indicator-encoder.elf", built / "libchip.so")
    rig = ChipBoard(world, RIG, firmware)
    assert b"reset" in rig.produce(1)
    return rig


def answer(rig, body, until=b"\n"):
    rig.feed(framed(body))
    said = b""
    while until not in said:
        said += rig.produce(1)
    return said


def test_it_answers_moves_and_streams(rig):
    assert answer(rig, "H").startswith(b"H,1,reference-rig-1")
    assert not rig.moving
    answer(rig, "O", b"homed")
    assert answer(rig, "M,2000,,").startswith(b"A,M")
    rig.produce(1)
    assert rig.moving
    answer(rig, "G,400", b"S,")
    assert rig.streaming


def test_it_never_runs_past_the_time_it_is_given(rig):
    rig.produce(1, 4.0)
    assert rig.now_s == pytest.approx(4.0, abs=1e-5)
    rig.feed(framed("H"))
    assert rig.produce(1, 4.0) == b""
    assert rig.produce(1, 4.01).startswith(b"H,1")


def test_a_reader_that_has_gone_resets_the_board(rig):
    answer(rig, "O", b"homed")
    answer(rig, "M,20000,,")
    rig.hang_up()
    assert b"reset" in rig.produce(1)
    assert b"not homed" in answer(rig, "M,2,,")


def test_it_does_no_tricks(rig):
    for trick in (
        lambda: rig.trouble("repeat", True),
        lambda: rig.surplus("samples", 10),
        lambda: rig.push(10.0, 1.0, 0.0),
    ):
        with pytest.raises(Refusal):
            trick()


def test_a_program_that_is_none_is_told_by_its_name(built, tmp_path):
    empty = tmp_path / "empty.elf"
    empty.write_bytes(b"")
    bench = Bench(5, Faults.none(), RigSpec())
    world = World(bench, parked_carriage(bench), 0, 0.0)
    with pytest.raises(ChipFault, match=r"empty\.elf is no program"):
        ChipBoard(world, RIG, Firmware(empty, built / "libchip.so"))
    with pytest.raises(ChipFault, match=r"make -C"):
        ChipBoard(world, RIG, Firmware(empty, tmp_path / "none.so"))


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--chip", "none.elf"], "is not there"),
        (["--chip", "none.elf", "--links", "2"], "motor-driven rig on one link"),
        (["--chip", "none.elf", "--drive", "hand"], "motor-driven rig on one link"),
        (["--chip", "none.elf", "--protocol", "binary"], "motor-driven rig on one link"),
    ],
)
def test_a_chip_that_cannot_be_is_refused_before_anything_is_made(words, said, capsys):
    with pytest.raises(SystemExit):
        options(words)
    assert said in capsys.readouterr().err
