"""A neck scanned again and again, and clamped anew between."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import cast

from analysis.instrument import Instrument
from analysis.neck.neck import Neck
from analysis.neck.tops import Tops, tops_along
from daq.acquire.passes.lanes import LanePlan, State, both_ways, lanes_for
from daq.errors import InputError, NeckformError, RigError
from daq.files.instrument import InstrumentFile
from daq.files.rig import RigFile
from daq.reading.neck import read_scan_neck
from daq.record.scan import Scan
from daq.steps.recording import Operator, first_note, recorded
from daq.text.words import counted
from daq.workshop.calibrations import CalibrationStore

#: More scans than this under one clamping, or more clampings, is a mistyped number.
MOST = 50


@dataclass(frozen=True, slots=True)
class Repeats:
    """What to do how often. strings: lanes by string, 2.5 is midway; empty for the usual ones."""

    state: str
    scans: int
    clampings: int
    strings: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class ReadTops:
    """A scan's file, its neck and the tops under its lanes."""

    path: Path
    neck: Neck
    tops: Tops


def chosen_lanes(instrument: Instrument, rig: RigFile, repeats: Repeats) -> tuple[LanePlan, ...]:
    """The lanes asked for, or the outer and the middle ones. Raises InputError."""
    lanes = lanes_for(instrument, rig, cast(State, repeats.state))
    there = {cast(float, lane.string): lane for lane in lanes}
    usual = [s for s in there if s.is_integer()] if repeats.state == "unstrung" else list(there)
    wanted = repeats.strings or (usual[0], usual[(len(usual) - 1) // 2], usual[-1])
    unknown = [s for s in wanted if s not in there]
    outer = {min(usual), max(usual)}
    if unknown or not outer <= set(wanted) or len(outer) < 2:
        raise InputError(
            f"--lanes: found {','.join(f'{s:g}' for s in wanted)}; allowed lanes of the "
            f"{repeats.state} state ({', '.join(f'{s:g}' for s in there)}), the outer ones "
            f"({' and '.join(f'{s:g}' for s in sorted(outer))}) among them"
        )
    return tuple(there[s] for s in sorted(set(wanted)))


def check_repeats(repeats: Repeats) -> None:
    """Twice each at least. Raises InputError."""
    for name, count in (("--scans", repeats.scans), ("--clampings", repeats.clampings)):
        if not 2 <= count <= MOST:
            raise InputError(
                f"{name}: found {count}; allowed 2 to {MOST}: one alone shows no scatter"
            )


@dataclass(frozen=True, slots=True)
class RepeatBench:
    """What every scan has in common."""

    rig: RigFile
    instrument: InstrumentFile
    store: CalibrationStore
    lanes: Sequence[LanePlan]
    operator: Operator

    def scan(self, state: str, label: str) -> ReadTops:
        """One more scan, read at once: what does not show this neck is told straight away."""
        begin = first_note(
            "scan", self.rig, self.store,
            state=state, label=label, instrument_text=self.instrument.text,
        )  # fmt: skip
        passes = both_ways(self.lanes, self.rig.carriage.speed_mm_s)
        path = self.store.next_scan_path("repeatability")
        return self._read(recorded(begin, passes, path, self.operator))

    def _read(self, scan: Scan) -> ReadTops:
        record = self.instrument.record
        neck = read_scan_neck(scan, record, self.store).neck
        return ReadTops(scan.path, neck, tops_along(neck, record, neck.string))


def scan_all(bench: RepeatBench, repeats: Repeats) -> tuple[list[list[ReadTops]], str | None]:
    """Every scan of every clamping; and what stopped it, if enough was there by then."""
    done: list[list[ReadTops]] = []
    try:
        for clamping in range(1, repeats.clampings + 1):
            if clamping > 1:
                bench.operator.ask(
                    f"Unclamp the neck, take it off the rig, and clamp it where it was, still "
                    f"{repeats.state} (clamping {clamping} of {repeats.clampings})"
                )
            done.append([])
            for scan in range(1, repeats.scans + 1):
                done[-1].append(bench.scan(repeats.state, f"clamping {clamping}, scan {scan}"))
    except (NeckformError, KeyboardInterrupt) as error:
        why = str(error) if isinstance(error, NeckformError) else "stopped"
        made = counted(sum(map(len, done)), "scan")
        if not balanced(done):
            kind = type(error) if isinstance(error, NeckformError) else RigError
            raise kind(
                f"{why}; the {made} made before tell too little (two of each of two clampings "
                "do): nothing was kept of them but their files"
            ) from error
        return done, f"{why}; this rests on the {made} made before"
    return done, None


def balanced(done: Sequence[Sequence[ReadTops]]) -> list[list[ReadTops]]:
    """As many scans of each clamping: the choice that uses most. Empty where there is none."""
    counts = [
        (n * len(whole), len(whole), n)
        for n in range(2, max(map(len, done), default=0) + 1)
        if len(whole := [scans for scans in done if len(scans) >= n]) > 1
    ]
    if not counts:
        return []
    n = max(counts)[2]
    return [list(scans[:n]) for scans in done if len(scans) >= n]
