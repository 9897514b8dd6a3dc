"""All that one state's scans show of a neck, in words and tables."""

from __future__ import annotations

from rich.console import Console

from daq.reading.measured import Measured
from daq.reading.neck import rig_of
from daq.reading.probe import tip_of
from daq.text.across import print_across
from daq.text.along import print_along
from daq.text.heights import print_heights
from daq.text.repeats import print_repeats
from daq.text.summary import print_relief
from daq.text.wear import print_loose, print_wear


def print_measured(console: Console, found: Measured) -> None:
    """What it was made of, heights, wear, relief, along and across."""
    shape, read, instrument = found.shape, found.read, found.instrument
    print_repeats(console, {shape.state: read.repeats})
    print_heights(console, shape)
    if found.wear is not None:
        print_wear(console, found.wear, tip_of(rig_of(read.scan), read.calibrations.probe))
    print_loose(console, found.loose)
    print_relief(console, shape, instrument)
    print_along(console, found.along, shape, instrument)
    print_across(console, found.across, shape, instrument)
