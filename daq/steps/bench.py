"""The bench's work of a plan: when it is made, and as it was when it was."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from analysis.after.aim import aim_um
from analysis.after.law import Law
from analysis.after.verify import TOLERANCE_UM
from analysis.bench.order import Hand
from analysis.bench.sheet import Bench, Tools, bench_of
from analysis.instrument import FloatArray
from analysis.plan.plan import Plan
from daq.documents.stored_bench import stored_tools
from daq.errors import InputError
from daq.reading.job import BothStates

#: Beams a person may have, mm.
BEAM_MM = (50.0, 1500.0)


@dataclass(frozen=True, slots=True)
class AtHand:
    """beam_mm: None is a beam as long as the frets. prop: the neck can be propped."""

    beam_mm: float | None = None
    prop: bool = False


def at_hand(beam_mm: float | None, prop: bool) -> AtHand:
    """What the person says is at hand. Raises InputError for a beam that is none."""
    low, high = BEAM_MM
    if beam_mm is not None and not low <= beam_mm <= high:
        raise InputError(f"--beam: found {beam_mm:g}; allowed {low:g} to {high:g} mm")
    return AtHand(beam_mm, prop)


def plan_bench(both: BothStates, plan: Plan, law: Law | None, has: AtHand) -> Bench:
    """How the plan is to be carried out with what is at hand."""
    u_cut = TOLERANCE_UM if law is None else law.scatter_um
    return _bench(both, plan, Tools(has.beam_mm, has.prop, _hand(law), u_cut))


def stored_bench(both: BothStates, plan: Plan, document: Mapping[str, Any]) -> Bench:
    """The same of a stored plan, with the tools and aims it was stored with.

    Raises FileError where that part of it is damaged.
    """
    tools = stored_tools(document, both.instrument)
    if tools is None:
        return plan_bench(both, plan, None, AtHand())
    return _bench(both, plan, tools)


def _bench(both: BothStates, plan: Plan, tools: Tools) -> Bench:
    return bench_of(both.strung, both.unstrung, both.instrument, plan, tools)


def _hand(law: Law | None) -> Hand:
    """What to mean to take, to the 0.1 µm it is written to, and what then comes off."""

    def meant(wanted: FloatArray) -> tuple[FloatArray, FloatArray]:
        if law is None:
            return wanted, wanted
        aim = aim_um(wanted, law).round(1)
        return aim, (aim > 0) * (law.offset_um + law.gain * aim)

    return meant
