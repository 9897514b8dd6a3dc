"""What a scan read anew comes to, against the reading before it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from analysis.instrument import FloatArray

#: So many standard uncertainties of a difference are more than a guess.
SURE = 2.0
#: What can come of a comparison, the gravest first.
KINDS = ("lost", "found", "other", "beyond", "within", "same", "fault", "first")
#: Of these each scan is named, the others are counted.
GRAVE = KINDS[:4]


@dataclass(frozen=True, slots=True)
class Kept:
    """A reading as the archive has it. document: `daq.archive.numbers`."""

    url: str
    scan_id: str | None
    way: str
    read_at: str
    is_read: bool
    fault: str | None
    wear_um: float | None
    document: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Moved:
    """The largest difference of one kind of number, now minus then, against its u: at the place
    where it is most standard uncertainties. beyond: at how many places it is more than SURE of
    them."""

    by_um: float
    u_um: float
    beyond: int
    fret: int | None
    string: int


@dataclass(frozen=True, slots=True)
class Change:
    """One scan. kind: "same" to the last digit kept, "within" or "beyond" the uncertainty,
    "found" where only now it could be read, "lost" where no longer, "other" where it has another
    number of frets or strings, "fault" in both, "first" without a reading before.

    relief, tops, wear: None where nothing is known on either side. wear_um: deepest then and now.
    """

    url: str
    scan_id: str | None
    kind: str
    ways: tuple[str | None, str]
    fault: str | None = None
    relief: Moved | None = None
    tops: Moved | None = None
    dents: Moved | None = None
    wear_um: tuple[float | None, float | None] = (None, None)


@dataclass(frozen=True, slots=True)
class Summary:
    """kinds: how many changes of each. relief_um, tops_um: median and largest size of what moved,
    over the scans compared; None without any."""

    kinds: Mapping[str, int]
    relief_um: tuple[float, float] | None
    tops_um: tuple[float, float] | None


def changes_of(
    pairs: Iterable[tuple[Kept | None, Kept]],
) -> tuple[list[Change], Summary]:
    """The grave changes, and the summary of all. pairs: (before, now), taken one by one."""
    grave: list[Change] = []

    def noted() -> Iterator[Change]:
        for then, now in pairs:
            change = change_of(then, now)
            if change.kind in GRAVE:
                grave.append(change)
            yield change

    summary = summary_of(noted())
    return grave, summary


def change_of(then: Kept | None, now: Kept) -> Change:
    """One scan's latest reading against the one before.

    Both are of the same samples, whose noise moves both alike, so that the uncertainty of the
    difference, the root of both squares, is on the safe side.
    """
    ways = (None if then is None else then.way, now.way)
    if then is None:
        return Change(now.url, now.scan_id, "first", ways, now.fault)
    if not (then.is_read and now.is_read):
        kind = "fault" if then.is_read == now.is_read else "found" if now.is_read else "lost"
        return Change(now.url, now.scan_id, kind, ways, now.fault)
    relief = _moved(then, now, "relief_um")
    tops, dents = _moved(then, now, "top_um"), _moved(then, now, "dent_um")
    found = [one for one in (relief, tops, dents) if one is not None]
    if _shape(then) != _shape(now):
        kind = "other"
    elif any(one.beyond for one in found):
        kind = "beyond"
    else:
        same = then.document.get("digest") == now.document.get("digest")
        kind = "same" if same and not any(one.by_um for one in found) else "within"
    wear = (then.wear_um, now.wear_um)
    return Change(now.url, now.scan_id, kind, ways, None, relief, tops, dents, wear)


def summary_of(changes: Iterable[Change]) -> Summary:
    """Over all scans."""
    kinds: Counter[str] = Counter()
    relief, tops = [], []
    for one in changes:
        kinds[one.kind] += 1
        relief += [] if one.relief is None else [abs(one.relief.by_um)]
        tops += [] if one.tops is None else [abs(one.tops.by_um)]
    return Summary(
        {kind: kinds[kind] for kind in KINDS if kinds[kind]}, _sizes(relief), _sizes(tops)
    )


def _sizes(sizes: Sequence[float]) -> tuple[float, float] | None:
    return (float(np.median(sizes)), max(sizes)) if sizes else None


def _shape(one: Kept) -> tuple[int, ...]:
    return _numbers(one, "top_um").shape


def _numbers(one: Kept, name: str) -> FloatArray:
    """NaN for None."""
    return np.array(one.document.get(name, []), dtype=float)


def _moved(then: Kept, now: Kept, name: str) -> Moved | None:
    """None where no place is known in both."""
    old, new = _numbers(then, name), _numbers(now, name)
    if old.shape != new.shape or not old.size:
        return None
    off = new - old
    u = np.hypot(_numbers(then, f"u_{name}"), _numbers(now, f"u_{name}"))
    known = np.isfinite(off) & np.isfinite(u)
    if not known.any():
        return None
    times = np.where(known, np.abs(off) / np.maximum(u, 1e-9), 0.0)
    at = np.unravel_index(int(np.argmax(times)), times.shape)
    return Moved(
        float(off[at]) if known[at] else 0.0,
        float(u[at]) if known[at] else 0.0,
        int(np.count_nonzero(times > SURE)),
        int(at[0]) + 1 if off.ndim > 1 else None,
        int(at[-1]) + 1,
    )
