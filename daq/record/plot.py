"""The picture a viewer shows first: one pass as it was measured."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import yaml
from numpy.typing import NDArray

from daq.record.assemble import AssembledPass, AssembledScan, Span
from daq.record.growing import GrowingColumn
from daq.record.hdf5 import Group, new_group, put_text
from daq.record.merge import merge_what_can_be
from daq.record.samples import LINK_GROUPS, read_links
from daq.wire.records import ABSENT, IntColumn

SAMPLES_AT_ONCE = 2**18


@dataclass(frozen=True, slots=True)
class Scales:
    """What one count is worth along x and in height, and the unit that gives."""

    x: float
    height: float
    units: str


def put_profile(entry: Group, scan: AssembledScan) -> None:
    """/entry/profile: height over x of the first good pass, or of the longest where none is.

    Raw: in millimetres and nothing else done to it; NaN where the sensor read nothing. The
    samples are those in the entry.
    """
    shown = _shown_pass(scan)
    scales = scales_of(scan.begin.rig_text)
    group = new_group(entry, "profile", "NXdata")
    group.attrs.update(signal="height", axes=["x"], x_indices=0)
    put_text(group, "title", _title(shown))
    x = _axis(group, "x", scales.units, "carriage position")
    height = _axis(group, "height", scales.units, "sensor reading, uncorrected")
    for x_counts, raw in _pieces(entry, shown.spans) if shown else ():
        x.add(x_counts.astype(np.float64) * scales.x)
        height.add(_height(raw, scales))
    x.finish()
    height.finish()


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


def _pieces(entry: Group, spans: tuple[Span, ...]) -> Iterator[tuple[IntColumn, IntColumn]]:
    """x and raw of a pass, in counts, a piece at a time."""
    first, end = spans[0].rows.start, spans[0].rows.stop
    if len(spans) > 1:
        merged = merge_what_can_be(read_links(entry))
        rows = slice(*merged.rows(0, np.array([first, end])).tolist())
        yield merged.samples.x[rows], merged.samples.raw[rows]
        return
    samples = entry[LINK_GROUPS[0]]
    for at in range(first, end, SAMPLES_AT_ONCE):
        rows = slice(at, min(at + SAMPLES_AT_ONCE, end))
        yield samples["x"][rows], samples["raw"][rows]


def _height(raw: IntColumn, scales: Scales) -> NDArray[np.float64]:
    height: NDArray[np.float64] = raw.astype(np.float64) * scales.height
    height[raw == ABSENT] = np.nan
    return height


def _title(shown: AssembledPass | None) -> str:
    if shown is None:
        return "no pass was recorded"
    way = "away from the nut" if shown.begin.direction > 0 else "towards the nut"
    doubt = "" if shown.good else ", not good"
    return f"pass {shown.begin.number}, lane {shown.begin.lane}, {way}{doubt}"


def _axis(group: Group, name: str, units: str, meaning: str) -> GrowingColumn:
    long_name = f"{meaning} ({units})"
    return GrowingColumn(group, name, np.float64, units=units, long_name=long_name)
