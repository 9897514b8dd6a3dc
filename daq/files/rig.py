"""The rig file: what hangs on which port, and what its counts mean."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Literal

import numpy as np
from numpy.typing import NDArray
from pydantic import BeforeValidator

from calibration.passes import Pad
from daq.files.checks import Choice, Entries, FolderName, Group, Number, Pair, Text, Whole
from daq.files.read import read_text
from daq.files.rig_link import Link
from daq.files.rig_protocol import Counts
from daq.files.rig_rules import rig_rules
from daq.files.userfile import Keys, UserFile, parse
from daq.wire.dialect import Dialect

FloatArray = NDArray[np.float64]
CountArray = NDArray[np.integer]

FRAMINGS = tuple(f"{bits}{parity}{stop}" for bits in (8, 7) for parity in "NEO" for stop in (1, 2))
"""Data bits, parity and stop bits of a byte on the wire."""

OneLine = Annotated[str, BeforeValidator(Text())]
Position = Annotated[float, BeforeValidator(Number(-5000, 5000, "mm"))]
SignedStep = Annotated[
    float, BeforeValidator(Number(1e-7, 1, "mm a count, not 0", either_sign=True))
]


class Cross(Keys):
    """A cross slide that the rig counts and drives."""

    mm_per_count: SignedStep


class Carriage(Keys):
    """What runs along the rail. `cross` is None where the cross slide is set by hand."""

    link: OneLine
    drive: Annotated[Literal["motor", "hand"], BeforeValidator(Choice(("motor", "hand")))]
    mm_per_count: Annotated[float, BeforeValidator(Number(1e-6, 1, "mm a count"))]
    travel_mm: Annotated[
        tuple[Position, Position], BeforeValidator(Pair("a list [from, to] in mm"))
    ]
    speed_mm_s: Annotated[float, BeforeValidator(Number(0.1, 1000, "mm/s"))]
    cross: Cross | None = None


class Sensor(Keys):
    """What looks down. One of tip_radius_mm and spot_mm is None, by kind."""

    link: OneLine
    kind: Annotated[Literal["contact", "optical"], BeforeValidator(Choice(("contact", "optical")))]
    mm_per_count: SignedStep
    rate_hz: Annotated[int, BeforeValidator(Whole(1, 100_000, "Hz"))]
    tip_radius_mm: Annotated[float, BeforeValidator(Number(0.05, 20, "mm"))] | None = None
    spot_mm: Annotated[float, BeforeValidator(Number(0.0005, 5, "mm"))] | None = None


class PadEntry(Keys):
    """Ground steel fixed to the rail, in carriage millimetres."""

    from_mm: Position
    to_mm: Position


class RigFile(UserFile):
    """A checked rig file."""

    name: Annotated[str, BeforeValidator(FolderName())]
    links: Annotated[
        dict[str, Link],
        BeforeValidator(Group("a group of links, each `name: {port, baud, protocol}`")),
    ]
    carriage: Carriage
    sensor: Sensor
    pads: Annotated[tuple[PadEntry, ...], BeforeValidator(Entries(2, 20, "pads {from_mm, to_mm}"))]

    @property
    def link_names(self) -> tuple[str, ...]:
        """The links in use: the sensor's, then the carriage's where it has one of its own."""
        return tuple(dict.fromkeys((self.sensor.link, self.carriage.link)))

    @property
    def used_links(self) -> tuple[Link, ...]:
        """The links in use, in the order of `link_names`."""
        return tuple(self.links[name] for name in self.link_names)

    @property
    def dialects(self) -> tuple[Dialect, ...]:
        """How the devices behind the links in use speak, in the order of `link_names`."""
        moves = self.carriage
        counts = Counts(moves.mm_per_count, self.cross_mm_per_count, moves.speed_mm_s)
        return tuple(link.dialect(self.sensor.rate_hz, counts) for link in self.used_links)

    @property
    def pad_records(self) -> tuple[Pad, ...]:
        """The pads as the calibration room takes them."""
        return tuple(Pad(pad.from_mm, pad.to_mm) for pad in self.pads)

    @property
    def has_cross(self) -> bool:
        """Whether the rig itself moves and counts across the board."""
        return self.carriage.cross is not None

    @property
    def cross_mm_per_count(self) -> float | None:
        """None where the cross slide is set by hand."""
        return self.carriage.cross.mm_per_count if self.carriage.cross else None

    @property
    def speed_counts_s(self) -> int:
        """The rig's own speed in carriage counts a second, at least 1."""
        return max(1, round(self.carriage.speed_mm_s / self.carriage.mm_per_count))

    def x_mm(self, counts: CountArray) -> FloatArray:
        """Carriage counts to mm, same shape."""
        return np.asarray(counts * self.carriage.mm_per_count, dtype=float)

    def z_mm(self, counts: CountArray) -> FloatArray:
        """Sensor counts to mm, up, same shape; before any calibration curve."""
        return np.asarray(counts * self.sensor.mm_per_count, dtype=float)

    def x_counts(self, x_mm: float) -> int:
        """The carriage count nearest to a position."""
        return round(x_mm / self.carriage.mm_per_count)


def load_rig(path: Path) -> RigFile:
    """Read and check a rig file. Raises InputError with one line for every fault."""
    return parse_rig(read_text(path, "rig file"), str(path))


def parse_rig(text: str, name: str) -> RigFile:
    """Check a rig file's text, for example from a scan file.

    name: what the text is called in messages. Raises InputError as `load_rig` does.
    """
    return parse(RigFile, rig_rules, text, name)
