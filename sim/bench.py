"""What a person does at the bench: put things on the rig, take strings off, cut, turn the rod."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

import numpy as np

from sim.faults import Faults
from sim.instrument import FloatArray
from sim.neck import Neck
from sim.objects import Empty, NeckOnRig, OnRig, Straightedge, WithPads, draw_stand
from sim.rail import RigSpec, draw_rail
from sim.scenario import draw_scenario
from sim.shape import State
from sim.strings import Strings, strings_as_found
from sim.trace import Line, Trace, trace
from sim.truth import Json, neck_truth, rig_truth, string_truth

What = Literal["straightedge", "neck", "nothing"]


@dataclass(frozen=True, slots=True)
class Cut:
    """What is to come off one fret under one string, both numbered as players do."""

    fret: int
    string: int
    remove_um: float


class Bench:
    """One scenario and its rig. Starts with nothing on the rig and the neck strung."""

    def __init__(self, seed: int, faults: Faults, spec: RigSpec) -> None:
        self.spec = spec
        self.faults = faults
        self.scenario = draw_scenario(seed)
        self.rail = draw_rail(seed, spec, faults)
        made = self.scenario.instrument
        self._rng = np.random.default_rng([seed, 3])
        self._state: State = "strung"
        self._turns = 0.0
        self._removed_mm: FloatArray = np.zeros((made.frets, made.strings))
        self._strings = strings_as_found(self.scenario, self._neck("strung"))
        self._stand = draw_stand(self.scenario.nut_true_mm, 1.5, self._rng)
        self._what: What = "nothing"
        self._traces: dict[Line, Trace] = {}

    def place(self, what: What) -> None:
        """Takes off what stands on the rig and puts this on, never twice quite alike."""
        at_mm = 22.0 if what == "straightedge" else self.scenario.nut_true_mm
        self._stand = draw_stand(at_mm, 2.5 if what == "straightedge" else 1.5, self._rng)
        self._what = what
        self._traces.clear()

    def set_state(self, state: State) -> None:
        """Strings on and at pitch, or off; the neck stays where it is."""
        self._state = state
        self._traces.clear()

    def cut(self, cuts: Iterable[Cut], gain: float, hand_um: float) -> FloatArray:
        """Removes gain times what is asked, give or take the hand; float[frets, strings] um.

        What is not asked for is not touched, except as the file slopes to its neighbours.
        """
        achieved_um = np.zeros_like(self._removed_mm)
        for each in cuts:
            missed_um = float(self._rng.normal(0.0, 1.0)) * hand_um
            taken_um = max(gain * each.remove_um + missed_um, 0.0) if each.remove_um > 0 else 0.0
            achieved_um[each.fret - 1, each.string - 1] += taken_um
        self._removed_mm = self._removed_mm + 1e-3 * achieved_um
        self._traces.clear()
        return achieved_um

    def turn_rod(self, turns: float) -> None:
        """Positive turns tighten: less relief, in either state."""
        self._turns += turns
        self._traces.clear()

    def set_ends(self, nut_mm: FloatArray, saddles_mm: FloatArray) -> None:
        """Raises slots and saddles by these, float[strings]."""
        self._strings = self._strings.moved(nut_mm, saddles_mm)
        self._traces.clear()

    def trace(self, line: Line) -> Trace:
        """What the ball rides along the line, there or back; kept until something changes."""
        there = Line(line.x1_mm, line.y1_mm, line.x0_mm, line.y0_mm)
        found = self._traces.get(line) or self._traces.get(there)
        if found is None:
            if len(self._traces) >= 40:
                self._traces.clear()
            found = trace(self._on_rig(), line, self.spec.tip_radius_mm)
            self._traces[line] = found
        return found

    def truth(self) -> Json:
        strung, unstrung = self._neck("strung"), self._neck("unstrung")
        return {
            "state": self._state,
            "rod_turns": self._turns,
            "rod_mm_per_turn": self.scenario.wood.rod_mm_per_turn,
            "nut_at_mm": self._stand.at_mm if self._what == "neck" else None,
            **neck_truth(self.scenario, strung, unstrung, self._removed_mm),
            **string_truth(self._strings, strung),
            **rig_truth(self.faults, self.rail),
        }

    def _neck(self, state: State) -> Neck:
        return Neck(self.scenario, state, self._turns, self._removed_mm)

    def _on_rig(self) -> OnRig:
        return WithPads(self._thing(), self.spec.pads_mm, self.spec.pad_heights_mm)

    def _thing(self) -> OnRig:
        if self._what == "straightedge":
            return Straightedge(self._stand)
        if self._what == "neck":
            strings: Strings | None = self._strings if self._state == "strung" else None
            return NeckOnRig(self._neck(self._state), strings, self._stand)
        return Empty()
