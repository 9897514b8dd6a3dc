"""An instrument to open jobs with."""

from __future__ import annotations

from pathlib import Path

import pytest

from daq.files.instrument import InstrumentFile, parse_instrument
from daq.workshop.place import Workshop

INSTRUMENT = """\
name: pear tenor
scale_mm: 584
frets: 19
body_joint_fret: 14
board: {radius_mm: 300, width_mm: [33, 42]}
nut_at_mm: 60
strings:
  - {note: E4, gauge_in: 0.010}
  - {note: B3, gauge_in: 0.014}
  - {note: G3, gauge_in: 0.017}
  - {note: D3, gauge_in: 0.026, wound: true}
spacing_mm: [8, 11]
action_mm: {1: 1.6, 4: 2.0}
nut_gap_mm: {1: 0.4}
"""


@pytest.fixture
def instrument() -> InstrumentFile:
    """A checked instrument file."""
    return parse_instrument(INSTRUMENT, "tenor.yaml")


@pytest.fixture
def workshop(tmp_path: Path) -> Workshop:
    """A workshop that is not there yet."""
    return Workshop(tmp_path / "workshop")
