"""The rail map kept before, and what of it a new one is joined to."""

from __future__ import annotations

from dataclasses import dataclass

from calibration.rail.surface import RailSurface
from daq.errors import InputError
from daq.reading.found import Found, built
from daq.reading.rail import across_of, kept_estimates
from daq.reading.rail_kept import KeptEstimate
from daq.workshop.calibrations import CalibrationStore

#: A straightedge's bow stays in the rail both as it lies and turned end for end: of the two,
#: only the one that knows more may count, or its bow would seem to be seen twice.
PLAIN, ENDS = "straightedge", "straightedge reversed (ends)"


@dataclass(frozen=True, slots=True)
class Before:
    """The newest map of a rig: where it is kept and what it was made of."""

    path: str
    kept: tuple[KeptEstimate, ...]
    across: RailSurface | None

    @property
    def methods(self) -> tuple[str, ...]:
        return tuple(one.estimate.method for one in self.kept)


def newest_document(store: CalibrationStore) -> Found | None:
    """The newest map as it is kept; None where there is none. Raises FileError."""
    latest = store.latest("rail")
    return None if latest is None else Found(latest[1], str(store.documents("rail")[-1]))


def before_of(found: Found) -> Before:
    """What a map was made of. Raises FileError where it is damaged."""
    kept, across = built(kept_estimates, found), built(across_of, found)
    return Before(found.where, kept or (), across)


def not_replaced(before: Before, method: str) -> tuple[KeptEstimate, ...]:
    """What stays beside a new estimate: all but its own older self.

    Raises InputError where the older map knows more by the same straightedge.
    """
    if method == PLAIN and ENDS in before.methods:
        raise InputError(
            f"--join: {before.path} holds the {ENDS}, which knows more than one scan of it; "
            "no map was kept: join another method, or leave --join out"
        )
    replaced = {_family(method)} | ({PLAIN} if method == ENDS else set())
    return tuple(one for one in before.kept if _family(one.estimate.method) not in replaced)


def _family(method: str) -> str:
    """One string or several are one method."""
    return "strings" if method.startswith("string ") else method
