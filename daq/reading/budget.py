"""The budget of a neck's shape, with what the rig's repeated scans found."""

from __future__ import annotations

from analysis.neck.budgets import Budgets, shape_budgets
from analysis.neck.shape import Shape
from analysis.repeats.repeatability import Scatter
from calibration.uncertainty.budget import Term
from daq.reading.repeatability import kept_scatter
from daq.record.scan import Scan
from daq.workshop.calibrations import CalibrationStore


def budgets_of(shape: Shape, scan: Scan, store: CalibrationStore | None) -> Budgets:
    """The terms of the shape's own uncertainties, and the scatter kept for the scan's rig.

    A shape of several scans has seen its own scatter, which goes before the rig's. store: None
    for a scan file alone. Raises FileError for a damaged document.
    """
    kept = None if store is None else kept_scatter(scan, store)
    return shape_budgets(
        shape,
        () if kept is None else _besides(shape, kept.tops),
        () if kept is None or kept.relief is None else _besides(shape, kept.relief),
    )


def _besides(shape: Shape, kept: Scatter) -> list[Term]:
    return [term for term in kept.measured_terms if term.name not in shape.terms.parts]
