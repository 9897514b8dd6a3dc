"""All the protocols a simulated controller can speak, by the name a rig file calls them.

What follows a colon says which of several devices that speak it.
"""

from __future__ import annotations

from collections.abc import Mapping

from sim.binary_voice import BinaryVoice
from sim.controller import Controller, Speaker, World
from sim.device import Device
from sim.gcode import GCODE, GCODE_FRAMED
from sim.line_voice import LineVoice
from sim.modbus import MODBUS
from sim.part import Part
from sim.printing import PRINTED
from sim.rigspec import RigSpec

ANY_PART = ("rig", "sensor", "carriage")


def _line(world: World, part: Part) -> Controller:
    return Device(world.bench, world.epoch, part, world.carriage, world.now_s, LineVoice())


def _binary(world: World, part: Part) -> Controller:
    return Device(world.bench, world.epoch, part, world.carriage, world.now_s, BinaryVoice(part))


def _nothing(spec: RigSpec) -> str:
    return ""


SPEAKERS: Mapping[str, Speaker] = {
    "line": Speaker(_line, ANY_PART, real_time=False, settings=_nothing),
    "binary": Speaker(_binary, ANY_PART, real_time=False, settings=_nothing),
    "gcode": GCODE,
    "gcode:framed": GCODE_FRAMED,
    "printed": PRINTED,
    "modbus": MODBUS,
}


def speakers_of(part: str) -> tuple[str, ...]:
    """The protocols that this part of a rig can speak."""
    return tuple(name for name, speaker in SPEAKERS.items() if part in speaker.parts)
