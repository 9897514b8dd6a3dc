"""Linear rows against a clearance worked out directly, on necks thrown at random."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.instrument import Instrument
from analysis.neck.shape import Shape
from analysis.plan.crossings import PARTS_OF_PUSH
from analysis.plan.margins import U_TENSION, Margins, margins
from analysis.plan.setup import Setup, setup_from
from analysis.strings.bends import bend_mm, bend_sides, pushed_tension_n
from analysis.strings.envelope import envelope_mm, pluck_height_mm
from analysis.strings.playing import built_in_profile
from analysis.strings.strings import string_loads

MakeShape = Callable[..., Shape]
PLAYER = replace(built_in_profile("everyday", 6), bend_semitones=1.5)


class Thrown:
    """Every fret its own level, tilt and curvature across: quadratic in y, known everywhere."""

    def __init__(self, setup: Setup, seed: int) -> None:
        rng = np.random.default_rng(seed)
        frets = setup.frets
        self.level = 1.0 + rng.normal(0.0, 0.1, frets)
        self.tilt = rng.normal(0.0, 2e-3, frets)
        self.bend = setup.curvature
        z = np.array([self.top(n, setup.node_y_mm[n - 1]) for n in range(1, frets + 1)])
        self.setup = replace(
            setup,
            node_z_mm=z,
            nut_mm=1.5 + rng.normal(0.0, 0.05, setup.strings),
            saddle_mm=4.0 + rng.normal(0.0, 0.2, setup.strings),
            u_node_mm=rng.uniform(5e-4, 5e-3, z.shape),
        )

    def top(self, fret: int, y: Any) -> Any:
        n = fret - 1
        return self.level[n] + self.tilt[n] * y - 0.5 * self.bend[n] * y**2

    def straight(self, string: int, fretted: int, at: int) -> float:
        """Height over fret `at` of the line from fret (or nut) to saddle."""
        s, setup = string - 1, self.setup
        x = np.concatenate([[setup.nut_x_mm[s]], setup.x_mm[:, s]])
        y = setup.node_y_mm[:, 2 * s]
        low = setup.nut_mm[s] if fretted == 0 else self.top(fretted, y[fretted - 1])
        line = np.interp(x[at], [x[fretted], setup.saddle_x_mm[s]], [low, setup.saddle_mm[s]])
        return float(line - self.top(at, y[at - 1]))

    def bent(self, string: int, fretted: int, at: int, side: int, part: float) -> float:
        """The same from where the finger pushed it, across the board, to the saddle."""
        s, setup = string - 1, self.setup
        x, y = setup.x_mm[:, s], setup.node_y_mm[:, 2 * s]
        load = string_loads(setup.instrument)[s]
        length = float(setup.saddle_x_mm[s] - setup.nut_x_mm[s])
        push = bend_mm(load, length, x - setup.nut_x_mm[s], PLAYER.bend_semitones)
        start = y[fretted - 1] + side * part * push[fretted - 1]
        ends = [x[fretted - 1], setup.saddle_x_mm[s]]
        saddle_y = setup.instrument.string_y_mm(float(string), setup.saddle_x_mm[s])
        here = np.interp(x[at - 1], ends, [start, float(saddle_y)])
        z = np.interp(x[at - 1], ends, [self.top(fretted, start), setup.saddle_mm[s]])
        return float(z - self.top(at, here))

    def rows(self) -> Margins:
        return margins(self.setup, string_loads(self.setup.instrument), PLAYER)

    def clearance(self, rows: Margins) -> np.ndarray:
        return rows.clearance_mm(self.setup.node_z_mm, self.setup.nut_mm, self.setup.saddle_mm)


@pytest.fixture(scope="module")
def base(walnut: Instrument, make_shape: MakeShape) -> Setup:
    return setup_from(make_shape(walnut), walnut)


def brute(thrown: Thrown, rows: Margins) -> np.ndarray:
    chosen = np.flatnonzero(~rows.bend)
    keys = zip(rows.string[chosen], rows.fretted[chosen], rows.at[chosen], strict=True)
    return np.array([thrown.straight(int(s), int(n), int(m)) for s, n, m in keys])


@settings(deadline=None, max_examples=5)
@given(st.integers(0, 10_000))
def test_straight_rows_are_the_clearance(base: Setup, seed: int) -> None:
    thrown = Thrown(base, seed)
    rows = thrown.rows()
    np.testing.assert_allclose(thrown.clearance(rows)[~rows.bend], brute(thrown, rows), atol=1e-9)


@settings(deadline=None, max_examples=5)
@given(st.integers(0, 10_000))
def test_bent_rows_are_every_way_of_bending(base: Setup, seed: int) -> None:
    """Tops quadratic across have one height wherever they are taken from: every bend's clearance
    is found by a row, and no row is anything else."""
    thrown = Thrown(base, seed)
    rows = thrown.rows()
    found = thrown.clearance(rows)
    for string in range(1, 7):
        for fretted, at in ((1, 2), (3, 9), (12, 13), (20, 22)):
            mine = rows.bend & (rows.string == string)
            mine &= (rows.fretted == fretted) & (rows.at == at)
            direct = [
                thrown.bent(string, fretted, at, side, part)
                for side in bend_sides(string, 6)
                for part in PARTS_OF_PUSH
            ]
            off = np.abs(found[mine][:, None] - np.array(direct)[None, :])
            assert off.min(axis=0).max() < 1e-9
            assert off.min(axis=1).max() < 1e-9


def test_beside_a_dent_a_bent_string_meets_the_whole_crown(base: Setup) -> None:
    """String 2 worn deep at fret 6: bent aside over it, it meets what the dent has left."""
    z = base.node_z_mm.copy()
    z[5, 2] -= 0.08
    worn = replace(base, node_z_mm=z)
    rows = margins(worn, string_loads(worn.instrument), PLAYER)
    mine = rows.bend & (rows.string == 2) & (rows.fretted == 5) & (rows.at == 6)
    whole = margins(base, string_loads(base.instrument), PLAYER)

    def worst(neck: Setup, these: Margins) -> float:
        return float(these.clearance_mm(neck.node_z_mm, neck.nut_mm, neck.saddle_mm)[mine].min())

    assert worst(worn, rows) == pytest.approx(worst(base, whole), abs=2e-3)


def test_every_string_position_and_fret_beyond_is_there(base: Setup) -> None:
    rows = Thrown(base, 1).rows()
    straight = {(s, n, m) for s in range(1, 7) for n in range(22) for m in range(n + 1, 23)}
    bent = {k for k in straight if k[1] > 0}
    keys = list(zip(rows.string.tolist(), rows.fretted.tolist(), rows.at.tolist(), strict=True))
    assert {k for k, b in zip(keys, rows.bend, strict=True) if not b} == straight
    assert {k for k, b in zip(keys, rows.bend, strict=True) if b} == bent
    assert int((~rows.bend).sum()) == len(straight)


def test_rows_of_a_place_lie_together(base: Setup) -> None:
    rows = Thrown(base, 1).rows()
    key = list(zip(rows.bend.tolist(), rows.string.tolist(), rows.fretted.tolist(), strict=True))
    assert len(rows.first) == len(set(key))


def test_what_a_string_needs_is_that_of_its_deepest_swing(base: Setup, walnut: Instrument) -> None:
    """Pulled as METHODS 15 has it; and a real one deeper, by either way of plucking at least."""
    rows = Thrown(base, 1).rows()
    loads = string_loads(walnut)
    pluck = PLAYER.pluck_from_saddle_mm
    height = pluck_height_mm(PLAYER.pluck_force_n, rows.tension_n, rows.length_mm, pluck)
    pulled = envelope_mm(height, rows.along_mm, rows.length_mm, pluck)
    at = np.where(rows.length_mm > pluck, pluck, rows.length_mm / 2.0)
    from_saddle, from_fret = rows.length_mm - rows.along_mm, rows.along_mm
    pushed = height * np.minimum(from_fret / (rows.length_mm - at), from_saddle / at)
    np.testing.assert_allclose(rows.needed_mm, pulled, atol=1e-12)
    assert np.all(rows.swing_mm >= np.maximum(pulled, pushed))
    straight = ~rows.bend
    for s, load in enumerate(loads, start=1):
        mine = straight & (rows.string == s)
        assert np.all(rows.tension_n[mine] == load.tension_n)
        length = float(base.saddle_x_mm[s - 1] - base.nut_x_mm[s - 1])
        fret = base.x_mm[6, s - 1] - base.nut_x_mm[s - 1]
        push = bend_mm(load, length, fret, PLAYER.bend_semitones)
        bent = rows.bend & (rows.string == s) & (rows.fretted == 7)
        pulled_hard = pushed_tension_n(load, length, fret, push)
        assert rows.tension_n[bent].max() == pytest.approx(float(pulled_hard), rel=1e-12)


def test_fanned_frets_too(walnut: Instrument, make_shape: MakeShape) -> None:
    fanned = replace(walnut, scale_bass_mm=660.0, scale_treble_mm=635.0, square_fret=7)
    thrown = Thrown(setup_from(make_shape(fanned), fanned), 3)
    rows = thrown.rows()
    found = thrown.clearance(rows)[~rows.bend]
    np.testing.assert_allclose(found, brute(thrown, rows), atol=1e-9)


def test_no_bends_where_the_player_bends_none(base: Setup, walnut: Instrument) -> None:
    rows = margins(base, string_loads(walnut), replace(PLAYER, bend_semitones=0.0))
    assert not rows.bend.any()


def test_uncertainty_is_that_of_tops_nut_and_saddle(base: Setup) -> None:
    """By throwing every top, nut and saddle anew within its own uncertainty."""
    thrown = Thrown(base, 5)
    rows, setup = thrown.rows(), thrown.setup
    rng = np.random.default_rng(1)
    many = np.array(
        [
            rows.clearance_mm(
                setup.node_z_mm + rng.normal(0.0, 1.0, setup.u_node_mm.shape) * setup.u_node_mm,
                setup.nut_mm + rng.normal(0.0, setup.u_nut_mm),
                setup.saddle_mm + rng.normal(0.0, setup.u_saddle_mm),
            )
            for _ in range(1500)
        ]
    )
    u = np.sqrt(many.var(axis=0) + (U_TENSION * rows.swing_mm) ** 2 + rows.u_unseen_mm**2)
    np.testing.assert_allclose(u, rows.u_mm, rtol=0.12)


def test_what_is_needed_by_hand(base: Setup, walnut: Instrument) -> None:
    """String 1 fretted at 5, over fret 6: METHODS 15, line by line."""
    rows = Thrown(base, 1).rows()
    i = np.flatnonzero((rows.string == 1) & (rows.fretted == 5) & (rows.at == 6) & ~rows.bend)[0]
    length = 641.0 * 2.0 ** (-5.0 / 12.0)
    along = 641.0 * (2.0 ** (-5.0 / 12.0) - 2.0 ** (-6.0 / 12.0))
    tension = string_loads(walnut)[0].tension_n
    p = 120.0
    height = 0.5 * p * (length - p) / (tension * length)
    assert rows.needed_mm[i] == pytest.approx(
        height * min(along / p, (length - along) / (length - p))
    )


def test_more_force_needs_more(base: Setup, walnut: Instrument) -> None:
    loads = string_loads(walnut)
    soft = margins(base, loads, PLAYER)
    hard = margins(base, loads, replace(PLAYER, pluck_force_n=2.0 * PLAYER.pluck_force_n))
    np.testing.assert_allclose(hard.needed_mm, 2.0 * soft.needed_mm)


def test_margins_on_unseen_tops_fall_away(base: Setup, walnut: Instrument) -> None:
    z, u = base.node_z_mm.copy(), base.u_node_mm.copy()
    z[7, 4] = u[7, 4] = np.nan
    rows = margins(replace(base, node_z_mm=z, u_node_mm=u), string_loads(walnut), PLAYER)
    known = rows.known()
    third = (known.string == 3) & ~known.bend
    assert not np.any((known.fretted[third] == 8) | (known.at[third] == 8))
    assert known.string.size < rows.string.size
    assert np.isfinite(known.clearance_mm(np.nan_to_num(z), base.nut_mm, base.saddle_mm)).all()


@settings(deadline=None, max_examples=10)
@given(st.integers(0, 10_000))
def test_a_cut_lowers_what_a_file_takes_between_two_strings(base: Setup, seed: int) -> None:
    """Straight between the strings' cuts, for every row: whole crowns beside dents too. A cut even
    along each fret lowers both ends of every line by what it takes there."""
    rng = np.random.default_rng(seed)
    rows = Thrown(base, seed).rows()
    even = rng.uniform(0.0, 0.1, base.frets)
    gained = rows.cuts @ np.repeat(even, base.strings)
    share = rows.along_mm / rows.length_mm
    low = np.where(rows.fretted > 0, even[rows.fretted - 1], 0.0)
    np.testing.assert_allclose(gained, even[rows.at - 1] - (1.0 - share) * low, atol=1e-12)
    # sloping along a fret: a bend's rows over the same spot gain the same, however laid through
    slope = rng.uniform(-1e-3, 1e-3, base.frets)
    depth = slope[:, None] * base.node_y_mm[:, ::2]
    gained = rows.cuts @ depth.ravel()
    lowered = rows.nodes @ (-slope[:, None] * base.node_y_mm).ravel()
    np.testing.assert_allclose(gained, lowered, atol=1e-12)
