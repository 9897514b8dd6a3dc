"""The strung end read back as it was stored."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from analysis.after.standing import Standing
from analysis.after.strung import StringRelief, StrungCheck
from analysis.instrument import Instrument
from analysis.plan.clearances import Clearance
from daq.documents.stored_strung import stored_strung
from daq.documents.strung import strung_document
from daq.errors import FileError

RELIEF = StringRelief(2, 0.2, 0.009, 0.231, 0.002, 0.031, 0.0092, "more")
CLEAR = Clearance(1, 0, 5, False, 0.2, 0.1, 0.02, 0.01, "clear")


@pytest.fixture
def check() -> StrungCheck:
    off, odd = np.full((22, 6), 0.7), np.zeros((22, 6), dtype=bool)
    odd[8, 2] = True
    off[3, 1] = np.nan
    return StrungCheck((RELIEF,), 0.05, 0.01, 0.002, off, np.full((22, 6), 1.1), odd)


@pytest.fixture
def document(check: StrungCheck) -> dict[str, Any]:
    bent = replace(CLEAR, fretted=3, bend=True, verdict="undecided")
    nothing = np.zeros((22, 6))
    standing = Standing((CLEAR, bent), nothing, nothing, 2.0)
    made = strung_document("004-strung.h5", check, standing, "measured")
    return {"strung": json.loads(json.dumps(made))}


def test_what_was_stored_comes_back(
    document: dict[str, Any], check: StrungCheck, six: Instrument
) -> None:
    found = stored_strung(document, six)
    assert found is not None
    assert found.heights == "measured"
    assert found.check.relief == check.relief
    assert (found.check.planned_relief_mm, found.check.more_mm) == (0.05, 0.01)
    assert found.check.odd.tolist() == check.odd.tolist()
    np.testing.assert_allclose(found.check.off_um, check.off_um)
    assert found.check.rms_um == pytest.approx(check.rms_um)
    assert found.margins[0] == CLEAR
    assert (found.margins[1].bend, found.margins[1].verdict) == (True, "undecided")


def test_checks_without_a_strung_end_have_none(six: Instrument) -> None:
    assert stored_strung({"cuts": []}, six) is None
    assert stored_strung({"strung": None}, six) is None


@pytest.mark.parametrize(
    ("path", "value", "said"),
    [
        (("rod",), 3, "strung.rod: found no group of keys"),
        (("standing",), None, "strung.standing: found no group of keys"),
        (("relief", 0, "string"), 9, "strung.relief[0].string: found 9"),
        (("relief", 0, "off_mm"), "x", "strung.relief[0].off_mm: found 'x'"),
        (("tops", 4, "fret"), 30, "strung.tops[4].fret: found 30"),
        (("standing", "bends", 0, "verdict"), "so", "strung.standing.bends[0].verdict"),
        (("standing", "margins", 0, "fretted"), -1, "strung.standing.margins[0].fretted"),
    ],
)
def test_damage_is_one_line(
    document: dict[str, Any], six: Instrument, path: tuple[Any, ...], value: Any, said: str
) -> None:
    at = document["strung"]
    for key in path[:-1]:
        at = at[key]
    at[path[-1]] = value
    with pytest.raises(FileError) as caught:
        stored_strung(document, six)
    assert said in str(caught.value)
    assert "\n" not in str(caught.value)
