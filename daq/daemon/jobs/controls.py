"""What can be moved by a number: what a person calls it, how far it goes and by which steps."""

from __future__ import annotations

from dataclasses import dataclass

from analysis.instrument import Instrument
from analysis.plan.limits import SADDLE_RANGE_MM, nut_range_mm
from analysis.rod.rod import MOST_TURNS
from daq.errors import InputError
from daq.files.checks import is_number
from daq.files.faults import describe
from daq.files.playing_rules import FURTHEST_PLUCK
from daq.files.target import MOST_HOLLOW_MM, MOST_OFF_MM


@dataclass(frozen=True, slots=True)
class Control:
    """name, unit: in a person's words. whole: it goes by whole numbers, such as frets."""

    name: str
    unit: str
    least: float
    most: float
    step: float
    whole: bool = False

    @property
    def range(self) -> tuple[float, float, float]:
        """least, most, step."""
        return self.least, self.most, self.step

    def number(self, value: object) -> float:
        """The number as it is asked for. Raises InputError in words."""
        good = is_number(value) and self.least <= float(value) <= self.most  # type: ignore[arg-type]
        if not good or (self.whole and float(value) != round(float(value))):  # type: ignore[arg-type]
            raise InputError(f"{self.name}: found {describe(value)}; allowed {self.allowed}")
        return float(value)  # type: ignore[arg-type]

    @property
    def allowed(self) -> str:
        """a number from 0.3 to 6 mm"""
        what = "a whole number" if self.whole else "a number"
        unit = f" {self.unit}" if self.unit else ""
        return f"{what} from {self.least:g} to {self.most:g}{unit}"


def controls_of(instrument: Instrument) -> dict[str, Control]:
    """Every number that can be moved, by its path. Narrower than a file may go: a finger that
    slides must find the place (own choice)."""
    return {**_player(instrument), **_screws(instrument), **_shape(instrument)}


def _player(it: Instrument) -> dict[str, Control]:
    last = len(it.strings)
    half = FURTHEST_PLUCK * min(it.scale_bass_mm, it.scale_treble_mm)
    return {
        "pluck_force_n": Control("pluck force", "N", 0.05, 2.0, 0.01),
        "pluck_from_saddle_mm": Control("pluck point", "mm from the saddle", 10, half // 5 * 5, 5),
        "bend_semitones": Control("widest bend", "semitones", 0, 4, 0.5),
        "least_fret_mm": Control("least fret height", "mm", 0.3, 1.5, 0.05),
        "guard": Control("guard", "standard uncertainties", 0, 4, 0.1),
        "action.first_mm": Control("highest action, string 1", "mm", 0.5, 5, 0.05),
        "action.last_mm": Control(f"highest action, string {last}", "mm", 0.5, 5, 0.05),
    }


def _screws(it: Instrument) -> dict[str, Control]:
    low, high = SADDLE_RANGE_MM
    least, most = (one.tolist() for one in nut_range_mm(it))
    numbers = range(1, len(it.strings) + 1)
    return {
        "rod": Control("rod", "turns, tightening positive", -MOST_TURNS, MOST_TURNS, 0.025),
        **{
            f"saddle.{n}": Control(f"saddle, string {n}", "mm, up positive", low, high, 0.01)
            for n in numbers
        },
        **{
            f"nut.{n}": Control(
                f"nut slot, string {n}",
                "mm, up positive",
                round(least[n - 1], 4),
                most[n - 1],
                0.01,
            )
            for n in numbers
        },
    }


def _shape(it: Instrument) -> dict[str, Control]:
    off, hollow = 1e3 * MOST_OFF_MM, 1e3 * MOST_HOLLOW_MM
    away = "µm above its top as measured"
    return {
        "shape.from": Control("first anchor", "(a fret)", 1, it.frets, 1, whole=True),
        "shape.to": Control("last anchor", "(a fret)", 1, it.frets, 1, whole=True),
        "shape.from_off_um": Control("off the first anchor", away, -off, off, 5),
        "shape.to_off_um": Control("off the last anchor", away, -off, off, 5),
        "shape.hollow_um": Control("hollow of the shape", "µm", 0, hollow, 5),
    }
