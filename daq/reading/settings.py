"""At which setting of the truss rod a job's scans were made, as their files say."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from daq.errors import FileError, InputError
from daq.record.scan import read_rod_turns
from daq.workshop.job import Job

#: Further than this from where it stood no rod is turned: what is found is a slip of the hand
#: (own choice).
MOST_SETTING_TURNS = 3.0
#: Settings nearer than this are one: nobody turns a nut to less than 4 degrees (own choice).
SAME_TURNS = 0.01


@dataclass(frozen=True, slots=True)
class RodSetting:
    """Where the rod stands, turns from where it stood when the job was opened, + tightened.

    before: where it stood in the latest scan, 0 where there is none. taken_from: that scan,
    where nobody said how the rod stands; None where it was said, or there is no scan.
    """

    turns: float
    before: float
    taken_from: Path | None

    @property
    def changed(self) -> bool:
        """Somebody has turned it since the latest scan."""
        return not same_setting(self.turns, self.before)


def same_setting(one: float, other: float) -> bool:
    """Whether two settings are one."""
    return abs(one - other) < SAME_TURNS


def turns_of(path: Path) -> float | None:
    """The setting of a scan; None where its file cannot be read, which others tell."""
    try:
        return read_rod_turns(path)
    except FileError:
        return None


def rod_setting(job: Job, stated: float | None) -> RodSetting:
    """The setting of the next scan: as stated, or that of the job's latest scan that tells.

    A rod is turned once and the neck scanned several times, strung and unstrung: so it is said
    once. Raises InputError where what is stated cannot be.
    """
    if stated is not None and not abs(stated) <= MOST_SETTING_TURNS:
        raise InputError(
            f"--rod: found {stated:g}; allowed {-MOST_SETTING_TURNS:g} to {MOST_SETTING_TURNS:g}, "
            "turns from where the rod stood when the job was opened, tightening positive"
        )
    told = ((scan.path, turns_of(scan.path)) for scan in reversed(job.scans()))
    path, before = next(((p, t) for p, t in told if t is not None), (None, 0.0))
    if stated is not None:
        return RodSetting(stated + 0.0, before, None)
    return RodSetting(before, before, path)
