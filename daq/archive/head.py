"""One scan file's row: what its head says, in the words of its own rig and instrument files."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime

import numpy as np

from calibration.passes import FloatArray
from daq.archive.facts import RigFacts, instrument_facts, rig_facts
from daq.archive.places import Seen, opened
from daq.archive.rows import ScanRow
from daq.archive.store import local_path
from daq.record.hdf5 import FaultKind, ScanFault
from daq.record.head import ScanHead, read_head, read_head_bytes
from daq.wire.records import ABSENT

CELSIUS_PER_COUNT = 0.01
#: A second difference this many deviations off is a step onto a pad, or a spike.
_FURTHEST = 4.0
_NORMAL = 1.4826
#: Fewer second differences on pads than this tell no noise.
_LEAST = 30


def row_of(seen: Seen, now: str) -> ScanRow:
    """A file's row; what is wrong with it is in the row. Raises nothing that a file can do wrong.

    now: goes into the row's `seen`.
    """
    bare = ScanRow(seen.url, seen.size, seen.changed, "other", seen=now)
    try:
        return _told(bare, _head_of(seen.url))
    except ScanFault as fault:
        row = replace(bare, fault=f"{fault.kind}: {fault.what}")
        # rights are given and networks come back without the file's changing
        return replace(row, changed="") if fault.kind is FaultKind.UNREADABLE else row
    except (ValueError, ArithmeticError) as error:
        what = f"{FaultKind.DAMAGED}: the scan file is damaged ({error}); take it from a backup"
        return replace(bare, fault=what)


def rows_of(group: Sequence[Seen]) -> list[ScanRow]:
    """Rows of a group, in its order, seen now."""
    now = _now()
    return [row_of(seen, now) for seen in group]


def killed_row(seen: Seen) -> ScanRow:
    """Of a file that ended its worker again when it was tried alone. Tried anew each time."""
    what = (
        f"{FaultKind.DAMAGED}: ended the process that opened it, and again when it was alone; take "
        "it from a backup"
    )
    return ScanRow(seen.url, seen.size, "", "other", fault=what, seen=_now())


def _now() -> str:
    return datetime.now(UTC).isoformat(timespec="seconds")


def _head_of(url: str) -> ScanHead:
    path = local_path(url)
    if path is not None:
        return read_head(path)
    try:
        with opened(url) as file:
            try:
                return read_head_bytes(url, file)
            except ScanFault:
                if file.refused is not None:
                    raise file.refused from None
                raise
    except ScanFault:
        raise
    except Exception as error:  # each store's own kinds
        reason = " ".join(str(error).split()) or type(error).__name__
        raise ScanFault(url, FaultKind.UNREADABLE, f"cannot be read: {reason}") from error


def _told(row: ScanRow, head: ScanHead) -> ScanRow:
    rig = rig_facts(head.rig_text)
    name, strings, frets = instrument_facts(head.instrument_text)
    temp = head.temp[head.temp != ABSENT]
    return replace(
        row,
        kind="scan" if head.purpose == "scan" else "other",
        scan_id=head.id,
        job=head.job or None,
        state=head.state,
        made=in_utc(head.started),
        instrument=name,
        strings=strings,
        frets=frets,
        rig=rig.name,
        rod_turns=head.rod_turns,
        celsius=CELSIUS_PER_COUNT * float(np.mean(temp)) if temp.size else None,
        lost=_share(head.lost, head.samples),
        damaged=_share(head.bad_frames, head.samples),
        noise_um=pad_noise_um(head, rig),
    )


def in_utc(started: str) -> str:
    """A time as archived: ISO 8601 to the second, in UTC. ValueError: it is no time."""
    then = datetime.fromisoformat(started)
    aware = then if then.tzinfo is not None else then.replace(tzinfo=UTC)
    return aware.astimezone(UTC).isoformat(timespec="seconds")


def _share(missing: int, there: int) -> float | None:
    return missing / (missing + there) if missing + there else None


def pad_noise_um(head: ScanHead, rig: RigFacts) -> float | None:
    """Noise of one reading where the carriage was on a pad, in micrometres; None where that is
    not known: no counts of the carriage on the sensor's link, no pads, hardly a sample on them.

    The root mean square over sqrt 6 of the second differences of three readings in a row, which do
    not see a slope; those further off than 4 s do not count, s being 1.4826 times their median
    deviation and one count at least.
    """
    on_pad = np.zeros(head.x.size, bool)
    x_mm = head.x * rig.x_mm_per_count
    for low, high in rig.pads_mm:
        on_pad |= (x_mm >= low) & (x_mm <= high)
    valid = on_pad & (head.x != ABSENT) & (head.raw != ABSENT)
    counts: FloatArray = np.where(valid, head.raw, np.nan).astype(np.float64)
    second = np.diff(counts, 2)
    second = np.abs(second[np.isfinite(second)])
    if second.size < _LEAST or not math.isfinite(rig.mm_per_count):
        return None
    spread = max(_NORMAL * float(np.median(second)), 1.0)
    kept = second[second <= _FURTHEST * spread]
    return 1e3 * abs(rig.mm_per_count) * float(np.sqrt(np.mean(kept**2) / 6.0))
