"""What indexing and searching the archive came to, as documents."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from daq.archive.rows import ScanRow
from daq.archive.search import Found
from daq.documents.numbers import rounded

if TYPE_CHECKING:  # a search has no use for what reads scan files
    from daq.archive.index import Indexed


def indexed_document(indexed: Indexed, archive: str) -> dict[str, Any]:
    """`faults`: how many files of each kind; `faulty`, `duplicates`, `not_listed` name them."""
    return {
        "archive": archive,
        "found": indexed.found,
        "opened": indexed.opened,
        "gone": indexed.gone,
        "scans": indexed.scans,
        "others": indexed.others,
        "faults": dict(indexed.faults),
        "faulty": [{"url": row.url, "fault": row.fault} for row in indexed.faulty],
        "duplicates": [
            {"url": row.url, "duplicate_of": row.duplicate_of} for row in indexed.duplicates
        ],
        "not_listed": [{"url": one.url, "why": one.why} for one in indexed.not_listed],
    }


def found_document(found: Found) -> dict[str, Any]:
    """`count`: of all that fit; `scans`: those shown, newest first."""
    return {"count": found.count, "scans": [row_document(row) for row in found.rows]}


def row_document(row: ScanRow) -> dict[str, Any]:
    """A file; null where it is not known. `lost`, `damaged`: shares of what the rig sent."""
    return {
        "url": row.url,
        "kind": row.kind,
        "fault": row.fault,
        "id": row.scan_id,
        "job": row.job,
        "state": row.state,
        "made": row.made,
        "instrument": row.instrument,
        "strings": row.strings,
        "frets": row.frets,
        "rig": row.rig,
        "rod_turns": row.rod_turns,
        "celsius": _number(row.celsius, 2),
        "lost": _number(row.lost, 7),
        "damaged": _number(row.damaged, 7),
        "noise_um": _number(row.noise_um, 3),
        "duplicate_of": row.duplicate_of,
        "size": row.size,
        "seen": row.seen,
    }


def _number(value: float | None, digits: int) -> float | None:
    return None if value is None else rounded(value, digits)
