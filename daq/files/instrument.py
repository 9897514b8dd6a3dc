"""The instrument file: what stands on the bench, as its maker or a tape measure says."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

from pydantic import BeforeValidator

from analysis.instrument import Instrument, StringSpec
from analysis.strings.materials import MATERIALS
from analysis.strings.pitch import note_frequency_hz
from daq.files.checks import Choice, Entries, Flag, Number, Pair, Text, Whole
from daq.files.instrument_checks import (
    MM_PER_INCH,
    Note,
    OneOrEach,
    OneOrTwo,
    Scale,
    inches_not_mm,
    mm_not_inches,
)
from daq.files.instrument_rules import instrument_rules
from daq.files.read import read_text
from daq.files.strings_map import BY_STRING, MOST_STRINGS, StringNumber, every_string
from daq.files.userfile import Keys, UserFile, parse

ScaleLength = Annotated[float, BeforeValidator(Number(200, 1200, "mm", mm_not_inches(8, 47)))]
Radius = Annotated[float, BeforeValidator(Number(50, 10_000, "mm", mm_not_inches(2, 40)))]
Width = Annotated[float, BeforeValidator(Number(25, 150, "mm", mm_not_inches(1, 5)))]
Spacing = Annotated[float, BeforeValidator(Number(2, 30, "mm"))]
Action = Annotated[float, BeforeValidator(Number(0.3, 6, "mm"))]
NutGap = Annotated[float, BeforeValidator(Number(0.05, 3, "mm"))]
Past = Annotated[float, BeforeValidator(Number(-5, 15, "mm"))]
#: saddles just where the scale ends
NO_PAST = {1: 0.0}


class ScaleEntry(Keys):
    """Scale length; bass and treble alike where one number was given."""

    bass: ScaleLength
    treble: ScaleLength
    square_fret: Annotated[int, BeforeValidator(Whole(0, 36))]


class Board(Keys):
    """The board at the nut and at the last fret."""

    radius_mm: Annotated[tuple[Radius, Radius], BeforeValidator(OneOrTwo())]
    width_mm: Annotated[tuple[Width, Width], BeforeValidator(Pair("a list [nut, last fret] in mm"))]


class StringEntry(Keys):
    """One string. Without mass_kg_per_m its mass is that of its material at its diameter."""

    note: Annotated[str, BeforeValidator(Note())]
    gauge_in: Annotated[float, BeforeValidator(Number(0.005, 0.15, "inch", inches_not_mm))]
    wound: Annotated[bool, BeforeValidator(Flag())] = False
    mass_kg_per_m: Annotated[float, BeforeValidator(Number(1e-5, 0.1, "kg/m"))] | None = None
    material: Annotated[str, BeforeValidator(Choice(tuple(MATERIALS)))] = "steel"
    core_mm: Annotated[float, BeforeValidator(Number(0.1, 3, "mm"))] | None = None
    core_in: Annotated[float, BeforeValidator(Number(0.004, 0.12, "inch"))] | None = None

    @property
    def spec(self) -> StringSpec:
        """The string as the analysis takes it."""
        return StringSpec(
            note=self.note,
            frequency_hz=note_frequency_hz(self.note),
            diameter_mm=self.gauge_in * MM_PER_INCH,
            wound=self.wound,
            mass_kg_per_m=self.mass_kg_per_m,
            material=self.material,
            core_mm=self.core_mm if self.core_in is None else self.core_in * MM_PER_INCH,
        )


class InstrumentFile(UserFile):
    """A checked instrument file."""

    name: Annotated[str, BeforeValidator(Text())]
    scale_mm: Annotated[ScaleEntry, BeforeValidator(Scale())]
    frets: Annotated[int, BeforeValidator(Whole(12, 36))]
    body_joint_fret: Annotated[int, BeforeValidator(Whole(8, 35))]
    board: Board
    nut_at_mm: Annotated[float, BeforeValidator(Number(0, 5000, "mm"))]
    strings: Annotated[
        tuple[StringEntry, ...],
        BeforeValidator(Entries(3, MOST_STRINGS, "strings, string 1 first")),
    ]
    spacing_mm: Annotated[
        tuple[Spacing, Spacing], BeforeValidator(Pair("a list [nut, bridge] in mm"))
    ]
    action_mm: Annotated[dict[StringNumber, Action], BeforeValidator(BY_STRING)]
    nut_gap_mm: Annotated[dict[StringNumber, NutGap], BeforeValidator(BY_STRING)]
    compensation_mm: Annotated[dict[StringNumber, Past], BeforeValidator(OneOrEach())] = NO_PAST
    u_action_mm: Annotated[float, BeforeValidator(Number(0.001, 0.5, "mm"))] = 0.02

    @property
    def record(self) -> Instrument:
        """The instrument as the analysis takes it, every string filled in."""
        count = len(self.strings)
        return Instrument(
            name=self.name,
            scale_bass_mm=self.scale_mm.bass,
            scale_treble_mm=self.scale_mm.treble,
            square_fret=self.scale_mm.square_fret,
            frets=self.frets,
            body_joint_fret=self.body_joint_fret,
            board_radius_mm=self.board.radius_mm,
            board_width_mm=self.board.width_mm,
            nut_at_mm=self.nut_at_mm,
            strings=tuple(entry.spec for entry in self.strings),
            spacing_mm=self.spacing_mm,
            action_mm=every_string(self.action_mm, count),
            nut_gap_mm=every_string(self.nut_gap_mm, count),
            compensation_mm=every_string(self.compensation_mm, count),
            u_action_mm=self.u_action_mm,
        )


def load_instrument(path: Path) -> InstrumentFile:
    """Read and check an instrument file. Raises InputError with one line for every fault."""
    return parse_instrument(read_text(path, "instrument file"), str(path))


def parse_instrument(text: str, name: str) -> InstrumentFile:
    """Check an instrument file's text, for example from a scan file.

    name: what the text is called in messages. Raises InputError as `load_instrument` does.
    """
    return parse(InstrumentFile, instrument_rules, text, name)
