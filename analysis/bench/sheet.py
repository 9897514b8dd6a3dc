"""All of the bench's work in one record."""

from __future__ import annotations

from dataclasses import dataclass

from analysis.bench.beam import beam_setting
from analysis.bench.expect import Expected, expected
from analysis.bench.order import FileStep, Hand, file_steps
from analysis.bench.setting import BeamSetting
from analysis.instrument import Instrument
from analysis.neck.relief import Relief
from analysis.neck.shape import Shape
from analysis.plan.plan import Plan


@dataclass(frozen=True, slots=True)
class Bench:
    """unstrung_relief: as scanned, what the rod is set from. prop_tried: the neck can be propped.

    u_cut_um: how far a cut by hand comes off its plan.
    """

    setting: BeamSetting
    steps: tuple[FileStep, ...]
    expected: Expected
    unstrung_relief: tuple[Relief, ...]
    prop_tried: bool
    u_cut_um: float


@dataclass(frozen=True, slots=True)
class Tools:
    """What is at hand. beam_mm: None is a beam as long as the frets. prop: the neck can be
    propped. hand: what to mean to take for what is wanted. u_cut_um: see `Bench`."""

    beam_mm: float | None
    prop: bool
    hand: Hand
    u_cut_um: float


def bench_of(
    strung: Shape, unstrung: Shape, instrument: Instrument, plan: Plan, tools: Tools
) -> Bench:
    """How a plan is carried out: setting, beam, file in its order, what gauges then show."""
    setting = beam_setting(
        unstrung, plan.remove_mm, instrument, plan.rod, tools.beam_mm, tools.prop
    )
    steps = file_steps(
        setting,
        plan.remove_mm,
        plan.height_after_mm,
        strung.u_height_mm,
        unstrung.x_mm,
        unstrung.u_top_mm,
        tools.hand,
    )
    shown = expected(strung, unstrung, instrument, plan, tools.u_cut_um)
    return Bench(setting, steps, shown, unstrung.relief, tools.prop, tools.u_cut_um)
