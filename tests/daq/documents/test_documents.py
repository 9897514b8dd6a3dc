"""Documents hold the contract's keys, Python's own numbers, and null where there is none."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest

from analysis.after.law import Law
from analysis.after.verify import Cut
from analysis.findings.findings import Finding
from analysis.instrument import Instrument
from analysis.movement.movement import Field
from analysis.neck.relief import Relief
from analysis.neck.shape import Shape
from analysis.plan.plan import Plan
from daq.documents.action import action_after_mm
from daq.documents.compare import compare_document
from daq.documents.movement import chord_movement, relief_changes
from daq.documents.numbers import cut_um, mm, rounded
from daq.documents.plan import plan_document
from daq.documents.stored_check import stored_cuts, stored_law
from daq.documents.stored_plan import aimed_um, planned_um
from daq.documents.tops import tops_document
from daq.documents.verify import verify_document
from daq.errors import FileError
from daq.files.playing import parse_playing


def _strict(document: dict) -> dict:
    """Through JSON and back; NaN or a numpy number would raise."""
    return json.loads(json.dumps(document, allow_nan=False))


def test_numbers() -> None:
    assert mm(np.float64(1.23456)) == 1.2346
    assert type(mm(np.float64(1.0))) is float
    assert mm(np.nan) is None
    assert rounded(np.inf, 2) is None
    assert str(rounded(-1e-9, 3)) == "0.0"


@pytest.mark.parametrize(
    ("exact", "written"), [(31.0, 31.0), (31.0000000001, 31.0), (31.01, 31.1), (0.06, 0.1)]
)
def test_removals_are_written_up(exact: float, written: float) -> None:
    assert cut_um(exact) == written


def test_tops(unstrung: Shape, six: Instrument) -> None:
    got = _strict(tops_document("parlour", "001-unstrung.h5", unstrung, six))
    assert set(got) == {
        "job", "state", "scan", "frets", "relief", "twist_mrad", "u_twist_mrad", "board_radius_mm",
    }  # fmt: skip
    assert len(got["frets"]) == 22 * 6
    first = got["frets"][0]
    assert list(first) == [
        "fret", "string", "x_mm", "top_mm", "u_top_mm", "height_mm", "u_height_mm", "flat_mm",
        "status",
    ]  # fmt: skip
    high = next(f for f in got["frets"] if (f["fret"], f["string"]) == (9, 3))
    assert (high["height_mm"], high["u_height_mm"], high["status"]) == (1.09, 0.004, "ok")
    assert high["x_mm"] == pytest.approx(641 * (1 - 2 ** (-9 / 12)), abs=1e-4)
    assert got["relief"][0] == {
        "string": 1, "relief_mm": 0.0215, "u_relief_mm": 0.00137, "at_fret": 7,
    }  # fmt: skip
    assert got["board_radius_mm"] == [239.0, 357.0]


def test_tops_without_numbers_say_why(unstrung: Shape, six: Instrument) -> None:
    height, status = unstrung.height_mm.copy(), unstrung.status.copy()
    top = unstrung.top_mm.copy()
    height[0, 0] = np.nan
    top[1, 0], status[1, 0] = np.nan, "not seen: too few readings"
    shape = replace(
        unstrung, height_mm=height, top_mm=top, status=status,
        relief=(Relief(np.nan, np.nan, 0), *unstrung.relief[1:]), board_radius_mm=(np.inf, 300.0),
    )  # fmt: skip
    got = _strict(tops_document(None, "s", shape, six))
    assert got["job"] is None
    assert got["frets"][0]["height_mm"] is None
    assert got["frets"][0]["status"] == "not known: height"
    assert got["frets"][6]["status"] == "not seen: too few readings"
    assert got["relief"][0]["relief_mm"] is None
    assert "fret 1" in got["relief"][0]["status"]
    assert got["board_radius_mm"][0] is None
    assert "radius" in got["status"]


def test_inferred_tops_keep_their_status(strung: Shape, six: Instrument) -> None:
    got = _strict(tops_document("j", "s", strung, six))
    assert {f["status"] for f in got["frets"]} == {"inferred"}
    assert got["frets"][0]["flat_mm"] is None


def test_movement_is_zero_at_both_ends_of_the_chord(
    field: Field, unstrung: Shape, six: Instrument
) -> None:
    dz, u = chord_movement(field, unstrung.x_mm, unstrung.y_mm, six.body_joint_fret)
    for fret in (0, six.body_joint_fret - 1):
        assert np.all(dz[fret] == 0.0)
        assert np.all(u[fret] == 0.0)
    x, joint = unstrung.x_mm[:, 0], six.body_joint_fret - 1
    assert dz[:, 0] == pytest.approx(1e-6 * (x - x[0]) * (x - x[joint]), abs=1e-9)
    assert np.all(u[1 : joint - 1] > 0)


def test_movement_uncertainty_is_that_of_the_contrast(
    field: Field, unstrung: Shape, six: Instrument
) -> None:
    rng = np.random.default_rng(4)
    u_each = np.sqrt(np.diag(field.covariance))
    draws = rng.normal(field.coefficients, u_each, (4000, u_each.size))
    joint = six.body_joint_fret
    _, u = chord_movement(field, unstrung.x_mm, unstrung.y_mm, joint)
    found = np.array(
        [
            chord_movement(replace(field, coefficients=c), unstrung.x_mm, unstrung.y_mm, joint)[0]
            for c in draws
        ]
    )
    assert found.std(axis=0)[6, 2] == pytest.approx(u[6, 2], rel=0.05)


def test_compare(strung: Shape, unstrung: Shape, field: Field, six: Instrument) -> None:
    got = _strict(compare_document(strung, unstrung, field, six, ()))
    assert list(got["relief"][0]) == [
        "string", "strung_mm", "unstrung_mm", "change_mm", "u_change_mm",
    ]  # fmt: skip
    assert got["relief"][2]["change_mm"] == pytest.approx(0.12, abs=1e-3)
    assert list(got["movement"][0]) == ["fret", "string", "dz_mm", "u_dz_mm"]
    assert len(got["movement"]) == 22 * 6
    assert got["movement"][0]["dz_mm"] == got["movement"][0]["u_dz_mm"] == 0.0
    assert got["odd_frets"] == []


def test_change_at_one_fret_has_the_movement_s_uncertainty_alone(
    strung: Shape, unstrung: Shape, field: Field, six: Instrument
) -> None:
    joint = six.body_joint_fret
    _, u = chord_movement(field, unstrung.x_mm, unstrung.y_mm, joint)
    (first, *_) = relief_changes(strung, unstrung, field, joint)
    assert first.u_change_mm == pytest.approx(u[6, 0])
    moved = replace(strung, relief=tuple(replace(r, at_fret=9) for r in strung.relief))
    (other, *_) = relief_changes(moved, unstrung, field, joint)
    assert other.u_change_mm > np.hypot(u[8, 0], 0.001)


def test_change_without_relief_is_null_and_says_why(
    strung: Shape, unstrung: Shape, field: Field, six: Instrument
) -> None:
    blind = replace(strung, relief=(Relief(np.nan, np.nan, 0), *strung.relief[1:]))
    got = _strict(compare_document(blind, unstrung, field, six, ()))["relief"]
    assert got[0]["change_mm"] is None
    assert got[0]["u_change_mm"] is None
    assert "fret 1" in got[0]["status"]
    assert "status" not in got[1]


def test_odd_frets_are_named(strung: Shape, unstrung: Shape, field: Field, six: Instrument) -> None:
    odd = field.odd.copy()
    odd[4, 2] = True
    got = compare_document(strung, unstrung, replace(field, odd=odd), six, ())
    assert got["odd_frets"] == [5]


def test_findings_are_listed(strung: Shape, unstrung: Shape, field: Field, six: Instrument) -> None:
    found = (
        Finding("capo", 3, None, np.nan, np.nan),
        Finding("one place", 5, 2.5, -0.02041, 0.000512),
        Finding("shifted", None, None, 0.2, 0.001),
    )
    capo, place, shifted = _strict(compare_document(strung, unstrung, field, six, found))[
        "findings"
    ]
    assert capo["size_mm"] is capo["u_size_mm"] is None
    assert "hidden" in capo["status"]
    assert place == {
        "kind": "one place", "fret": 5, "string": 2.5, "size_mm": -0.0204, "u_size_mm": 0.00051,
        "harmless": False,
    }  # fmt: skip
    assert shifted["harmless"]
    assert shifted["fret"] is None


PLAN_KEYS = {
    "feasible", "playing", "strings", "rod", "saddles", "nut", "cuts", "margins", "refret", "metal",
}  # fmt: skip


def test_plan(plan: Plan, six: Instrument) -> None:
    got = _strict(plan_document(plan, six))
    assert set(got) >= PLAN_KEYS
    assert got["feasible"] is True
    assert got["playing"] == {
        "name": "everyday", "pluck_force_n": 0.5, "pluck_from_saddle_mm": 120.0,
        "bend_semitones": 2.0, "least_fret_mm": 0.6, "highest_action_mm": {"1": 1.7, "6": 2.2},
        "guard": 2.0,
    }  # fmt: skip
    assert got["strings"][0]["tension_n"] == pytest.approx(71.0, abs=1.0)
    assert got["strings"][0]["mass_kg_per_m"] == pytest.approx(3.9776e-4, abs=1e-8)
    default = {"mm_per_turn": 0.4, "u_mm_per_turn": 0.1, "learnt": False}
    assert got["rod"] == {
        "turns": 0.25, "direction": "loosen", "relief_change_mm": 0.1, **default,
    }  # fmt: skip
    assert got["saddles"][0] == {"string": 1, "change_mm": 0.118}
    assert got["nut"][5] == {"string": 6, "change_mm": -0.02}
    assert got["cuts"][0] == {
        "fret": 9, "string": 3, "remove_um": 31.1, "u_remove_um": 2.0, "height_after_mm": 1.059,
    }  # fmt: skip
    assert len(got["cuts"]) == 5
    assert len(got["margins"]) == 6 * 22
    assert got["margins"][0] == {
        "string": 1, "fretted": 0, "worst_at": 1, "clearance_mm": 0.19, "u_clearance_mm": 0.011,
        "needed_mm": 0.1, "more_mm": 0.02, "verdict": "clear",
    }  # fmt: skip
    assert len(got["bends"]) == 6 * 21
    assert got["metal"] == {
        "planned_um_total": pytest.approx(sum(c["remove_um"] for c in got["cuts"])),
        "level_um_total": 3110.0,
    }


def test_plan_by_the_programme_loses_no_cut(solved: Plan, six: Instrument) -> None:
    document = _strict(plan_document(solved, six))
    written = planned_um(document, six)
    exact = 1e3 * solved.remove_mm
    assert written.shape == (22, 6)
    assert np.all(written[exact > 0.05] >= exact[exact > 0.05] - 1e-6)
    assert np.max(written - exact) <= 0.1
    assert solved.feasible
    assert {m["verdict"] for m in document["margins"]} == {"clear"}


def test_a_playing_file_s_own_keys_come_back_as_they_were(plan: Plan, six: Instrument) -> None:
    own = replace(plan.playing, name="own", least_bending_fret_mm=0.8, bend_frets=(5, 15))
    text = json.dumps(plan_document(replace(plan, playing=own), six)["playing"])
    assert parse_playing(text, "stored plan", six).record == own


def test_action_after_keeps_the_player_s_limit(solved: Plan, six: Instrument) -> None:
    after = action_after_mm(solved, six)
    limit = solved.playing.highest_action(6)
    assert np.all(after <= limit + 1e-6)
    # one string at least is held by it
    assert np.min(limit - after) == pytest.approx(0.0, abs=1e-6)


def test_plan_with_nothing_for_the_rod_has_no_direction(plan: Plan, six: Instrument) -> None:
    got = _strict(plan_document(replace(plan, turns=-0.0, relief_change_mm=-0.0), six))
    assert got["rod"]["turns"] == 0.0
    assert got["rod"]["direction"] == "none"
    assert got["rod"]["relief_change_mm"] == 0.0


def test_plan_with_a_law_says_what_to_aim_at(plan: Plan, six: Instrument, law: Law) -> None:
    got = _strict(plan_document(plan, six, law))
    assert all(0 <= cut["aim_um"] < 1.1 * cut["remove_um"] for cut in got["cuts"])
    aimed, planned = aimed_um(got, six), planned_um(got, six)
    assert aimed[15, 0] == got["cuts"][2]["aim_um"] != planned[15, 0]
    plain = plan_document(plan, six)
    assert np.array_equal(aimed_um(plain, six), planned_um(plain, six))


def test_infeasible_plan(failing: Plan, six: Instrument) -> None:
    got = _strict(plan_document(failing, six))
    assert got["feasible"] is False
    assert got["cuts"] == []
    assert got["short"][0]["short_mm"] == 0.05
    assert got["short"][2]["bend"] is True
    assert got["action_short"] == [{"string": 1, "short_mm": 0.12}]
    assert got["refret"][0]["fret"] == 2
    assert got["cures"] == [
        {"kind": "free", "free": ["nut"], "raise_mm": {}, "metal_um": 212.0},
        {
            "kind": "action",
            "free": [],
            "raise_mm": {"1": 0.12, "2": 0.12, "6": 0.03},
            "metal_um": 400.5,
        },
    ]


def test_plan_of_another_instrument_is_refused(plan: Plan, twelve: Instrument) -> None:
    with pytest.raises(ValueError, match="other frets or strings"):
        plan_document(plan, twelve)


@pytest.mark.parametrize(
    ("document", "where"),
    [
        ({}, "cuts: found no list"),
        (None, "cuts: found no list"),
        ({"cuts": [3]}, r"cuts\[0\]: found no group"),
        ({"cuts": [{"fret": 23, "string": 1, "remove_um": 1}]}, r"cuts\[0\].fret: found 23"),
        ({"cuts": [{"fret": 1, "string": True, "remove_um": 1}]}, "string: found True"),
        ({"cuts": [{"fret": 1, "string": 1, "remove_um": None}]}, "remove_um: found null"),
        ({"cuts": [{"fret": 1, "string": 1, "remove_um": float("nan")}]}, "found nan"),
        ({"cuts": [{"fret": 1, "string": 1, "remove_um": -1.0}]}, "found -1;"),
    ],
)
def test_damaged_plan_is_one_clear_line(document: object, where: str, six: Instrument) -> None:
    with pytest.raises(FileError, match=where) as caught:
        planned_um(document, six)
    assert "\n" not in str(caught.value)


def test_verify(cuts: tuple[Cut, ...], law: Law) -> None:
    got = _strict(verify_document(cuts, law, "go on"))
    assert got["cuts"][0] == {
        "fret": 9, "string": 3, "planned_um": 31.1, "achieved_um": 28.4, "u_achieved_um": 1.9,
        "verdict": "undecided",
    }  # fmt: skip
    assert got["cuts"][4]["achieved_um"] is None
    assert "not seen" in got["cuts"][4]["status"]
    assert got["law"]["gain"] == 0.93
    assert set(got["law"]) >= {"gain", "u_gain", "offset_um"}
    assert got["next"] == "go on"
    assert "status" not in got


def test_verify_without_a_law_says_why() -> None:
    got = _strict(verify_document((), None, "go on"))
    assert got["law"] is None
    assert "3 cuts" in got["status"]


def test_stored_check_comes_back(cuts: tuple[Cut, ...], law: Law) -> None:
    document = _strict(verify_document(cuts, law, "go on"))
    back = stored_cuts(document)
    assert back[:4] == cuts[:4]
    assert np.isnan(back[4].achieved_um)
    assert stored_law(document) == law
    assert stored_law(_strict(verify_document(cuts, None, "go on"))) is None


@pytest.mark.parametrize(
    "damage",
    [
        {"cuts": None},
        {"cuts": [{"fret": 1, "string": 1, "verdict": "fine"}]},
        {"cuts": [{"fret": 1, "string": 1, "verdict": "over", "planned_um": "3"}]},
    ],
)
def test_damaged_check_is_one_clear_line(damage: dict) -> None:
    with pytest.raises(FileError, match="stored check: cuts") as caught:
        stored_cuts(damage)
    assert "\n" not in str(caught.value)
    with pytest.raises(FileError, match="stored check: law"):
        stored_law({"law": 3})
