"""All that one state's scans show of a neck, as a document."""

from __future__ import annotations

from typing import Any

from daq.documents.across import across_document
from daq.documents.along import along_document
from daq.documents.repeats import repeats_document
from daq.documents.tops import tops_document
from daq.documents.wear import loose_document, wear_document
from daq.reading.measured import Measured


def measured_document(job: str | None, found: Measured) -> dict[str, Any]:
    """The contract's tops, and what they were made of, wear, along and across besides."""
    read = found.read
    return {
        **tops_document(job, read.scan.path.name, found.shape, found.instrument),
        "calibrations": list(read.calibrations.described),
        "repeats": repeats_document(read.repeats),
        "wear": None if found.wear is None else wear_document(found.wear),
        "loose": loose_document(found.loose),
        "along": along_document(found.along),
        "across": across_document(found.across, found.shape),
    }
