"""The judge against necks of formulas, and a plan carried out on the simulator's neck."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from .judge import judge
from .swings import closed_dips
from .trueneck import Hand, TrueNeck, carried_out, true_neck
from .wires import Array, wires

PUBLISHED = Path(__file__).parents[1] / "published/data"
SCALE = 650.0
PLAYING = {"pluck_force_n": 0.4, "pluck_from_saddle_mm": 130.0, "bend_semitones": 0.0}


@dataclass
class Board:
    """Frets on a round board of this radius, 12 of them, each as high as it says."""

    high_mm: Array
    radius_mm: float = 1e9

    @property
    def fret_x_mm(self) -> Array:
        return SCALE * (1.0 - 2.0 ** (-np.arange(1, 13) / 12.0))

    def tops_under_strings_mm(self) -> Array:
        y = string_y(self.fret_x_mm)
        return self.high_mm[:, None] - y**2 / (2.0 * self.radius_mm)

    def top_mm(self, fret: Array, y_mm: Array) -> Array:
        return self.high_mm[fret] - y_mm**2 / (2.0 * self.radius_mm)


def string_y(x_mm: Array | float) -> Array:
    """Two strings, 20 mm apart at the nut, 30 at the saddle."""
    apart = 20.0 + 10.0 * np.asarray(x_mm) / SCALE
    return np.asarray(np.stack([0.5 * apart, -0.5 * apart], axis=-1))


def neck(high_mm: Array, radius_mm: float = 1e9) -> TrueNeck:
    board = Board(high_mm, radius_mm)
    two = np.ones(2)
    made = wires(4e-4 * two, np.array([73.0, 80.0]), 0.25 * two, np.array([False, False]))
    return TrueNeck(board, string_y, made, 0.5 * two, np.array([2.2, 2.4]), SCALE)


def uneven() -> Array:
    return np.random.default_rng(3).uniform(-0.05, 0.0, 12)


def test_closed_form_is_that_of_the_published_table() -> None:
    table = np.loadtxt(PUBLISHED / "clearance_example.csv", delimiter=",", skiprows=2)
    x, ratio = table[:, 1], table[:, 3]
    pull, push = closed_dips(np.array(0.650), np.array(0.520), 1e-3 * x)
    corner = 0.520 * 0.130 / 0.650
    np.testing.assert_allclose(pull / corner, ratio, atol=1e-8)
    # pushed, the deepest shape is the first one: CHECKS 8.2, 1 mm at 520
    np.testing.assert_allclose(push / corner, x / 520.0, atol=1e-12)


def test_least_distances_by_going_through_them_all() -> None:
    true = neck(uneven())
    x, tops = true.x_mm, true.tops_mm
    found: dict[str, float] = {"still": 9.0, "pulled": 9.0, "pushed": 9.0}
    for s, tension in enumerate((73.0, 80.0)):
        for n in range(12):
            at, held = (0.0, 0.5) if n == 0 else (x[n - 1], tops[n - 1, s])
            length, p = SCALE - at, 130.0
            corner = 0.4 * p * (length - p) / (tension * length)
            for m in range(n, 12):
                b = x[m] - at
                clear = held + (true.saddle_mm[s] - held) * b / length - tops[m, s]
                pulled = corner * min(b / p, (length - b) / (length - p))
                pushed = corner * min(b / (length - p), (length - b) / p)
                for way, dip in (("still", 0.0), ("pulled", pulled), ("pushed", pushed)):
                    found[way] = min(found[way], clear - dip)
    verdict = judge(true, PLAYING)
    assert verdict.still.mm == pytest.approx(found["still"], abs=1e-12)
    assert verdict.pulled.mm == pytest.approx(found["pulled"], abs=1e-12)
    assert verdict.pushed.mm == pytest.approx(found["pushed"], abs=1e-12)
    assert verdict.bent_pulled is None


def test_a_moving_string_is_near_its_closed_form_and_no_higher() -> None:
    verdict = judge(neck(uneven()), PLAYING)
    closed = min(verdict.pulled.mm, verdict.pushed.mm)
    assert closed - 0.06 < verdict.moving.mm < closed + 0.002


def test_a_high_fret_is_what_is_touched() -> None:
    high = np.zeros(12)
    high[7] = 0.6
    verdict = judge(neck(high), PLAYING)
    assert verdict.moving.mm < 0.0
    assert verdict.moving.at == 8
    assert verdict.moving.fretted < 8


def test_a_bent_string_chokes_on_a_round_board() -> None:
    """Pushed from the rim to the crest a string starts higher, and its far end lies low."""
    bending = {**PLAYING, "bend_semitones": 2.0, "pluck_force_n": 0.01}
    lost = []
    for radius in (1e9, 100.0):
        verdict = judge(neck(np.zeros(12), radius), bending)
        assert verdict.bent_pulled is not None
        lost.append(verdict.still.mm - verdict.bent_pulled.mm)
    # on a flat board a bend takes nothing but the pluck; on a round one it takes height
    assert abs(lost[0]) < 0.02
    assert lost[1] > lost[0] + 0.01
    assert abs(verdict.bent_pulled.bend) == 1.0


def plan(**changes: Any) -> dict[str, Any]:
    """Of seed 1, with nothing to do but what is asked."""
    still = [{"string": s, "change_mm": 0.0} for s in range(1, 7)]
    found = np.linspace(1.4, 1.9, 6)
    return {
        "kept": [],
        "rod": {"turns": 0.0, "relief_change_mm": 0.0},
        "nut": still,
        "saddles": still,
        "action": [{"string": s + 1, "after_mm": a} for s, a in enumerate(found.tolist())],
        "cuts": [],
        **changes,
    }


FOUND = np.linspace(1.4, 1.9, 6)


def test_a_plan_of_nothing_changes_nothing() -> None:
    before, after = true_neck(1), carried_out(1, plan(), FOUND)
    np.testing.assert_allclose(after.tops_mm, before.tops_mm, atol=1e-12)
    np.testing.assert_allclose(after.nut_mm, before.nut_mm, atol=1e-12)
    np.testing.assert_allclose(after.saddle_mm, before.saddle_mm, atol=1e-9)


def test_cuts_rod_and_saddles_come_out_as_planned() -> None:
    higher = [{"string": s + 1, "after_mm": a + 0.1} for s, a in enumerate(FOUND.tolist())]
    does = plan(
        rod={"turns": 0.2, "relief_change_mm": 0.08},
        cuts=[{"fret": 5, "string": 2, "remove_um": 40.0}],
        action=higher,
    )
    before, after = true_neck(1), carried_out(1, does, FOUND)
    np.testing.assert_allclose(after.action_mm() - before.action_mm(), 0.1, atol=1e-9)
    change = after.tops_mm - before.tops_mm
    x, joint = before.x_mm, 15
    share = ((x - x[0]) / (x[joint] - x[0]))[:, None]
    # relief is how far the tops lie under the chord from fret 1 to the joint
    sunk = change[0] + share * (change[joint] - change[0]) - change
    assert np.max(sunk[:joint, 3]) == pytest.approx(0.08, abs=5e-4)
    assert sunk[4, 1] - sunk[4, 3] == pytest.approx(0.04, abs=3e-4)


def test_a_hand_that_goes_by_turns_gets_what_the_wood_gives() -> None:
    does = plan(rod={"turns": 0.2, "relief_change_mm": 0.08})
    by_relief = carried_out(1, does, FOUND)
    by_turns = carried_out(1, does, FOUND, Hand(by_turns=True))
    base = true_neck(1).tops_mm[7] - true_neck(1).tops_mm[0]
    moved = [(n.tops_mm[7] - n.tops_mm[0] - base)[0] for n in (by_relief, by_turns)]
    # this wood gives 0.25 to 0.32 mm a turn, nut to joint; the default rod 0.4, fret 1 to joint
    assert 0.25 / 0.4 * 0.86 < moved[1] / moved[0] < 0.32 / 0.4 * 0.9


def test_kept_saddles_stay_where_the_body_takes_them() -> None:
    does = plan(rod={"turns": 0.2, "relief_change_mm": 0.08}, kept=["saddles"])
    free = carried_out(1, plan(rod=does["rod"]), FOUND)
    assert np.all(np.abs(free.action_mm() - true_neck(1).action_mm()) < 1e-9)
    # the body follows the neck's end, and the board sinks under the string at fret 12
    kept = carried_out(1, does, FOUND)
    assert np.all(kept.action_mm() - true_neck(1).action_mm() > 0.05)
