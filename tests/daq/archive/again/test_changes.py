"""What changed between two readings, by hand-written readings."""

from __future__ import annotations

from typing import Any

import pytest

from daq.archive.changes import Kept, change_of, summary_of

DOCUMENT: dict[str, Any] = {
    "relief_um": [100.0, 110.0], "u_relief_um": [1.0, 1.0],
    "top_um": [[1000.0, 1001.0], [1002.0, None]], "u_top_um": [[0.5, 0.5], [0.5, None]],
    "dent_um": [[3.0, 4.0], [5.0, None]], "u_dent_um": [[3.0, 3.0], [4.0, None]],
    "digest": "aa",
}  # fmt: skip


def kept(way: str, fault: str | None = None, wear_um: float = 5.0, **changed: Any) -> Kept:
    document = {"kind": "file"} if fault else {**DOCUMENT, **changed}
    return Kept("u", "id", way, "2026", fault is None, fault, wear_um, document)


def test_the_same_to_the_last_digit() -> None:
    found = change_of(kept("a"), kept("b"))
    assert (found.kind, found.ways) == ("same", ("a", "b"))
    # what the digits kept do not show, the digest does
    assert change_of(kept("a"), kept("b", digest="bb")).kind == "within"


def test_a_top_that_moved_beyond_its_uncertainty() -> None:
    # u of the difference is 0.5 sqrt 2 = 0.707, twice that 1.414
    found = change_of(kept("a"), kept("b", top_um=[[1000.0, 1001.0], [1000.5, None]], digest="bb"))
    assert found.kind == "beyond"
    assert found.tops is not None
    assert (found.tops.fret, found.tops.string, found.tops.beyond) == (2, 1, 1)
    assert found.tops.by_um == -1.5
    assert found.tops.u_um == pytest.approx(0.7071, abs=1e-4)
    small = change_of(kept("a"), kept("b", top_um=[[1000.0, 1002.4], [1002.0, None]], digest="bb"))
    assert small.kind == "within"
    assert small.tops is not None
    assert (small.tops.fret, small.tops.string, small.tops.beyond) == (1, 2, 0)


def test_relief_and_dents_count_as_well() -> None:
    relief = change_of(kept("a"), kept("b", relief_um=[100.0, 113.0]))
    assert (relief.kind, relief.relief and relief.relief.fret) == ("beyond", None)
    assert relief.relief is not None
    assert relief.relief.string == 2
    dents = change_of(kept("a"), kept("b", dent_um=[[3.0, 14.0], [5.0, None]], wear_um=14.0))
    assert dents.kind == "beyond"
    assert dents.wear_um == (5.0, 14.0)


def test_found_lost_and_others() -> None:
    bad = kept("a", "u: is damaged")
    assert change_of(bad, kept("b")).kind == "found"
    lost = change_of(kept("a"), kept("b", "u: is damaged"))
    assert (lost.kind, lost.fault) == ("lost", "u: is damaged")
    assert change_of(bad, kept("b", "u: is damaged")).kind == "fault"
    assert change_of(None, kept("b")).kind == "first"
    other = change_of(kept("a"), kept("b", top_um=[[1.0], [1.0]], u_top_um=[[0.5], [0.5]]))
    assert (other.kind, other.tops) == ("other", None)


def test_a_strung_scan_has_no_dents() -> None:
    then, now = (kept(way, dent_um=[], u_dent_um=[]) for way in "ab")
    assert change_of(then, now).dents is None


def test_the_summary() -> None:
    tops = [[1000.0, 1001.0], [1000.0, None]]
    changes = [
        change_of(kept("a"), kept("b")),
        change_of(kept("a"), kept("b")),
        change_of(kept("a"), kept("b", top_um=tops, relief_um=[101.0, 110.0])),
        change_of(kept("a"), kept("b", "u: gone")),
    ]
    found = summary_of(changes)
    assert list(found.kinds.items()) == [("lost", 1), ("beyond", 1), ("same", 2)]
    assert found.tops_um == (0.0, 2.0)
    assert found.relief_um == (0.0, 1.0)
    assert summary_of([]).tops_um is None
