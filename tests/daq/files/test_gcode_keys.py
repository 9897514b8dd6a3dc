"""The group `gcode` of a link: what is refused, and the dialect that comes of it."""

from __future__ import annotations

import pytest

from daq.errors import InputError
from daq.files.rig import RigFile, parse_rig

TEXT = """\
name: g
links:
  probe: {port: /dev/a, baud: 460800, protocol: line}
  axis:
    port: /dev/b
    baud: 115200
    protocol: gcode
    gcode:
      halt: "!"
      position: "X:{x} Y:{y} {any}"
carriage:
  link: axis
  drive: motor
  mm_per_count: 0.005
  travel_mm: [0, 640]
  speed_mm_s: 25
  cross: {mm_per_count: -0.01}
sensor: {link: probe, kind: contact, mm_per_count: 0.001, rate_hz: 400, tip_radius_mm: 1.0}
pads: [{from_mm: 4, to_mm: 16}, {from_mm: 600, to_mm: 614}]
"""
WITH_X = TEXT.replace("X:{x} Y:{y} {any}", "X:{x} {any}")


def faults(text: str) -> str:
    with pytest.raises(InputError) as caught:
        parse_rig(text, "rig.yaml")
    return str(caught.value)


def rig(text: str = TEXT) -> RigFile:
    return parse_rig(text, "rig.yaml")


def test_the_dialect_knows_what_counts_are_worth() -> None:
    board = rig().dialects[-1]

    assert (board.protocol, board.has_clock) == ("gcode", False)
    assert board.settings()["mm_per_count"] == 0.005
    assert board.settings()["cross_mm_per_count"] == -0.01
    assert board.settings()["own_mm_s"] == 25.0
    samples = board.decoder().feed(b"X:1.00 Y:2.00\n").samples
    assert (samples.x.tolist(), samples.y.tolist()) == ([200], [200])


def test_without_a_cross_slide_there_need_be_no_y() -> None:
    board = rig(WITH_X.replace("  cross: {mm_per_count: -0.01}\n", "")).dialects[-1]

    assert len(board.decoder().feed(b"X:1.00\n").samples) == 1


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('halt: "!"', "most_hz: 30", "links.axis.gcode.halt: found nothing; allowed a line such"),
        ('halt: "!"', 'halt: "\\n"', "links.axis.gcode.halt: found text"),
        ('halt: "!"', 'halt: "!"\n      most_hz: 5', "a number from 20 to 200 Hz"),
        ('halt: "!"', 'halt: "!"\n      y_axis: X', "found X, which is x_axis already"),
        ('halt: "!"', 'halt: "!"\n      x_axis: Q', "gcode.x_axis: found text 'Q'"),
        ('halt: "!"', 'halt: "!"\n      homes: G28', "found an unknown key"),
        ("X:{x}", "X:{z}", "{z} is no place: a place is {x} or {y} or {any}"),
        ("Y:{y}", "Y:{x}", "write {x} once"),
        (" {any}", "{any}", "put what stands between"),
        ("protocol: gcode", "protocol: line", "this group only where protocol is gcode"),
        ("drive: motor", "drive: hand", "motor there"),
        ("link: probe", "link: axis", "what speaks it reads no sensor"),
    ],
)
def test_what_is_refused(old: str, new: str, said: str) -> None:
    assert old in TEXT
    assert said in faults(TEXT.replace(old, new))


def test_a_slide_that_is_driven_is_to_be_told() -> None:
    assert "allowed {y} in it too, as the carriage has a cross slide" in faults(WITH_X)
