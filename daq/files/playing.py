"""Playing profiles: one that comes with the program, or a file of the same keys."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Annotated

from pydantic import BeforeValidator

from analysis.strings.playing import BUILT_IN, PlayingProfile, built_in_profile
from daq.errors import InputError
from daq.files.checks import Number, Text
from daq.files.faults import Fault, describe, nearest
from daq.files.known import Known
from daq.files.read import read_text
from daq.files.strings_map import BY_STRING, StringNumber
from daq.files.userfile import UserFile, parse

Height = Annotated[float, BeforeValidator(Number(0.3, 6, "mm"))]


class PlayingFile(UserFile):
    """A checked playing file."""

    name: Annotated[str, BeforeValidator(Text())]
    pluck_force_n: Annotated[float, BeforeValidator(Number(0.02, 10, "N"))]
    pluck_from_saddle_mm: Annotated[float, BeforeValidator(Number(5, 500, "mm"))]
    bend_semitones: Annotated[float, BeforeValidator(Number(0, 5, "semitones"))]
    least_fret_mm: Annotated[float, BeforeValidator(Number(0.1, 2, "mm"))]
    highest_action_mm: Annotated[dict[StringNumber, Height], BeforeValidator(BY_STRING)]
    guard: Annotated[float, BeforeValidator(Number(0, 6, "standard uncertainties"))]

    @property
    def record(self) -> PlayingProfile:
        """The profile as the analysis takes it."""
        return PlayingProfile(
            name=self.name,
            pluck_force_n=self.pluck_force_n,
            pluck_from_saddle_mm=self.pluck_from_saddle_mm,
            bend_semitones=self.bend_semitones,
            least_fret_mm=self.least_fret_mm,
            highest_action_mm=dict(self.highest_action_mm),
            guard=self.guard,
        )


def load_playing(name_or_path: str, strings: int) -> PlayingProfile:
    """A built-in profile by name, or a playing file by path.

    strings: how many the instrument has; a built-in profile's highest action runs over all.
    Raises InputError: one line for an unknown name, one line for every fault of a file.
    """
    if name_or_path in BUILT_IN:
        return built_in_profile(name_or_path, strings)
    path = Path(name_or_path)
    # a bare word is a name; whether such a file happens to lie here must not change its meaning
    if not path.suffix and path.name == name_or_path:
        raise InputError(_unknown(name_or_path))
    return parse_playing(read_text(path, "playing file"), name_or_path).record


def parse_playing(text: str, name: str) -> PlayingFile:
    """Check a playing file's text; `name` is what it is called in messages."""
    return parse(PlayingFile, _no_rules, text, name)


def _unknown(name: str) -> str:
    hint = nearest(name, BUILT_IN)
    allowed = f"{', '.join(BUILT_IN)} or the path of a YAML file"
    said = f"playing profile: found {describe(name)}; allowed {allowed}"
    return f"{said}; {hint}" if hint else said


def _no_rules(_: Known) -> Iterator[Fault]:
    yield from ()
