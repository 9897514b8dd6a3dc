"""G-code boards as controllers of the simulated rig: two kinds, which differ in all they say."""

from __future__ import annotations

from sim.controller import Controller, Speaker, World
from sim.gcode_board import Board
from sim.gcode_tongues import FRAMED, PLAIN, Tongue
from sim.part import Part


def _speaker(tongue: Tongue) -> Speaker:
    def make(world: World, part: Part) -> Controller:
        return Board(world, part, tongue)

    return Speaker(make, ("carriage",), real_time=True, settings=lambda spec: tongue.settings)


GCODE = _speaker(PLAIN)
GCODE_FRAMED = _speaker(FRAMED)
