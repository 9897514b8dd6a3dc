"""How warm it was while a scan was made, where the rig measures that."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from daq.record.scan import Scan
from daq.wire.records import ABSENT

CELSIUS_PER_COUNT = 0.01
#: This much warmer or colder than when it was calibrated, a homemade rig is another rig: a rail of
#: two metals bends by micrometres (own estimate).
APART_CELSIUS = 5.0


def scan_celsius(scan: Scan) -> float | None:
    """Mean over every good pass; None where no frame has a temperature."""
    columns = [one.samples.temp for one in scan.passes if one.good]
    counts = np.concatenate(columns) if columns else np.zeros(0, dtype=int)
    told = counts[counts != ABSENT]
    return CELSIUS_PER_COUNT * float(np.mean(told)) if told.size else None


def mean_celsius(scans: Sequence[Scan]) -> float | None:
    """Of several scans; None where none has a temperature."""
    told = [celsius for celsius in map(scan_celsius, scans) if celsius is not None]
    return float(np.mean(told)) if told else None
