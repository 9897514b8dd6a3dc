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
    first, of the middle one, on fanned scales (c: `share_across`). found: share of the frets the
    scan covers that were seen, over all passes. covered: bool[frets, lanes], lanes by string:
    whether a pass went there.
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
        lever = lever_mm(self.instrument, string, x, self.fan)
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
    """-1/2 under string 1 to 1/2 under the last, for scales as long as the middle one.

    By its own scale's share of the middle one more or less for others: so scales that are linear
    across by the file stay linear across with any fan.
    """
    middle = 0.5 * (instrument.scale_bass_mm + instrument.scale_treble_mm)
    share = (np.asarray(string, dtype=float) - 1.0) / max(len(instrument.strings) - 1, 1) - 0.5
    return np.asarray(share * middle / instrument.scale_mm(string))


def square_x_mm(instrument: Instrument) -> float:
    """Where frets lie square across the neck, whatever the fan."""
    middle = 0.5 * (len(instrument.strings) + 1)
    return float(instrument.fret_x_mm(instrument.square_fret, middle))


def wider_share(instrument: Instrument, string: FloatArray | float) -> FloatArray:
    """What the last string's scale has over the first's, by the file, as a share of this one's."""
    wider = instrument.scale_bass_mm - instrument.scale_treble_mm
    return np.asarray(wider / instrument.scale_mm(string))


def stray_mm(
    instrument: Instrument, string: FloatArray | float, x_mm: FloatArray | float
) -> FloatArray:
    """How a lane of a neck turned about its nut strays over to the next strings: mm a rad.

    For scales that are wider by a whole scale from the first string to the last. Broadcasts.
    """
    x = np.asarray(x_mm, dtype=float)
    apart = instrument.string_y_mm(1.0, x) - instrument.string_y_mm(2.0, x)
    across = apart * max(len(instrument.strings) - 1, 1)
    return np.asarray(x / across * (x - square_x_mm(instrument)))


def lever_mm(
    instrument: Instrument,
    string: FloatArray | float,
    x_mm: FloatArray | float,
    fan: float = 0.0,
) -> FloatArray:
    """What a turn of the neck on the rig, about its nut, shifts a fret by along a lane, mm a rad.

    The lane's y; and on fanned scales, where a lane strays over to other strings the further from
    the nut the more, what their scales differ by. fan: by what the fan is not the file's.
    Broadcasts.
    """
    y = instrument.string_y_mm(string, x_mm)
    wider = wider_share(instrument, string) + fan
    return np.asarray(y - wider * stray_mm(instrument, string, x_mm))
