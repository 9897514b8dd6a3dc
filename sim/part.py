"""Which part of the rig a controller is: all of it, or one of two.

On a rig of two links each port has a controller of its own: own device id, own 32-bit
microsecond clock (another start, and a rate that differs by Faults.clock_ppm), own `seq`.

carriage: counts and drives. Obeys H, G, X, M, O and K. Its samples carry x and y and an
    empty raw: `S,<seq>,<t>,<x>,<y>,`.
sensor: reads. Obeys H, G and X, and refuses M, O and K. Its samples carry x = 0, an empty y
    and the reading: `S,<seq>,<t>,0,,<raw>[,<temp>]`; `overrange` is its event.

Both stream only when told to, each at the rate it was told, each on its own clock, and both
show the same world: a sample of either was taken at the moment its own clock says.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Part:
    """clock_share: which share of the clocks' difference this one has."""

    name: str
    reads: bool
    drives: bool
    clock_share: float = 0.0
    by_hand: bool = False


RIG = Part("rig", reads=True, drives=True)
HAND_RIG = Part("rig", reads=True, drives=True, by_hand=True)
CARRIAGE = Part("carriage", reads=False, drives=True, clock_share=-0.5)
HAND_CARRIAGE = Part("carriage", reads=False, drives=True, clock_share=-0.5, by_hand=True)
SENSOR = Part("sensor", reads=True, drives=False, clock_share=0.5)


def parts(links: int, by_hand: bool) -> tuple[Part, ...]:
    """The controllers of a rig of one or two links."""
    if links == 1:
        return (HAND_RIG if by_hand else RIG,)
    # The carriage first: what it is told in a turn of the loop, the sensor sees in that turn.
    return (HAND_CARRIAGE if by_hand else CARRIAGE, SENSOR)
