"""What a person does at the bench: put things on the rig, take strings off, cut, turn the rod."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np

from sim.drift import Climate
from sim.eye import Ball, Eye, Spot
from sim.faults import Faults
from sim.instrument import FloatArray
from sim.neck import Neck
from sim.objects import Empty, NeckOnRig, OnRig, Straightedge, WithPads
from sim.placing import AS_USUAL, How, What, place_mm
from sim.plunger import Plunger
from sim.rail import draw_rail
from sim.references import Edge, Gauge, Pin
from sim.rigspec import RigSpec
from sim.scenario import draw_scenario
from sim.shape import State
from sim.stand import Stand, draw_stand
from sim.straightedge import draw_straightedge
from sim.strings import Strings, strings_as_found
from sim.tension import draw_strings
from sim.trace import Line, Trace, trace
from sim.truth import Json, edge_truth, neck_truth, rig_truth, string_truth


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
        self.climate = Climate(faults.temperature_swing_c)
        touches = not spec.is_optical
        self.plunger = Plunger(
            1e-3 * faults.sensor_hysteresis_um * touches, faults.plunger_fall_mm_s * touches
        )
        made = self.scenario.instrument
        self._straightedge = draw_straightedge(seed, faults.straightedge_um)
        self._rng = np.random.default_rng([seed, 3])
        self._clamp_rng = np.random.default_rng([seed, 7])
        self._state: State = "strung"
        self._turns = 0.0
        self._removed_mm: FloatArray = np.zeros((made.frets, made.strings))
        self._at_pitch = draw_strings(seed, made, faults.string_uneven_um)
        self._strings = strings_as_found(self.scenario, self._neck("strung"), self._at_pitch)
        self._what: What = "nothing"
        self._how = AS_USUAL
        self._stand = self._draw_stand()
        self._gauge_mm = 0.0
        self._traces: dict[Line, Trace] = {}

    @property
    def eye(self) -> Eye:
        """What meets the surface."""
        if self.spec.is_optical:
            return Spot(self.spec.spot_mm)
        return Ball(self.spec.tip_radius_mm + self.faults.tip_radius_off_mm)

    def place(self, what: What, how: How = AS_USUAL) -> None:
        """Takes off what stands on the rig and puts this on, never twice quite alike."""
        self._what, self._how = what, how
        self._stand = self._draw_stand()
        seat_um = float(self._clamp_rng.normal(0.0, 1.0)) * self.faults.gauge_um
        self._gauge_mm = how.mm + 1e-3 * seat_um
        if how.tip_from is not None:
            self.plunger.came_from(how.tip_from)
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
        """What the sensor meets along the line, there or back; kept until something changes."""
        there = Line(line.x1_mm, line.y1_mm, line.x0_mm, line.y0_mm)
        found = self._traces.get(line) or self._traces.get(there)
        if found is None:
            if len(self._traces) >= 40:
                self._traces.clear()
            found = trace(self._on_rig(), line, self.eye)
            self._traces[line] = found
        return found

    def truth(self, now_s: float = 0.0) -> Json:
        """Everything as it really is, at this device time."""
        strung, unstrung = self._neck("strung"), self._neck("unstrung")
        return {
            "state": self._state,
            "what": self._what,
            "at_mm": self._stand.at_mm,
            "turned": self._how.turned,
            "gauge_mm": self._gauge_mm if self._what == "gauge" else None,
            "celsius": float(self.climate.celsius(np.array([now_s]))[0]),
            "rod_turns": self._turns,
            "rod_mm_per_turn": self.scenario.wood.rod_mm_per_turn,
            "nut_at_mm": self._stand.at_mm if self._what == "neck" else None,
            **neck_truth(self.scenario, strung, unstrung, self._removed_mm),
            **string_truth(self._strings, strung),
            **rig_truth(self.faults, self.spec, self.rail),
            **edge_truth(self._straightedge),
        }

    def _draw_stand(self) -> Stand:
        nut_mm = self.scenario.nut_true_mm
        stand = draw_stand(*place_mm(self._what, self._how, nut_mm), self._rng)
        bow_um = float(self._clamp_rng.normal(0.0, 1.0)) * self.faults.clamp_um
        return replace(stand, bow_mm=1e-3 * bow_um if self._what == "neck" else 0.0)

    def _neck(self, state: State) -> Neck:
        return Neck(self.scenario, state, self._turns, self._removed_mm)

    def _on_rig(self) -> OnRig:
        if self._what == "gauge":
            # It goes wherever the tip is, over a pad as well.
            return Gauge(self._gauge_mm)
        return WithPads(self._thing(), self.spec.pads_mm, self.spec.pad_heights_mm)

    def _thing(self) -> OnRig:
        if self._what == "straightedge":
            return Straightedge(self._straightedge, self._how.turned, self._how.y_mm, self._stand)
        if self._what == "neck":
            strings: Strings | None = self._strings if self._state == "strung" else None
            return NeckOnRig(self._neck(self._state), strings, self._stand)
        if self._what == "pin":
            return Pin(self._how.mm, self._stand.at_mm)
        return Edge(self._stand.at_mm) if self._what == "edge" else Empty()
