"""A board's millimetres and the rig's counts."""

from __future__ import annotations

from dataclasses import dataclass

from daq.wire.commands import Move
from daq.wire.records import ABSENT

Counts = tuple[int, int]
NEAR_MM = 0.05
"""A driver stops a step or two beside where it was sent: common practice, no source."""
LARGEST = 2**31 - 1
DECIMALS = 4


@dataclass(frozen=True, slots=True)
class Axis:
    """letter: the word's. mm_per_count: above 0. home_mm: what the board says at count 0."""

    letter: str
    mm_per_count: float
    home_mm: float

    def counts(self, mm: float) -> int:
        """The count nearest to a place the board tells. ValueError beyond 32 bits."""
        counts = (mm - self.home_mm) / self.mm_per_count
        if not abs(counts) < LARGEST:
            raise ValueError(f"{self.letter}{mm} is out of all bounds")
        return round(counts)

    def mm(self, counts: float) -> float:
        """The place that the board calls so."""
        return counts * self.mm_per_count + self.home_mm

    def word(self, counts: float) -> str:
        """As in a line to the board, X12.345."""
        return f"{self.letter}{plain(self.mm(counts))}"

    @property
    def near(self) -> int:
        """Counts that still are the same place."""
        return max(2, round(NEAR_MM / self.mm_per_count))


@dataclass(frozen=True, slots=True)
class Axes:
    """Along, and across where the board drives that too."""

    along: Axis
    across: Axis | None

    def words(self, at: Counts) -> str:
        """A place as the board would write it."""
        x = self.along.word(at[0])
        return x if self.across is None or at[1] == ABSENT else f"{x} {self.across.word(at[1])}"

    def near(self, at: Counts, target: tuple[int | None, int | None]) -> bool:
        """Whether a place is a target; what the target leaves open does not count."""
        pairs = zip((self.along, self.across), at, target, strict=True)
        return all(
            axis is None or wanted is None or is_at == ABSENT or abs(is_at - wanted) <= axis.near
            for axis, is_at, wanted in pairs
        )

    def way_mm(self, start: Counts | None, move: Move) -> tuple[float, float]:
        """How far a move goes along and across, in mm; from an unknown start all of it is along."""
        if start is None:
            return (1.0, 0.0)
        x = 0 if move.x is None else move.x - start[0]
        y = 0 if move.y is None or start[1] == ABSENT else move.y - start[1]
        aside = y * self.across.mm_per_count if self.across else 0.0
        return x * self.along.mm_per_count, aside

    def move(self, move: Move, start: Counts | None, own_mm_s: float) -> str:
        """The line for a move: G1 X.. Y.. F..

        F is along the path (G94, as boards start up), while a move's speed is that of its longer
        way: so F is larger by what the path is longer than that. own_mm_s: without a speed.
        """
        along_mm, aside_mm = self.way_mm(start, move)
        longer_mm = max(abs(along_mm), abs(aside_mm))
        slant = (along_mm**2 + aside_mm**2) ** 0.5 / longer_mm if longer_mm else 1.0
        mm_s = own_mm_s if move.speed is None else move.speed * self.along.mm_per_count
        words = ["G1"]
        if move.x is not None:
            words.append(self.along.word(move.x))
        if move.y is not None and self.across is not None:
            words.append(self.across.word(move.y))
        return " ".join([*words, f"F{plain(60.0 * mm_s * slant)}"])


def plain(number: float) -> str:
    """Without an exponent, which RS-274 has not, and without zeros that say nothing."""
    text = f"{number:.{DECIMALS}f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
