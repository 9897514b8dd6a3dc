"""Everything that one state's scans show of a neck."""

from __future__ import annotations

from dataclasses import dataclass

from analysis.form.across import Across, across_of
from analysis.form.along import Along, along_of
from analysis.instrument import Instrument
from analysis.neck.shape import Shape
from analysis.wear.loose import Loose, loose_frets
from analysis.wear.wear import Wear, wear_of
from daq.reading.repeats import CombinedScan


@dataclass(frozen=True, slots=True)
class Measured:
    """wear: None where the strings were on, and it hid under them. along: one a string."""

    instrument: Instrument
    shape: Shape
    read: CombinedScan
    wear: Wear | None
    loose: tuple[Loose, ...]
    along: tuple[Along, ...]
    across: Across


def measured(instrument: Instrument, shape: Shape, read: CombinedScan) -> Measured:
    """Of a shape and the scans it was read from. A fret is loose once, by what one scan shows of
    it before what repeated ones do."""
    loose = {one.fret: one for one in (*reversed(read.repeats.loose), *loose_frets(read.neck))}
    return Measured(
        instrument,
        shape,
        read,
        wear_of(read.neck, instrument) if shape.state == "unstrung" else None,
        tuple(loose[fret] for fret in sorted(loose)),
        along_of(shape, instrument),
        across_of(read.neck),
    )
