"""What one scan was read to, as plain numbers that any process can send."""

from __future__ import annotations

import json
from dataclasses import dataclass

#: What can go wrong with a scan: its file, the neck it should show, the program, its worker.
FAULTS = ("file", "neck", "program", "killed")


@dataclass(frozen=True, slots=True)
class Reading:
    """One scan read one way. outcome: "read", or "fault" and then `fault` is one line.

    relief_um, u_relief_um: the strings' median, NaN never: None where not known. wear_um: the
    deepest dent that is more than a guess, 0 without any, None where the strings hid it.
    worst_top_um: how far the top that stands out most is off its neighbours' line, + high.
    u_top_um: the median. document: JSON, per string and fret (`daq.archive.numbers`); of a fault,
    its kind, one of FAULTS.
    """

    url: str
    scan_id: str | None
    way: str
    outcome: str
    fault: str | None = None
    relief_um: float | None = None
    u_relief_um: float | None = None
    wear_um: float | None = None
    worst_top_um: float | None = None
    u_top_um: float | None = None
    document: str = "{}"

    @property
    def kind(self) -> str:
        """What kind of fault it is, one of FAULTS."""
        return str(json.loads(self.document)["kind"])


def fault_of(url: str, way: str, kind: str, line: str, scan_id: str | None = None) -> Reading:
    """A scan that could not be read. line: anything; it becomes one line that names the url."""
    told = " ".join(line.split())
    named = told if url in told else f"{url}: {told}"
    return Reading(url, scan_id, way, "fault", named, document=json.dumps({"kind": kind}))
