"""The picture a viewer shows first: one pass as it was measured."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import yaml
from numpy.typing import NDArray

from daq.record.assemble import AssembledPass, AssembledScan
from daq.record.hdf5 import Group, new_group, put_column, put_text
from daq.record.merge import merge_what_can_be
from daq.wire.records import ABSENT, SampleBlock


@dataclass(frozen=True, slots=True)
class Scales:
    """What one count is worth along x and in height, and the unit that gives."""

    x: float
    height: float
    units: str


def put_profile(entry: Group, scan: AssembledScan) -> None:
    """/entry/profile: height over x of the first good pass, or of the longest where none is.

    Raw: in millimetres and nothing else done to it; NaN where the sensor read nothing.
    """
    shown = _shown_pass(scan)
    rows = _rows(scan, shown) if shown else SampleBlock.empty()
    scales = scales_of(scan.begin.rig_text)
    group = new_group(entry, "profile", "NXdata")
    group.attrs.update(signal="height", axes=["x"], x_indices=0)
    put_text(group, "title", _title(shown))
    _put_axis(group, "x", rows.x.astype(np.float64) * scales.x, scales.units, "carriage position")
    _put_axis(group, "height", _height(rows, scales), scales.units, "sensor reading, uncorrected")


def scales_of(rig_text: str) -> Scales:
    """From the rig file's text; counts where it does not say: a picture must not stop a
    recovery."""
    try:
        rig = yaml.safe_load(rig_text)
        x, height = rig["carriage"]["mm_per_count"], rig["sensor"]["mm_per_count"]
        return Scales(float(x), float(height), "mm")
    except (yaml.YAMLError, KeyError, TypeError, ValueError):
        return Scales(1.0, 1.0, "counts")


def _shown_pass(scan: AssembledScan) -> AssembledPass | None:
    good = next((one for one in scan.passes if one.good and one.spans[0].count), None)
    return good or max(scan.passes, key=lambda one: one.spans[0].count, default=None)


def _rows(scan: AssembledScan, shown: AssembledPass) -> SampleBlock:
    merged = merge_what_can_be(scan.links)
    span = shown.spans[0]
    first, last = np.searchsorted(merged.kept, [span.first, span.first + span.count])
    return merged.samples[int(first) : int(last)]


def _height(rows: SampleBlock, scales: Scales) -> NDArray[np.float64]:
    height: NDArray[np.float64] = rows.raw.astype(np.float64) * scales.height
    height[rows.raw == ABSENT] = np.nan
    return height


def _title(shown: AssembledPass | None) -> str:
    if shown is None:
        return "no pass was recorded"
    way = "away from the nut" if shown.begin.direction > 0 else "towards the nut"
    doubt = "" if shown.good else ", not good"
    return f"pass {shown.begin.number}, lane {shown.begin.lane}, {way}{doubt}"


def _put_axis(
    group: Group, name: str, values: NDArray[np.float64], units: str, meaning: str
) -> None:
    put_column(group, name, values, units=units, long_name=f"{meaning} ({units})")
