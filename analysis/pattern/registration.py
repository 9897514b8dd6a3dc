"""Where the neck lies on the rig, as the frets say."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from analysis.instrument import FloatArray, Instrument

#: Each turn of `neck_mm` leaves less than a twentieth of the error before it.
_TURNS = 7


@dataclass(frozen=True, slots=True)
class Registration:
    """carriage x = nut_mm + scale x + skew lever + fan c (x - x_square), with standard u.

    x: along the neck from the nut of the centre line, by the instrument's file. scale: carriage
    millimetres for one of the neck. skew: how the neck is turned on the rig, mm along for 1 mm
    across (lever: `lever_mm`). fan: what the scale under the last string has over that under the
    first, on fanned scales (c runs from -1/2 to 1/2). found: share of the frets the scan covers
    that were seen, over all passes. covered: bool[frets, lanes], lanes by string: whether a pass
    went there.
    """

    nut_mm: float
    u_nut_mm: float
    scale: float
    u_scale: float
    found: float
    skew: float = 0.0
    u_skew: float = 0.0
    fan: float = 0.0
    u_fan: float = 0.0
    instrument: Instrument | None = None
    covered: NDArray[np.bool_] = field(default_factory=lambda: np.ones((0, 0), dtype=bool))

    def carriage_mm(
        self, neck_x_mm: FloatArray, string: FloatArray | float | None = None
    ) -> FloatArray:
        """Where the carriage stands over x on the neck, under a string; None is the centre line.

        Broadcasts `neck_x_mm` against `string`.
        """
        x = np.asarray(neck_x_mm, dtype=float)
        straight = self.nut_mm + self.scale * x
        if string is None or self.instrument is None:
            return np.asarray(straight)
        fan = self.fan * share_across(self.instrument, string)
        lever = lever_mm(self.instrument, string, x)
        return np.asarray(straight + self.skew * lever + fan * (x - square_x_mm(self.instrument)))

    def neck_mm(
        self, carriage_x_mm: FloatArray, string: FloatArray | float | None = None
    ) -> FloatArray:
        """The inverse of `carriage_mm`, to a nanometre."""
        x = np.asarray((carriage_x_mm - self.nut_mm) / self.scale)
        # what skew and fan add changes slowly along the neck: a few turns settle it
        for _ in range(0 if string is None else _TURNS):
            x = x - (self.carriage_mm(x, string) - carriage_x_mm) / self.scale
        return x


def share_across(instrument: Instrument, string: FloatArray | float) -> FloatArray:
    """-1/2 under string 1, 1/2 under the last."""
    return (np.asarray(string, dtype=float) - 1.0) / max(len(instrument.strings) - 1, 1) - 0.5


def square_x_mm(instrument: Instrument) -> float:
    """Where frets lie square across the neck, whatever the fan."""
    middle = 0.5 * (len(instrument.strings) + 1)
    return float(instrument.fret_x_mm(instrument.square_fret, middle))


def lever_mm(
    instrument: Instrument, string: FloatArray | float, x_mm: FloatArray | float
) -> FloatArray:
    """What a turn of the neck on the rig, about its nut, shifts a fret by along a lane, mm a rad.

    The lane's y; and on fanned scales, where a lane of a turned neck strays over to the next
    strings the further from the nut the more, what their scales differ by. Broadcasts.
    """
    x = np.asarray(x_mm, dtype=float)
    y = instrument.string_y_mm(string, x)
    strings = len(instrument.strings)
    wider = instrument.scale_bass_mm - instrument.scale_treble_mm
    if wider == 0.0 or strings < 2:
        return y
    apart = instrument.string_y_mm(1.0, x) - instrument.string_y_mm(2.0, x)
    strays = x / apart
    grows = wider / (strings - 1) / instrument.scale_mm(string)
    return np.asarray(y - grows * strays * (x - square_x_mm(instrument)))
