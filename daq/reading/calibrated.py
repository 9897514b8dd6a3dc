"""Which calibrations apply to a scan: the ones recorded with it, or newer ones of its rig."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, TypeVar

import numpy as np

from calibration.lag import Lag
from calibration.rail import RailMap
from calibration.sensor import SensorCurve, from_document
from daq.errors import FileError
from daq.record.scan import Scan
from daq.workshop.calibrations import CalibrationStore

Document = Mapping[str, Any]
T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Calibrations:
    """What is known of the rig's own errors; None where nothing is.

    described: one line for each, saying which was applied, for every result made with it.
    """

    rail: RailMap | None
    lag: Lag | None
    sensor: SensorCurve | None
    described: tuple[str, ...]


def calibrations_for(scan: Scan, store: CalibrationStore | None) -> Calibrations:
    """The newest of each kind: raw is kept, so an old scan gets better when a calibration does.

    store: the workshop's calibrations of this rig; None reads the scan file alone. Raises
    FileError for a damaged document.
    """
    chosen = {kind: _newest(kind, scan, store) for kind in ("rail", "lag", "sensor")}
    return Calibrations(
        _built(_rail, chosen["rail"]),
        _built(_lag, chosen["lag"]),
        _built(_sensor, chosen["sensor"]),
        tuple(_described(kind, found) for kind, found in chosen.items()),
    )


def stored_texts(store: CalibrationStore) -> dict[str, str]:
    """The newest text of each kind, to go into a scan file as it is."""
    found = {kind: store.latest(kind) for kind in ("rail", "lag", "sensor")}
    return {kind: one[0] for kind, one in found.items() if one is not None}


def rail_document(rail: RailMap, rig: str, made: str, about: Document) -> dict[str, object]:
    """The rail's map as it is kept, micrometres."""
    return {
        "kind": "rail",
        "rig": rig,
        "made": made,
        **about,
        "x_mm": np.round(rail.x_mm, 4).tolist(),
        "r_um": np.round(1e3 * rail.r_mm, 4).tolist(),
        "u_um": np.round(1e3 * rail.u_mm, 4).tolist(),
    }


def lag_document(lag: Lag, rig: str, made: str, about: Document) -> dict[str, object]:
    """Lag and backlash as they are kept."""
    return {
        "kind": "lag",
        "rig": rig,
        "made": made,
        **about,
        "lag_ms": 1e3 * lag.lag_s,
        "u_lag_ms": 1e3 * lag.u_lag_s,
        "backlash_mm": lag.backlash_mm,
        "u_backlash_mm": lag.u_backlash_mm,
    }


@dataclass(frozen=True, slots=True)
class _Found:
    """A calibration and where it was found, for messages."""

    document: Document
    where: str

    @property
    def made(self) -> datetime:
        """Raises FileError where the document does not say."""
        made = self.document.get("made")
        try:
            return datetime.fromisoformat(str(made)).astimezone()
        except ValueError as error:
            raise self.damaged(f"made: found {made!r}") from error

    def damaged(self, why: str) -> FileError:
        return FileError(f"{self.where}: {why}; it is damaged: put back a copy, or calibrate again")


def _newest(kind: str, scan: Scan, store: CalibrationStore | None) -> _Found | None:
    found = [one for one in (_recorded(kind, scan), _stored(kind, store)) if one is not None]
    # of two made in the same second the recorded one, which comes first, is taken
    return max(found, key=lambda one: one.made, default=None)


def _recorded(kind: str, scan: Scan) -> _Found | None:
    text = scan.calibration_texts.get(kind)
    if text is None:
        return None
    where = f"{scan.path}: {kind} calibration inside"
    try:
        document = json.loads(text)
    except ValueError as error:
        raise FileError(f"{where}: found no JSON ({error}); the file is damaged") from error
    if not isinstance(document, dict):
        raise FileError(f"{where}: found no group of keys; the file is damaged")
    return _Found(document, where)


def _stored(kind: str, store: CalibrationStore | None) -> _Found | None:
    latest = store.latest(kind) if store is not None else None
    if store is None or latest is None:
        return None
    return _Found(latest[1], str(store.documents(kind)[-1]))


def _built(build: Callable[[Document], T], found: _Found | None) -> T | None:
    """What a document describes. Raises FileError where keys are missing or make no sense."""
    if found is None:
        return None
    try:
        return build(found.document)
    except KeyError as error:
        raise found.damaged(f"found no key {error}") from error
    except (TypeError, ValueError) as error:
        raise found.damaged(f"found what is no calibration ({error})") from error


def _rail(document: Document) -> RailMap:
    x, r, u = (np.array(document[key], dtype=float) for key in ("x_mm", "r_um", "u_um"))
    if not (x.ndim == 1 and x.size > 1 and x.shape == r.shape == u.shape):
        raise ValueError("x_mm, r_um and u_um are not of one length")
    if not np.isfinite([x, r, u]).all() or not (np.diff(x) > 0).all():
        raise ValueError("x_mm does not rise all the way, or a number is missing")
    return RailMap(x, 1e-3 * r, 1e-3 * u)


def _lag(document: Document) -> Lag:
    lag, u_lag, backlash, u_backlash = (
        float(document[key]) for key in ("lag_ms", "u_lag_ms", "backlash_mm", "u_backlash_mm")
    )
    if not np.isfinite([lag, u_lag, backlash, u_backlash]).all():
        raise ValueError("a number is missing")
    return Lag(1e-3 * lag, 1e-3 * u_lag, backlash, u_backlash)


def _sensor(document: Document) -> SensorCurve:
    curve = from_document(document)
    if curve.coefficients.shape not in ((2,), (3,)) or curve.reading_mm.ndim != 1:
        raise ValueError("coefficients must be two or three numbers, reading_mm a list of them")
    if not (curve.reading_mm.size and np.isfinite(curve.coefficients).all()):
        raise ValueError("a number is missing")
    return curve


def _described(kind: str, found: _Found | None) -> str:
    without = {
        "rail": "rail: no error map; the carriage's own bow stands in every height",
        "lag": "lag: not calibrated; the passes both ways were laid over one another",
        "sensor": "sensor: by its nominal mm per count",
    }
    if found is None:
        return without[kind]
    return f"{kind}: calibrated {found.document['made']}"
