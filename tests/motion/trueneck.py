"""A worn neck as the simulator made it, carried through a plan: tops, nut slots and saddles.

The only place of these tests that knows the simulator. All in the frame of the strung neck.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any, Protocol

import numpy as np

from sim.bench import Bench, Cut
from sim.faults import Faults
from sim.neck import Neck
from sim.rigspec import RigSpec

from .wires import Array, Wires, wires


@dataclass(frozen=True)
class Hand:
    """How true to the plan somebody works (own choices, but for the cuts', which are the demo's).

    Cuts take gain times what is asked, give or take scatter_um; a rod is turned until relief
    measures right, give or take relief_mm; saddles until the action does, action_mm; nut slots
    by the string's height over fret 1, nut_mm. by_turns: the rod by its turns instead.
    """

    gain: float = 1.0
    scatter_um: float = 0.0
    relief_mm: float = 0.0
    action_mm: float = 0.0
    nut_mm: float = 0.0
    by_turns: bool = False


EXACT = Hand()


class Surface(Protocol):
    """Fret tops that are really so; the simulator's neck is one."""

    fret_x_mm: Array

    def tops_under_strings_mm(self) -> Array: ...

    def top_mm(self, fret: Array, y_mm: Array) -> Array: ...


@dataclass(frozen=True)
class TrueNeck:
    """nut_mm, saddle_mm: [strings], heights of the strings' undersides at x = 0 and at scale_mm.

    string_y_mm: where every string runs at x, [..., strings]. wires: as tuned.
    """

    neck: Surface
    string_y_mm: Callable[[Array | float], Array]
    wires: Wires
    nut_mm: Array
    saddle_mm: Array
    scale_mm: float

    @property
    def x_mm(self) -> Array:
        return self.neck.fret_x_mm

    @property
    def tops_mm(self) -> Array:
        """[frets, strings]."""
        return self.neck.tops_under_strings_mm()

    def top_mm(self, fret: Array, y_mm: Array) -> Array:
        """Tops anywhere across, fret counting from 0; any shape."""
        fret, y_mm = np.broadcast_arrays(fret, y_mm)
        return self.neck.top_mm(fret.ravel(), y_mm.ravel()).reshape(fret.shape)

    def action_mm(self) -> Array:
        share = self.x_mm[11] / self.scale_mm
        return self.nut_mm + share * (self.saddle_mm - self.nut_mm) - self.tops_mm[11]


def true_neck(seed: int) -> TrueNeck:
    """As found."""
    return _standing(Bench(seed, Faults(), RigSpec()), 0.0)


def carried_out(
    seed: int, plan: Mapping[str, Any], action_found_mm: Array, hand: Hand = EXACT
) -> TrueNeck:
    """The true neck once the plan's setup and cuts are done.

    action_found_mm: [strings], over fret 12, as the owner measured it. The rod is turned until
    relief has changed by what is planned; nut slots go by their change; then the cuts; last the
    saddles, to the action the plan leads to: the owner's ruler errs the same way before and
    after. A plan that keeps the saddles has them stand as they are.
    """
    rng = np.random.default_rng([seed, 21])
    bench = Bench(seed, Faults(), RigSpec())
    found = _standing(bench, 0.0)
    made = bench.scenario.instrument
    cuts = [Cut(c["fret"], c["string"], c["remove_um"]) for c in plan["cuts"]]
    bench.cut(cuts, hand.gain, hand.scatter_um)
    relief = plan["rod"]["relief_change_mm"]
    turns = 0.0
    if relief:
        turns = plan["rod"]["turns"] * (1.0 if relief < 0 else -1.0)
        if not hand.by_turns:
            # an even curve, 1 deep from nut to joint, is this deep from fret 1 to the joint
            deep = (1.0 - found.x_mm[0] / made.joint_x_mm) ** 2
            missed = hand.relief_mm * rng.normal()
            turns = -(relief + missed) / (deep * bench.scenario.wood.rod_mm_per_turn)
    nut = np.array([n["change_mm"] for n in plan["nut"]])
    nut = nut + np.where(nut != 0.0, hand.nut_mm * rng.normal(size=nut.size), 0.0)
    bench.turn_rod(turns)
    bench.set_ends(nut, np.zeros(made.strings))
    now = _standing(bench, turns)
    if "saddles" in plan["kept"]:
        return now
    rise = np.array([a["after_mm"] for a in plan["action"]]) - action_found_mm
    missed_mm = hand.action_mm * rng.normal(size=nut.size)
    lift = (found.action_mm() + rise + missed_mm - now.action_mm()) / (now.x_mm[11] / now.scale_mm)
    return replace(now, saddle_mm=now.saddle_mm + lift)


def _standing(bench: Bench, turns: float) -> TrueNeck:
    truth: dict[str, Any] = bench.truth()
    removed = 1e-3 * np.array(truth["removed_um"])
    neck = Neck(bench.scenario, "strung", turns, removed)
    made = bench.scenario.instrument
    x, tops = neck.fret_x_mm, neck.tops_under_strings_mm()
    first = tops[0] + np.array(truth["nut_gap_mm"])
    slope = (tops[11] + np.array(truth["action_mm"]) - first) / (x[11] - x[0])
    loads = wires(
        np.array(truth["string_kg_per_m"]),
        np.array(truth["string_tension_n"]),
        25.4 * np.array(made.gauges_in),
        np.arange(made.strings) >= made.plain_strings,
    )
    return TrueNeck(
        neck,
        made.string_y_mm,
        loads,
        first - slope * x[0],
        first + slope * (made.scale_mm - x[0]),
        made.scale_mm,
    )
