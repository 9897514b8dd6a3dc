"""Many worn necks: scanned, planned, the plans carried out on what is really there, counted."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np

from analysis.instrument import Instrument
from analysis.neck.shape import Shape
from analysis.plan.plan import Plan
from analysis.plan.planner import planner_for
from analysis.plan.target import Target
from analysis.rod.rod import default_rod
from analysis.strings.playing import PlayingProfile
from daq.cli.main import main
from daq.demo.bench import software_rig
from daq.documents.plan import plan_document
from daq.reading.job import both_states
from daq.reading.reader import JobReader
from daq.workshop.place import Workshop

from ..planned import make_plan
from .judge import judge
from .optimum import least_as_measured, least_in_truth
from .trueneck import EXACT, Hand, carried_out, true_neck

KEEPS = {"free": Target(), "cuts only": Target(frozenset({"rod", "nut", "saddles"}))}
#: A careful person's: a dial gauge on relief, a rule over fret 12, feelers at the nut.
CAREFUL = Hand(scatter_um=1.0, relief_mm=0.01, action_mm=0.01, nut_mm=0.01)
#: By the rod's turns as a default rod would have them, and never measured again.
BY_TURNS = Hand(by_turns=True)
SCANS = ("001-strung.h5", "002-unstrung.h5")


@dataclass
class Tally:
    """What one way of playing and keeping gave, an entry a feasible plan: µm, ratios, margins."""

    necks: int = 0
    planned: list[float] = field(default_factory=list)
    level: list[float] = field(default_factory=list)
    optimum: list[float] = field(default_factory=list)
    in_truth: list[float] = field(default_factory=list)
    margins: list[dict[str, float]] = field(default_factory=list)
    careful: list[float] = field(default_factory=list)
    by_turns: list[float] = field(default_factory=list)
    short: list[str] = field(default_factory=list)
    cuts: list[list[dict[str, Any]]] = field(default_factory=list)

    def least(self, name: str) -> float:
        return min((m[name] for m in self.margins if name in m), default=np.inf)

    def of_level(self) -> np.ndarray:
        return np.array(self.planned) / np.array(self.level)

    def of_optimum(self) -> np.ndarray:
        """Where there is metal worth a ratio: half a micrometre for each fret and string."""
        planned, optimum = np.array(self.planned), np.array(self.optimum)
        return planned[optimum > 66.0] / optimum[optimum > 66.0]


def scanned(folder: Path, seed: int) -> tuple[Shape, Instrument]:
    """Calibrated, scanned strung and unstrung, as on the bench."""
    shop, rig = folder / "workshop", str(folder / "rig.yaml")

    def does(*words: str) -> None:
        assert main(["--workshop", str(shop), *words]) == 0

    if not (shop / "jobs/demo/scans" / SCANS[1]).exists():
        folder.mkdir(parents=True, exist_ok=True)
        with software_rig(seed) as bench:
            bench.do("files", folder=str(folder))
            bench.do("place", what="straightedge")
            does("calibrate", "rail", "--rig", rig, "--reference", "straightedge")
            bench.do("place", what="neck")
            bench.do("state", state="strung")
            does("calibrate", "lag", "--rig", rig)
            does("job", "new", "demo", "--instrument", str(folder / "instrument.yaml"))
            does("scan", "demo", "--rig", rig, "--state", "strung")
            bench.do("state", state="unstrung")
            does("scan", "demo", "--rig", rig, "--state", "unstrung")
    workshop = Workshop(shop)
    both = both_states(JobReader(workshop, workshop.job("demo")), *SCANS)
    return both.strung, both.instrument


def try_plan(
    seed: int,
    shape: Shape,
    instrument: Instrument,
    playing: PlayingProfile,
    keep: str,
    tally: Tally,
) -> None:
    plan = make_plan(shape, instrument, playing, KEEPS[keep])
    tally.necks += 1
    if not plan.feasible:
        worst = max(plan.short, key=lambda c: c.needed_mm - c.clearance_mm)
        tally.short.append(f"seed {seed}: {len(plan.short)} margins, worst {worst}")
        return
    document = json.loads(json.dumps(plan_document(plan, instrument)))
    found = np.array(instrument.action_mm)

    def judged(hand: Hand) -> dict[str, float]:
        return judge(carried_out(seed, document, found, hand), document["playing"]).all

    tally.cuts.append(document["cuts"])
    tally.margins.append(judged(EXACT))
    tally.careful.append(min(judged(CAREFUL).values()))
    tally.by_turns.append(min(judged(BY_TURNS).values()))
    _metal(seed, shape, instrument, plan, document, tally)


def _metal(
    seed: int,
    shape: Shape,
    instrument: Instrument,
    plan: Plan,
    document: dict[str, Any],
    tally: Tally,
) -> None:
    tally.planned.append(1e3 * plan.planned_mm)
    tally.level.append(1e3 * plan.level_mm)
    if plan.target.keep:
        planner = planner_for(shape, instrument, plan.playing, default_rod(instrument, shape.x_mm))
        most = planner.limits(plan.playing, plan.target).most_cut_mm
        tally.optimum.append(1e3 * least_as_measured(planner, plan.playing))
        tally.in_truth.append(1e3 * least_in_truth(true_neck(seed), document["playing"], most))


def table(tallies: dict[tuple[str, str], Tally]) -> Iterator[str]:
    yield "µm over every fret and string: median (10 to 90 %; most); margins: the least, µm"
    for (name, keep), one in tallies.items():
        yield f"{name}, {keep}: {len(one.planned)} of {one.necks} feasible"
        yield from (f"    {short}" for short in one.short[:3])
        if not one.planned:
            continue
        yield f"    planned {_spread(one.planned)}, levelling {_spread(one.level)}"
        yield f"    planned of levelling {_spread(one.of_level(), 3)}"
        if one.optimum:
            yield f"    least as measured {_spread(one.optimum)}, in truth {_spread(one.in_truth)}"
            if one.of_optimum().size:
                yield f"    planned of least as measured {_spread(one.of_optimum(), 3)}"
            total = sum(one.planned) / max(sum(one.in_truth), 1e-9)
            yield f"    planned of least in truth, all necks together {total:.2f}"
        names = sorted({name for m in one.margins for name in m})
        yield "    " + ", ".join(f"{name} {one.least(name):.1f}" for name in names)
        yield f"    by a careful hand {min(one.careful):.1f}, by turns {min(one.by_turns):.1f}"


def _spread(values: Any, digits: int = 0) -> str:
    low, middle, high = np.percentile(values, [10, 50, 90])
    most = np.max(values)
    return f"{middle:.{digits}f} ({low:.{digits}f} to {high:.{digits}f}; {most:.{digits}f})"
