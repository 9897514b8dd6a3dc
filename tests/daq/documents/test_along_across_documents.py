"""Documents of along and across: strict JSON, null with a reason, u beside what was measured."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest

from analysis.form.across import Across
from analysis.form.along import Along, Hump
from analysis.neck.shape import Shape
from daq.documents.across import across_document
from daq.documents.along import along_document


def strict(document: object) -> object:
    """Through JSON and back; NaN or a numpy number would raise."""
    return json.loads(json.dumps(document, allow_nan=False))


def test_across(unstrung: Shape) -> None:
    across = Across(
        np.array([250.123, np.inf, np.nan]), np.array([0.51, np.nan, np.nan]),
        np.array([11, 11, 2]), "cone", (241.0, 355.0), (0.3, 0.31),
    )  # fmt: skip
    shape = replace(unstrung, twist_mrad=0.98765, u_twist_mrad=0.104, u_twist_scan_mrad=0.04)
    got = strict(across_document(across, shape))
    assert isinstance(got, dict)
    assert got["frets"][0] == {
        "fret": 1, "radius_mm": 250.12, "u_radius_mm": 0.51, "lanes": 11, "status": "ok",
    }  # fmt: skip
    assert got["frets"][1]["radius_mm"] is None
    assert got["frets"][1]["status"].startswith("flat")
    assert "fewer than three lanes" in got["frets"][2]["status"]
    assert got["board"][1] == {"at": "last fret", "radius_mm": 355.0, "u_radius_mm": 0.31}
    assert (got["twist_mrad"], got["u_twist_mrad"]) == (0.9877, 0.104)
    assert got["u_twist_scan_mrad"] ** 2 + got["u_twist_rail_mrad"] ** 2 == pytest.approx(
        0.104**2, abs=1e-5
    )


@pytest.mark.parametrize("form", ["flat", "not known"])
def test_a_board_without_an_arc(unstrung: Shape, form: str) -> None:
    nothing = np.full(2, np.nan)
    end = np.inf if form == "flat" else np.nan
    across = Across(nothing, nothing, np.zeros(2, int), form, (end, end), (np.nan, np.nan))  # type: ignore[arg-type]
    got = strict(across_document(across, unstrung))
    assert isinstance(got, dict)
    assert got["board"][0]["radius_mm"] is None
    assert got["board"][0]["status"].startswith(form)


def test_along() -> None:
    nothing = np.zeros(22)
    known = Along(
        1, 0.0123, 0.00456, -0.05, 0.004, (Hump(9, 8, 10, 0.0456, 0.0021),), nothing, nothing, 0.008
    )
    short = replace(known, string=2, fall_away_mm=np.nan, u_fall_away_mm=np.nan)
    blind = Along(3, *[np.nan] * 4, (), nothing, nothing, np.nan)
    got = strict(along_document([known, short, blind]))
    assert isinstance(got, list)
    assert got[0] == {
        "string": 1, "s_mm": 0.0123, "u_s_mm": 0.00456, "fall_away_mm": -0.05,
        "u_fall_away_mm": 0.004, "scatter_mm": 0.008,
        "humps": [{"fret": 9, "first": 8, "last": 10, "height_mm": 0.0456, "u_height_mm": 0.0021}],
        "status": "ok",
    }  # fmt: skip
    assert got[1]["fall_away_mm"] is None
    assert "past the body-joint fret" in got[1]["status"]
    assert got[2]["s_mm"] is None
    assert "too few tops" in got[2]["status"]
