"""What two scans show besides a neck that bent, as a document."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from analysis.findings.findings import Finding
from daq.documents.numbers import mm, u_mm

HIDDEN = "the fret is hidden in one of the scans"


def findings_document(findings: Sequence[Finding]) -> list[dict[str, Any]]:
    """One entry each. fret is null for the whole neck, string for all of a fret; harmless: no
    height depends on it."""
    return [_entry(one) for one in findings]


def _entry(one: Finding) -> dict[str, Any]:
    entry = {
        "kind": one.kind,
        "fret": one.fret,
        "string": one.string,
        "size_mm": mm(one.size_mm),
        "u_size_mm": u_mm(one.u_mm),
        "harmless": one.harmless,
    }
    return {**entry, "status": HIDDEN} if entry["size_mm"] is None else entry
