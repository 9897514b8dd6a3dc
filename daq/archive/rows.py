"""The archive's rows as records, in the order of their tables' columns."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import astuple, dataclass, fields
from typing import Any


@dataclass(frozen=True, slots=True)
class ScanRow:
    """One file. Where it has a fault nothing is known of what is in it.

    changed: when its folder or store says that it was changed, a mark to compare; empty where the
    file has to be looked at again. kind: 'scan' of a neck, else 'other'. fault: KIND: one line,
    KIND of `daq.record.hdf5.FaultKind`. made: ISO 8601 in UTC. lost, damaged: of all that the rig
    sent, the shares that are missing and that came damaged. noise_um: of one reading, standard
    deviation, on the rig's own pads. duplicate_of: the url of the first file of this scan. seen:
    when it was opened last.
    """

    url: str
    size: int
    changed: str
    kind: str
    fault: str | None = None
    scan_id: str | None = None
    job: str | None = None
    state: str | None = None
    made: str | None = None
    instrument: str | None = None
    strings: int | None = None
    frets: int | None = None
    rig: str | None = None
    rod_turns: float | None = None
    celsius: float | None = None
    lost: float | None = None
    damaged: float | None = None
    noise_um: float | None = None
    duplicate_of: str | None = None
    seen: str | None = None

    @property
    def fault_kind(self) -> str | None:
        """The fault's first words, by which faults are counted."""
        return None if self.fault is None else self.fault.partition(":")[0]


@dataclass(frozen=True, slots=True)
class ReadingRow:
    """What one way of reading made of a scan: the numbers that are told over years.

    relief_um: in the middle of the board, median of the strings. wear_um: the deepest. u_top_um:
    median of the tops. u: standard uncertainties. None where it is not known.
    """

    url: str
    relief_um: float | None
    u_relief_um: float | None
    wear_um: float | None
    worst_top_um: float | None
    u_top_um: float | None
    read_at: str


SCAN_COLUMNS = tuple(field.name for field in fields(ScanRow))
READING_COLUMNS = tuple(field.name for field in fields(ReadingRow))


def scan_row(values: Sequence[Any]) -> ScanRow:
    """A row of `SELECT SCAN_COLUMNS`."""
    return ScanRow(*values)


def put_scan() -> str:
    """The statement that puts a row in, or in place of the one of that url."""
    names = ", ".join(SCAN_COLUMNS)
    marks = ", ".join("?" * len(SCAN_COLUMNS))
    anew = ", ".join(f"{name} = excluded.{name}" for name in SCAN_COLUMNS[1:])
    return f"INSERT INTO scans ({names}) VALUES ({marks}) ON CONFLICT (url) DO UPDATE SET {anew}"


def scan_values(row: ScanRow) -> tuple[Any, ...]:
    """What goes into that statement."""
    return astuple(row)
