"""The good files every mistake is made in, word for word from the contract."""

from __future__ import annotations

import pytest

from analysis.instrument import Instrument
from daq.files.instrument import parse_instrument

RIG = """\
name: garage-rail
links:
  rig: {port: /dev/ttyACM0, baud: 460800, protocol: line}
carriage:
  link: rig
  drive: motor                # or: hand
  mm_per_count: 0.005
  travel_mm: [0, 640]
  speed_mm_s: 25
  cross: {mm_per_count: 0.01} # leave out where the cross slide is set by hand
sensor:
  link: rig
  kind: contact               # or: optical
  mm_per_count: 0.001
  rate_hz: 400
  tip_radius_mm: 1.0          # contact; an optical one has spot_mm
pads:                         # ground steel fixed to the rail
  - {from_mm: 4, to_mm: 16}
  - {from_mm: 600, to_mm: 614}
"""

INSTRUMENT = """\
name: walnut parlour
scale_mm: 641                 # or {bass: 660, treble: 635, square_fret: 7}
frets: 22
body_joint_fret: 16
board: {radius_mm: [241, 355], width_mm: [42.8, 56.4]}
nut_at_mm: 61                 # rough carriage position of the nut, within 5 mm
strings:                      # string 1 first
  - {note: E4, gauge_in: 0.010}
  - {note: B3, gauge_in: 0.013}
  - {note: G3, gauge_in: 0.017}
  - {note: D3, gauge_in: 0.026, wound: true}
  - {note: A2, gauge_in: 0.036, wound: true}
  - {note: E2, gauge_in: 0.046, wound: true}
spacing_mm: [7.1, 10.4]       # string to string, at nut and at bridge
action_mm: {1: 1.4, 6: 1.9}   # string height over fret 12
nut_gap_mm: {1: 0.4, 6: 0.5}  # string over fret 1, open
"""

PLAYING = """\
name: everyday
pluck_force_n: 0.6
pluck_from_saddle_mm: 120
bend_semitones: 2
least_fret_mm: 0.6
highest_action_mm: {"1": 1.7, "6": 2.2}
guard: 2.0
"""


@pytest.fixture
def rig_text() -> str:
    """The contract's rig file."""
    return RIG


@pytest.fixture
def instrument_text() -> str:
    """The contract's instrument file."""
    return INSTRUMENT


@pytest.fixture
def instrument() -> Instrument:
    """The contract's instrument, read."""
    return parse_instrument(INSTRUMENT, "i.yaml").record


@pytest.fixture
def playing_text() -> str:
    """A playing file, its string numbers in quotes as in the JSON of a plan."""
    return PLAYING
