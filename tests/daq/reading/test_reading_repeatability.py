"""A kept repeatability comes back as it was; a damaged one is none."""

from __future__ import annotations

import json
from typing import Any

import numpy as np
import pytest

from analysis.repeats.repeatability import Repeatability, study
from analysis.repeats.repeated import Repeated
from daq.reading.repeatability import repeatability_document, repeatability_of


@pytest.fixture
def found() -> Repeatability:
    rng = np.random.default_rng(1)
    seen = np.ones((5, 3), dtype=bool)
    seen[2, 1] = False
    off = 1e-3 * rng.normal(size=(3, 4, 14))
    relief = 0.2 + 1e-3 * rng.normal(size=(3, 4, 3))
    return study(Repeated(seen, off, 0.1 * rng.normal(size=14), relief, 1e-3, 8e-4, 2e-3, 1e-3))


@pytest.fixture
def kept(found: Repeatability) -> dict[str, Any]:
    about = {"state": "unstrung"}
    document = repeatability_document(found, np.array([1.0, 3.0, 6.0]), "rail", "now", about)
    read: dict[str, Any] = json.loads(json.dumps(document))
    return read


def test_there_and_back(found: Repeatability, kept: dict[str, Any]) -> None:
    back = repeatability_of(kept)
    assert back.tops.anova.ms_within == pytest.approx(found.tops.anova.ms_within)
    assert back.tops.s_r.high == pytest.approx(found.tops.s_r.high)
    assert back.tops.s_big_r.low == pytest.approx(found.tops.s_big_r.low)
    assert back.relief is not None
    assert found.relief is not None
    assert back.relief.chance == pytest.approx(found.relief.chance)
    assert kept["state"] == "unstrung"
    assert len(kept["frets"]) == 14
    assert kept["frets"][0]["s_r_um"] == pytest.approx(1e3 * found.s_r_mm[0, 0], abs=1e-4)


def test_without_relief(kept: dict[str, Any]) -> None:
    assert repeatability_of({**kept, "relief": None}).relief is None


@pytest.mark.parametrize(
    ("key", "value"),
    [("groups", 1), ("per_group", 0), ("dof_within", 0.0), ("stated_um", -1.0),
     ("ms_within_um2", -0.1), ("ms_between_um2", float("nan")), ("random_um", "much")],
)  # fmt: skip
def test_what_makes_no_sense_is_none(kept: dict[str, Any], key: str, value: object) -> None:
    with pytest.raises((ValueError, TypeError)):
        repeatability_of({**kept, "tops": {**kept["tops"], key: value}})


def test_a_missing_key(kept: dict[str, Any]) -> None:
    del kept["tops"]["dof_within"]
    with pytest.raises(KeyError, match="dof_within"):
        repeatability_of(kept)
