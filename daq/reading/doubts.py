"""What is doubtful in the scans a plan rests on, and what of the plan hangs on it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from analysis.findings.findings import Finding, loose_of
from analysis.plan.doubts import Hanging, Suspect, frets_of, suspects
from analysis.wear.loose import Loose, loose_frets
from analysis.wear.wear import wear_of
from daq.reading.job import BothStates
from daq.reading.neck import rig_of
from daq.reading.probe import tip_of
from daq.reading.repeats import CombinedScan
from daq.workshop.numbered import number_of


@dataclass(frozen=True, slots=True)
class DoubtedTop:
    """A top that something hangs on, and why it is doubtful."""

    suspect: Suspect
    hanging: Hanging


@dataclass(frozen=True, slots=True)
class DoubtedFret:
    """A fret that is doubtful all across; why: "loose", or a finding's kind. hanging: a string."""

    fret: int
    why: str
    hanging: tuple[Hanging, ...]


@dataclass(frozen=True, slots=True)
class Doubts:
    """frets, then tops: what hangs on most first. findings: not the harmless, nor loose frets.

    remarks: of the scans and calibrations, a phrase each.
    """

    frets: tuple[DoubtedFret, ...] = ()
    tops: tuple[DoubtedTop, ...] = ()
    loose: tuple[Loose, ...] = ()
    findings: tuple[Finding, ...] = ()
    remarks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Doubtful:
    """What is doubtful in the scans, whatever is planned on them. frets: and why, by number;
    tops: of the other frets."""

    frets: Mapping[int, str]
    tops: tuple[Suspect, ...]
    loose: tuple[Loose, ...]
    findings: tuple[Finding, ...]
    remarks: tuple[str, ...]

    def places(self, strings: int) -> set[tuple[int, int]]:
        """(fret, string) of every top in doubt."""
        across = {(fret, s) for fret in self.frets for s in range(1, strings + 1)}
        return across | {(one.fret, one.string) for one in self.tops}


def doubtful_in(both: BothStates) -> Doubtful:
    """In the scans of both states."""
    loose = _loose(both)
    open_findings = tuple(
        one
        for one in both.findings
        if not one.harmless and one.kind not in ("loose fret", "loose end")
    )
    frets = frets_of(both.findings, loose, both.instrument.frets)
    read = both.unstrung_scan
    tops = suspects(
        both.strung,
        both.unstrung,
        wear_of(read.neck, both.instrument),
        tip_of(rig_of(read.scan), read.calibrations.probe).ball_mm,
        [(one.fret, one.string) for one in read.repeats.off if one.path is None],
    )
    others = tuple(one for one in tops if one.fret not in frets)
    return Doubtful(frets, others, loose, open_findings, remarks_of(both))


def doubts_of(both: BothStates, hanging: Mapping[tuple[int, int], Hanging]) -> Doubts:
    """hanging: by (fret, string), what the plan makes of every top."""
    return weighed_doubts(doubtful_in(both), hanging, len(both.instrument.strings))


def weighed_doubts(
    found: Doubtful, hanging: Mapping[tuple[int, int], Hanging], strings: int
) -> Doubts:
    """hanging: by (fret, string), what the plan makes of every top in doubt at least."""
    across = range(1, strings + 1)
    doubted = [DoubtedTop(one, hanging[one.fret, one.string]) for one in found.tops]
    return Doubts(
        tuple(
            DoubtedFret(fret, why, tuple(hanging[fret, s] for s in across))
            for fret, why in sorted(found.frets.items())
        ),
        tuple(
            sorted((one for one in doubted if one.hanging.matters(one.suspect.why)), key=_weight)
        ),
        found.loose,
        found.findings,
        found.remarks,
    )


def remarks_of(both: BothStates) -> tuple[str, ...]:
    """Of both scans: their own, what was left out, and calibrations that are not as they should."""
    said: dict[str, None] = {}
    for read in (both.strung_scan, both.paired_scan, both.unstrung_scan):
        said.update(dict.fromkeys(_of_scan(read)))
    strung, unstrung = (
        number_of(read.scan.path) or 0 for read in (both.strung_scan, both.unstrung_scan)
    )
    if unstrung < strung:
        said[
            f"the unstrung scan {unstrung:03d} is older than the strung one {strung:03d}: what was "
            "filed or seated between the two is not in it"
        ] = None
    return tuple(said)


def _of_scan(read: CombinedScan) -> list[str]:
    name = read.scan.path.name
    left_out = [f"{one.path.name} is left out: {one.why}" for one in read.repeats.left_out]
    # what is to be known of a calibration stands after a semicolon
    described = [line for line in read.calibrations.described if ";" in line]
    return [*(f"{name}: {remark}" for remark in read.remarks), *left_out, *described]


def _loose(both: BothStates) -> tuple[Loose, ...]:
    """Each fret once: what one scan shows of it before what several do."""
    found = [
        *loose_of(both.findings),
        *both.strung_scan.repeats.loose,
        *both.unstrung_scan.repeats.loose,
        *loose_frets(both.strung_scan.neck),
        *loose_frets(both.unstrung_scan.neck),
    ]
    by_fret = {one.fret: one for one in found}
    return tuple(by_fret[fret] for fret in sorted(by_fret))


def _weight(one: DoubtedTop) -> tuple[bool, float]:
    """Cuts first, the deepest; then what touches first."""
    hanging = one.hanging
    near = min(hanging.higher.by_mm, hanging.lower.by_mm)
    return hanging.cut_mm <= 0.0, -hanging.cut_mm if hanging.cut_mm > 0.0 else near
