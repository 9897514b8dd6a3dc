"""Doubtful tops, and what of a plan hangs on them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from analysis.findings.findings import Finding
from analysis.instrument import Instrument
from analysis.neck.shape import Shape
from analysis.plan.doubts import Hanging, Touch, frets_of, hangings, suspects
from analysis.plan.margins import Margins
from analysis.plan.planner import Planner, planner_for
from analysis.plan.programme import Solution
from analysis.plan.target import Target
from analysis.rod.rod import default_rod
from analysis.strings.playing import built_in_profile
from analysis.wear.loose import Loose
from analysis.wear.wear import Wear, bridged_mm

MakeShape = Callable[..., Shape]
NONE = Target()
PLAYER = replace(
    built_in_profile("everyday", 6), name="own", pluck_force_n=0.45, bend_semitones=1.0
)


@pytest.fixture(scope="module")
def shape(walnut: Instrument, make_shape: MakeShape) -> Shape:
    high = 1.1 + np.random.default_rng(3).normal(0.0, 0.012, (22, 1)) * np.ones(6)
    return make_shape(walnut, high)


@pytest.fixture(scope="module")
def planner(shape: Shape, walnut: Instrument) -> Planner:
    return planner_for(shape, walnut, PLAYER, default_rod(walnut, shape.x_mm))


@pytest.fixture(scope="module")
def margins(planner: Planner) -> Margins:
    return planner.played(PLAYER)


@pytest.fixture(scope="module")
def plan(planner: Planner) -> Solution:
    return planner.solve(PLAYER, planner.limits(PLAYER, NONE))


@pytest.fixture(scope="module")
def hanging(planner: Planner, margins: Margins, plan: Solution) -> dict[tuple[int, int], Hanging]:
    planner.solve(PLAYER, planner.limits(PLAYER, NONE))
    prices = planner.programme.prices()
    return hangings(planner, margins, plan.clearance_mm, prices, plan.changes.remove_mm)


def spare_with(margins: Margins, plan: Solution, off: np.ndarray) -> np.ndarray:
    """Room over what each needs, with tops that stand `off` from where they were read."""
    return np.asarray(plan.clearance_mm + margins.nodes @ off.ravel() - margins.swing_mm)


@pytest.mark.parametrize("higher", [True, False])
def test_the_first_touch_is_the_first(
    planner: Planner,
    margins: Margins,
    plan: Solution,
    hanging: dict[tuple[int, int], Hanging],
    higher: bool,
) -> None:
    """Moved so far, less a little, nothing touches; a little further, that string does."""
    finite = 0
    for (fret, string), one in hanging.items():
        touch = one.higher if higher else one.lower
        if not np.isfinite(touch.by_mm):
            continue
        finite += 1
        off = np.zeros_like(planner.setup.node_z_mm)
        off[fret - 1, 2 * string - 2] = (1.0 if higher else -1.0) * touch.by_mm
        assert spare_with(margins, plan, 0.999 * off).min() > 0.0
        found = spare_with(margins, plan, 1.001 * off) < 0.0
        named = (
            (margins.string == touch.string)
            & (margins.fretted == touch.fretted)
            & (margins.at == touch.at)
        )
        assert np.any(found & named)
    # the last fret is over no other, and nothing is fretted at it
    assert finite >= 6 * 21


def test_what_comes_off_and_how_well_it_is_known(
    plan: Solution, shape: Shape, hanging: dict[tuple[int, int], Hanging]
) -> None:
    assert set(hanging) == {(f, s) for f in range(1, 23) for s in range(1, 7)}
    for (fret, string), one in hanging.items():
        assert (one.fret, one.string) == (fret, string)
        assert one.cut_mm == plan.changes.remove_mm[fret - 1, string - 1]
        assert one.u_mm == shape.u_top_mm[fret - 1, string - 1]


def test_metal_that_hangs_on_a_top_is_that_of_plans_for_another_top(
    planner: Planner, margins: Margins, plan: Solution, hanging: dict[tuple[int, int], Hanging]
) -> None:
    """A fret that is cut, a micrometre higher: a micrometre more comes off it, or about that."""
    limits = planner.limits(PLAYER, NONE)
    most = sorted(hanging.values(), key=lambda one: -abs(one.metal))[:4]
    assert abs(most[0].metal) > 0.5
    for one in most:
        off = np.zeros_like(planner.setup.node_z_mm)
        metal = []
        for by in (-1e-4, 0.0, 1e-4):
            off[one.fret - 1, 2 * one.string - 2] = by
            needed = margins.needed_mm - margins.nodes @ off.ravel()
            done = planner.programme.solve(replace(margins, needed_mm=needed), limits)
            metal.append(done.metal_mm)
        low, high = sorted(np.diff(metal) / 1e-4)
        assert low - 0.05 <= one.metal <= high + 0.05


def test_without_a_plan_no_metal_hangs_on_anything(planner: Planner, margins: Margins) -> None:
    now = hangings(planner, margins, planner.rows.now_mm, None, np.zeros((22, 6)))
    assert all(np.isnan(one.metal) for one in now.values())
    assert any(np.isfinite(one.higher.by_mm) for one in now.values())
    assert all(one.higher.by_mm > 0.0 for one in now.values())


def changed(shape: Shape, at: tuple[int, int], status: str = "ok", u_mm: float = 0.001) -> Shape:
    kinds, u = np.array(shape.status, dtype="<U60"), shape.u_top_mm.copy()
    kinds[at], u[at] = status, u_mm
    return replace(shape, status=kinds, u_top_mm=u)


def test_every_kind_of_suspect(shape: Shape) -> None:
    strung = changed(shape, (3, 2), u_mm=0.02)
    top = strung.top_mm.copy()
    top[20, 5] = np.nan
    strung = replace(strung, top_mm=top, status=np.full(top.shape, "inferred"))
    unstrung = changed(shape, (1, 0), "doubtful: the two ways disagree")
    unstrung = changed(unstrung, (2, 1), "inferred")
    found = suspects(strung, unstrung, disagreeing=[(6, 2.0), (7, 2.5)])
    assert [(one.fret, one.string, one.why) for one in found] == [
        (2, 1, "doubtful: the two ways disagree"),
        (3, 2, "inferred"),
        (4, 3, "unsure"),
        (6, 2, "scans disagree"),
        (21, 6, "not seen"),
    ]
    assert suspects(shape, shape) == ()


def test_a_dent_is_suspect_where_nothing_shows_it_wide(shape: Shape) -> None:
    size = shape.top_mm.shape
    dent, width, u = np.zeros(size), np.full(size, np.nan), np.full(size, 0.001)
    dent[0, 0] = dent[1, 1] = dent[2, 2] = 0.03
    u[2, 2] = 0.02
    width[1, 1] = bridged_mm(0.03, 1.0) + 0.01
    wear = Wear(dent, u, width, dent, u, np.full(size, "dented"))
    assert [(one.fret, one.why) for one in suspects(shape, shape, wear, 1.0)] == [(1, "dent")]
    # light stands on no edges
    assert suspects(shape, shape, wear, 0.0) == ()


def test_a_dent_matters_only_where_a_lower_top_does() -> None:
    near, far = Touch(0.005, 1, 3, 4), Touch(float("inf"))
    lower = Hanging(3, 1, 0.0, 0.001, far, near, 0.0)
    higher = Hanging(3, 1, 0.0, 0.001, near, far, 0.0)
    assert lower.matters("dent")
    assert not higher.matters("dent")
    assert higher.matters("inferred")
    free = Hanging(3, 1, 0.0, 0.001, far, far, 0.0)
    assert not free.matters("inferred")
    assert replace(free, cut_mm=0.01).matters("inferred")
    assert replace(free, metal=-0.5).matters("inferred")


def test_whole_frets() -> None:
    spot = Finding("one place", 7, 2.0, 0.02, 0.001)
    lay = Finding("shifted", None, None, 0.3, 0.01)
    ends = Finding("loose end", 4, 0.5, 0.02, 0.001)
    loose = (Loose(4, (0.5,), 0.02, 0.001, "strung and unstrung disagree"),)
    assert frets_of((spot, lay, ends), loose, 22) == {7: "one place", 4: "loose"}
    filed = Finding("filed", None, None, 0.05, 0.001)
    assert frets_of((filed,), loose, 5) == {
        1: "filed", 2: "filed", 3: "filed", 4: "loose", 5: "filed",
    }  # fmt: skip
