"""python -P twelve_rig.py --seed N: the rig of software with a twelve-string, 24 frets, on it."""

from __future__ import annotations

from functools import partial

from sim import scenario
from sim.__main__ import main
from sim.instrument import Instrument

# courses in octaves from the third on; common practice, no source
NOTES = ("E4", "E4", "B3", "B3", "G4", "G3", "D4", "D3", "A3", "A2", "E3", "E2")
GAUGES_IN = (0.010, 0.010, 0.014, 0.014, 0.008, 0.018, 0.012, 0.027, 0.018, 0.039, 0.027, 0.049)


def twelve_string() -> partial[Instrument]:
    """What a scenario makes instead of its six-string."""
    return partial(
        Instrument,
        name="twelve courses",
        frets=24,
        body_joint_fret=14,
        board_radius_mm=(305.0, 400.0),
        board_width_mm=(48.0, 60.0),
        notes=NOTES,
        gauges_in=GAUGES_IN,
        plain_strings=6,
        spacing_mm=(3.6, 4.8),
    )


if __name__ == "__main__":
    scenario.Instrument = twelve_string()
    main()
