"""What is to be known of a scan that shows the file's neck: how it was laid, read and turned."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from analysis.belongs.lefton import left_on
from analysis.belongs.offboard import check_on_board, past_edge
from analysis.belongs.spacing import check_spacing
from analysis.instrument import Instrument
from analysis.pattern.cells import Cells
from analysis.pattern.lanes import lane_places_mm
from analysis.pattern.registration import Registration
from calibration.profile import Profile

#: The nut's place in the file, by contract, mm.
NUT_BY_EYE_MM = 5.0
#: Lanes of a neck that lies turned stray from their strings: said from here on, mm (own choice).
TURNED_MM = 1.0


def check_readings(
    profiles: Sequence[Profile], cells: Cells, registration: Registration, instrument: Instrument
) -> tuple[str, ...]:
    """What is to be known of a registered scan, a phrase each.

    Raises NeckError where readings are too far apart, or a lane is off the board over most of it.
    """
    string = np.array([p.string for p in profiles])
    places = lane_places_mm(string, registration, instrument)
    return (
        *_nut(registration, instrument),
        *_turned(registration, instrument),
        *check_spacing(profiles, places),
        *check_on_board(string, places, cells, registration),
        *past_edge(profiles, places, instrument),
        *left_on(cells, list(places), registration),
    )


def _nut(registration: Registration, instrument: Instrument) -> tuple[str, ...]:
    if abs(registration.nut_mm - instrument.nut_at_mm) <= NUT_BY_EYE_MM:
        return ()
    return (
        f"nut_at_mm: the file says {instrument.nut_at_mm:g}, the nut stands at "
        f"{registration.nut_mm:.1f}: correct it, the lanes' fan is laid by it",
    )


def _turned(registration: Registration, instrument: Instrument) -> tuple[str, ...]:
    middle = 0.5 * (len(instrument.strings) + 1)
    length = float(instrument.fret_x_mm(instrument.frets, middle))
    across, u = registration.skew * length, registration.u_skew * length
    if abs(across) - 2.0 * u <= TURNED_MM:
        return ()
    return (
        f"the neck lies turned on the rig: {abs(across):.1f} ± {2.0 * u:.1f} mm across from the "
        f"nut to fret {instrument.frets}, and the lanes stray from their strings by that; lay it "
        "along the rail",
    )
