"""What two scans show besides a neck that bent."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from analysis.findings.findings import Finding, findings, loose_of
from analysis.instrument import Instrument, joint_mm
from analysis.movement.inferred import movement
from analysis.neck.neck import Neck, Tip, read_neck

MakeNeck = Callable[..., Any]
Find = Callable[..., tuple[Finding, ...]]


def pulled(x: np.ndarray) -> np.ndarray:
    """The strings' bow: even to the body joint, straight on past it."""
    bent = np.minimum(x, 386.6)
    return 5e-6 * bent * (bent - 386.6) + 1.9e-3 * np.clip(x - 386.6, 0.0, None)


@pytest.fixture(scope="module")
def made(make_neck: MakeNeck, walnut: Instrument) -> Any:
    high = 1.1 + np.random.default_rng(4).normal(0.0, 0.01, (22, 1)) * np.ones(6)
    return make_neck(walnut, height_mm=high)


@pytest.fixture(scope="module")
def necks(made: Any, walnut: Instrument) -> tuple[Neck, Neck]:
    """Strung and unstrung, the lanes between the strings alone."""
    strung = replace(made, bow_mm=lambda x: made.bow_mm(x) + pulled(x), twist_mrad_per_mm=2e-4)
    lanes = made.lanes(strung=True)
    return (
        read_neck(strung.profiles(seed=2, lanes=lanes), walnut, Tip(1.0)),
        read_neck(made.profiles(seed=1, lanes=lanes), walnut, Tip(1.0)),
    )


@pytest.fixture
def find(walnut: Instrument) -> Find:
    def find(strung: Neck, unstrung: Neck) -> tuple[Finding, ...]:
        field = movement(strung, unstrung, joint_mm(walnut))
        return findings(strung, unstrung, field, walnut)

    return find


def raised(neck: Neck, up_mm: np.ndarray | float, *at: Any) -> Neck:
    """Tops of these frets and lanes higher."""
    top = neck.top_mm.copy()
    top[at] += up_mm
    return replace(neck, top_mm=top)


def test_a_neck_that_bent_shows_nothing(necks: tuple[Neck, Neck], find: Find) -> None:
    assert find(*necks) == ()


@pytest.mark.parametrize("fret", [1, 2, 9, 16, 22])
@pytest.mark.parametrize("up_mm", [0.02, -0.2])
def test_a_loose_fret(necks: tuple[Neck, Neck], find: Find, fret: int, up_mm: float) -> None:
    """At the joint too, and the first and last, of which the field could take up part."""
    (one,) = find(raised(necks[0], up_mm, fret - 1), necks[1])
    assert (one.kind, one.fret, one.string) == ("loose fret", fret, None)
    assert one.size_mm == pytest.approx(up_mm, abs=max(4.0 * one.u_mm, 1e-3))
    assert one.u_mm < (5e-3 if fret in (1, 22) else 1e-3)
    assert not one.harmless
    (loose,) = loose_of((one,))
    assert (loose.fret, loose.strings, loose.size_mm) == (fret, (), abs(one.size_mm))
    assert loose.why == "strung and unstrung disagree"


@pytest.mark.parametrize(("side", "string"), [(1.0, 1.5), (-1.0, 5.5)])
def test_a_loose_end(necks: tuple[Neck, Neck], find: Find, side: float, string: float) -> None:
    rise = np.clip(side * necks[0].y_mm[4], 0.0, None)
    (one,) = find(raised(necks[0], 0.03 * rise / rise.max(), 4), necks[1])
    assert (one.kind, one.fret, one.string) == ("loose end", 5, string)
    assert one.size_mm == pytest.approx(0.03, abs=3e-3)
    assert loose_of((one,))[0].strings == (string,)


def test_dirt_is_one_place(necks: tuple[Neck, Neck], find: Find) -> None:
    one, other = find(raised(necks[0], 0.015, 4, 3), raised(necks[1], 0.01, 12, 1))
    assert (one.kind, one.fret, one.string) == ("one place", 5, 4.5)
    assert (other.kind, other.fret, other.string) == ("one place", 13, 2.5)
    assert one.size_mm == pytest.approx(0.015, abs=4.0 * one.u_mm)
    assert other.size_mm == pytest.approx(-0.01, abs=4.0 * other.u_mm)
    assert loose_of((one, other)) == ()


@pytest.mark.parametrize("first", [6, 11, 17])
def test_a_step(necks: tuple[Neck, Neck], find: Find, first: int) -> None:
    (one,) = find(raised(necks[0], 0.025, slice(first - 1, None)), necks[1])
    assert (one.kind, one.fret) == ("step", first)
    assert one.size_mm == pytest.approx(0.025, abs=max(4.0 * one.u_mm, 2e-3))


@pytest.mark.parametrize("strung", [True, False])
def test_a_hidden_fret(necks: tuple[Neck, Neck], find: Find, strung: bool) -> None:
    hidden = replace(necks[0 if strung else 1], top_mm=necks[0 if strung else 1].top_mm.copy())
    hidden.top_mm[2] = np.nan
    (one,) = find(*((hidden, necks[1]) if strung else (necks[0], hidden)))
    assert (one.kind, one.fret) == ("capo" if strung else "covered", 3)
    assert np.isnan(one.size_mm)


def test_a_capo_between_two_frets(necks: tuple[Neck, Neck], find: Find) -> None:
    """A bar 1 mm over the board in the gap before fret 3."""
    on = replace(necks[0], board_mm=necks[0].board_mm.copy())
    on.board_mm[2] += 1.0
    (one,) = find(on, necks[1])
    assert (one.kind, one.fret) == ("capo", 3)
    assert one.size_mm == pytest.approx(1.0, abs=0.02)


def test_a_cloth_over_two_frets_is_not_two_loose_ones(necks: tuple[Neck, Neck], find: Find) -> None:
    board = necks[1].board_mm.copy()
    board[2:4] += 0.6
    found = find(necks[0], replace(raised(necks[1], 0.6, slice(2, 4)), board_mm=board))
    assert [(one.kind, one.fret) for one in found] == [("covered", 3), ("covered", 4)]


def test_two_loose_frets_beside_one_another_are_no_step(
    necks: tuple[Neck, Neck], find: Find
) -> None:
    found = find(raised(necks[0], 0.05, slice(2, 4)), necks[1])
    assert [(one.kind, one.fret) for one in found] == [("loose fret", 3), ("loose fret", 4)]


FILED_MM = {2: 0.03, 5: 0.02, 8: 0.05, 10: 0.01, 13: 0.04, 16: 0.02, 20: 0.06}


def filed(neck: Neck, sign: np.ndarray | float) -> Neck:
    depth = np.zeros((22, 1))
    depth[list(FILED_MM), 0] = np.array(list(FILED_MM.values())) * sign
    return replace(neck, top_mm=neck.top_mm - depth)


def test_frets_filed_in_between(necks: tuple[Neck, Neck], find: Find) -> None:
    (one,) = find(necks[0], filed(necks[1], 1.0))
    assert (one.kind, one.fret) == ("filed", None)
    assert one.size_mm == pytest.approx(0.06, abs=3e-3)


def test_frets_up_and_down_are_no_file(necks: tuple[Neck, Neck], find: Find) -> None:
    (one,) = find(necks[0], filed(necks[1], np.array([1, -1, 1, -1, 1, -1, 1])))
    assert one.kind == "unlike"


def test_a_neck_that_stood_elsewhere_is_harmless(
    made: Any, necks: tuple[Neck, Neck], walnut: Instrument, find: Find
) -> None:
    moved = replace(made, nut_mm=made.nut_mm + 0.25, roll_mrad=1.2)
    unstrung = read_neck(moved.profiles(seed=1, lanes=made.lanes(strung=True)), walnut, Tip(1.0))
    shifted, turned = find(necks[0], unstrung)
    assert (shifted.kind, turned.kind) == ("shifted", "turned")
    assert shifted.size_mm == pytest.approx(-0.25, abs=4.0 * shifted.u_mm)
    assert shifted.u_mm < 2e-3
    # the strings twist the neck by 0.08 mrad at the joint, the rig turned it by 1.2
    width = np.interp(joint_mm(walnut), [0.0, 461.0], walnut.board_width_mm)
    assert turned.size_mm == pytest.approx((0.077e-3 - 1.2e-3) * width, abs=2e-3)
    assert shifted.harmless
    assert turned.harmless


def test_seldom_wrong(necks: tuple[Neck, Neck], find: Find) -> None:
    """Noise as large as is stated, thirty times: at most one thing is found that is not there."""
    rng = np.random.default_rng(8)
    wrong = 0
    for _ in range(30):
        strung, unstrung = (
            replace(one, top_mm=one.top_mm + rng.normal(0.0, 1.0, one.top_mm.shape) * 2e-3)
            for one in necks
        )
        wrong += len(find(strung, unstrung))
    assert wrong <= 1
