"""A rig's repeatability as it is kept, and back."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from analysis.instrument import FloatArray
from analysis.repeats.repeatability import Repeatability, Scatter
from calibration.uncertainty.anova import OneWay
from daq.documents.numbers import rounded
from daq.reading.found import Document, built, newest
from daq.record.scan import Scan
from daq.workshop.calibrations import CalibrationStore


@dataclass(frozen=True, slots=True)
class KeptScatter:
    """What repeated scans found of tops and, where a chord was seen, of relief."""

    tops: Scatter
    relief: Scatter | None


def kept_scatter(scan: Scan, store: CalibrationStore) -> KeptScatter | None:
    """The newest of the rig a scan was made on; None where its repeatability was not measured.

    Raises FileError for a damaged document.
    """
    return built(repeatability_of, newest("repeatability", scan, store))


def repeatability_document(
    found: Repeatability, strings: FloatArray, rig: str, made: str, about: Document
) -> dict[str, object]:
    """The study as it is kept, micrometres."""
    return {
        "kind": "repeatability",
        "rig": rig,
        "made": made,
        **about,
        "tops": _kept(found.tops),
        "relief": None if found.relief is None else _kept(found.relief),
        "frets": [
            {
                "fret": int(fret) + 1,
                "string": float(strings[lane]),
                "s_r_um": rounded(1e3 * found.s_r_mm[fret, lane], 4),
                "s_l_um": rounded(1e3 * found.s_l_mm[fret, lane], 4),
                "s_R_um": rounded(1e3 * found.s_big_r_mm[fret, lane], 4),
            }
            for fret, lane in np.argwhere(found.seen)
        ],
    }


def repeatability_of(document: Document) -> KeptScatter:
    """What a document describes. Raises KeyError, TypeError or ValueError where it is none."""
    relief = document["relief"]
    return KeptScatter(_scatter(document["tops"]), None if relief is None else _scatter(relief))


def _kept(scatter: Scatter) -> dict[str, Any]:
    one = scatter.anova
    return {
        "groups": one.groups,
        "per_group": one.per_group,
        "ms_between_um2": 1e6 * one.ms_between,
        "ms_within_um2": 1e6 * one.ms_within,
        "dof_within": one.dof_within,
        "stated_um": 1e3 * scatter.stated_mm,
        "random_um": 1e3 * scatter.random_mm,
    }


def _scatter(kept: Document) -> Scatter:
    groups, per_group = int(kept["groups"]), int(kept["per_group"])
    keys = ("ms_between_um2", "ms_within_um2", "dof_within", "stated_um", "random_um")
    between, within, dof, stated, random = (float(kept[key]) for key in keys)
    if not (
        np.isfinite([between, within, dof, stated, random]).all()
        and min(groups, per_group) > 1
        and min(dof, stated) > 0.0
        and min(between, within, random) >= 0.0
    ):
        raise ValueError("a mean square, a count or an uncertainty is out of its range")
    anova = OneWay(groups, per_group, 1e-6 * between, 1e-6 * within, dof)
    return Scatter(anova, 1e-3 * stated, 1e-3 * random)
