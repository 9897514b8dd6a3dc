"""Which calibrations apply to a scan: the ones recorded with it, or newer ones of its rig."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import numpy as np

from calibration.lag import Lag
from calibration.rail import RailMap
from calibration.sensor import SensorCurve, from_document
from daq.errors import FileError
from daq.record.scan import Scan
from daq.workshop.calibrations import CalibrationStore

Document = Mapping[str, Any]


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
        _rail(chosen["rail"]),
        _lag(chosen["lag"]),
        from_document(chosen["sensor"]) if chosen["sensor"] else None,
        tuple(_described(kind, document) for kind, document in chosen.items()),
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


def _newest(kind: str, scan: Scan, store: CalibrationStore | None) -> Document | None:
    text = scan.calibration_texts.get(kind)
    recorded = _parsed(text, f"{scan.path}: {kind} calibration") if text else None
    stored = store.latest(kind) if store is not None else None
    if stored is None:
        return recorded
    if recorded is None or _made(stored[1]) > _made(recorded):
        return stored[1]
    return recorded


def _parsed(text: str, where: str) -> Document:
    try:
        document = json.loads(text)
    except ValueError as error:
        raise FileError(f"{where}: found no JSON ({error}); the file is damaged") from error
    if not isinstance(document, dict):
        raise FileError(f"{where}: found no group of keys; the file is damaged")
    return document


def _made(document: Document) -> datetime:
    return datetime.fromisoformat(str(document["made"]))


def _rail(document: Document | None) -> RailMap | None:
    if document is None:
        return None
    return RailMap(
        np.array(document["x_mm"], dtype=float),
        1e-3 * np.array(document["r_um"], dtype=float),
        1e-3 * np.array(document["u_um"], dtype=float),
    )


def _lag(document: Document | None) -> Lag | None:
    if document is None:
        return None
    return Lag(
        1e-3 * document["lag_ms"],
        1e-3 * document["u_lag_ms"],
        document["backlash_mm"],
        document["u_backlash_mm"],
    )


def _described(kind: str, document: Document | None) -> str:
    without = {
        "rail": "rail: no error map; the carriage's own bow stands in every height",
        "lag": "lag: not calibrated; the passes both ways were laid over one another",
        "sensor": "sensor: by its nominal mm per count",
    }
    if document is None:
        return without[kind]
    return f"{kind}: calibrated {document['made']}"
