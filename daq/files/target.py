"""Target files: what is asked of a plan, the player with it."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial
from pathlib import Path
from typing import Annotated, Any

from pydantic import BeforeValidator

from analysis.instrument import Instrument
from analysis.plan.target import AskedShape, Held, Target
from analysis.strings.kinds import profile_for
from analysis.strings.playing import BUILT_IN, PlayingProfile
from daq.files.checks import Choice, Entries, Number, Pair
from daq.files.located import Located, locate, located_data
from daq.files.playing import Fret, PlayingFile
from daq.files.read import read_text
from daq.files.strings_map import StringNumber
from daq.files.target_checks import BY_HAND, TURNED, ByHand
from daq.files.target_rules import target_rules
from daq.files.userfile import Keys, UserFile, parse_located

#: Further off, or deeper, is no shape for a neck (own choice).
MOST_OFF_MM, MOST_HOLLOW_MM = 0.5, 0.5
_SOME = Entries(0, 36 * 12, "entries")
_Off = Annotated[float, BeforeValidator(Number(0, MOST_OFF_MM, "mm", either_sign=True))]
_Hollow = Annotated[float, BeforeValidator(Number(0, MOST_HOLLOW_MM, "mm"))]


class HeldKeys(Keys):
    """Where nothing is cut."""

    frets: Annotated[tuple[Fret, ...], BeforeValidator(_SOME)] = ()
    strings: Annotated[tuple[StringNumber, ...], BeforeValidator(_SOME)] = ()
    places: Annotated[
        tuple[Annotated[tuple[Fret, StringNumber], BeforeValidator(Pair("[fret, string]"))], ...],
        BeforeValidator(_SOME),
    ] = ()

    @property
    def record(self) -> Held:
        return Held(frozenset(self.frets), frozenset(self.strings), frozenset(self.places))


class ShapeKeys(Keys):
    """What no top may stand above."""

    frets: Annotated[tuple[Fret, Fret], BeforeValidator(Pair("a list of two anchor frets"))]
    off_mm: Annotated[tuple[_Off, _Off], BeforeValidator(Pair("a list of two, for each anchor"))]
    hollow_mm: _Hollow = 0.0

    @property
    def record(self) -> AskedShape:
        return AskedShape(self.frets, self.off_mm, self.hollow_mm)


class TargetFile(UserFile):
    """A checked target file. playing: a built-in profile's name, or the keys of a playing file."""

    rod: Annotated[str | float, BeforeValidator(TURNED)] = "free"
    saddles: Annotated[str | Mapping[int, float], BeforeValidator(BY_HAND)] = "free"
    nut: Annotated[str | Mapping[int, float], BeforeValidator(BY_HAND)] = "free"
    hold: HeldKeys = HeldKeys()
    shape: ShapeKeys | None = None

    @property
    def target(self) -> Target:
        """As the analysis takes it."""
        given = {"rod": self.rod, "saddles": self.saddles, "nut": self.nut}
        return Target(
            keep=frozenset(name for name, asked in given.items() if asked == "keep"),
            turns=None if isinstance(self.rod, str) else self.rod,
            saddle_mm=_by_hand(self.saddles),
            nut_mm=_by_hand(self.nut),
            held=self.hold.record,
            shape=None if self.shape is None else self.shape.record,
        )


class _ByName(TargetFile):
    playing: Annotated[str, BeforeValidator(Choice(BUILT_IN))] = "everyday"


class _ByKeys(TargetFile):
    playing: PlayingFile


def load_target(path: Path, instrument: Instrument) -> tuple[PlayingProfile, Target]:
    """The player and what is asked. Raises InputError, a line for every fault."""
    return parse_target(read_text(path, "target file"), str(path), instrument)


def parse_target(text: str, name: str, instrument: Instrument) -> tuple[PlayingProfile, Target]:
    """Check a target file's text for an instrument; `name` is what it is called in messages."""
    return _checked(locate(text, name), name, instrument)


def check_target(
    asked: Mapping[str, Any], name: str, instrument: Instrument
) -> tuple[PlayingProfile, Target]:
    """The same of what stands in no file; all its faults are on line 1."""
    return _checked(located_data(asked), name, instrument)


def _checked(located: Located, name: str, instrument: Instrument) -> tuple[PlayingProfile, Target]:
    data = located.data
    by_keys = isinstance(data, Mapping) and isinstance(data.get("playing"), Mapping)
    rules = partial(target_rules, instrument)
    if by_keys:
        file = parse_located(_ByKeys, rules, located, name)
        return file.playing.record, file.target
    named = parse_located(_ByName, rules, located, name)
    return profile_for(named.playing, instrument), named.target


def _by_hand(asked: str | Mapping[int, float]) -> ByHand:
    return {} if isinstance(asked, str) else asked
