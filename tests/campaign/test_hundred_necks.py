"""A hundred worn necks, scanned, planned, and the plans carried out on what is really there.

NECKFORM_NECKS: how many (100). NECKFORM_NECKS_FOLDER: where their workshops stay, a folder a
seed; scans found there are not made again.
"""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from analysis.after.law import FEWEST_CUTS, Session, fit_law
from analysis.instrument import Instrument
from analysis.neck.shape import Shape
from analysis.plan.plan import Plan, make_plan
from analysis.plan.planner import planner_for
from analysis.rod.rod import default_rod
from analysis.strings.playing import BUILT_IN, PlayingProfile, built_in_profile
from daq.cli.main import main
from daq.demo.bench import software_rig
from daq.documents.plan import plan_document
from daq.reading.job import both_states
from daq.reading.reader import JobReader
from daq.workshop.place import Workshop

from ..motion.judge import judge
from ..motion.optimum import least_as_measured, least_in_truth
from ..motion.trueneck import EXACT, Hand, carried_out, true_neck

KEEPS = {"free": frozenset[str](), "cuts only": frozenset({"rod", "nut", "saddles"})}
#: A careful person's: a dial gauge on relief, a rule over fret 12, feelers at the nut.
CAREFUL = Hand(scatter_um=1.0, relief_mm=0.01, action_mm=0.01, nut_mm=0.01)
#: By the rod's turns as a default rod would have them, and never measured again.
BY_TURNS = Hand(by_turns=True)
#: The demo's hand: what it takes of its aim, and how far a cut misses that, µm.
HAND_GAIN, HAND_UM = 0.88, 1.0
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


@pytest.fixture(scope="module")
def seeds() -> range:
    return range(1, 1 + int(os.environ.get("NECKFORM_NECKS", "100")))


@pytest.fixture(scope="module")
def tallies(seeds: range, tmp_path_factory: pytest.TempPathFactory) -> dict[tuple[str, str], Tally]:
    kept = os.environ.get("NECKFORM_NECKS_FOLDER")
    folder = Path(kept) if kept else tmp_path_factory.mktemp("necks")
    out = {(name, keep): Tally() for name in BUILT_IN for keep in KEEPS}
    for seed in seeds:
        shape, instrument = _scanned(folder / str(seed), seed)
        for (name, keep), tally in out.items():
            _try(seed, shape, instrument, built_in_profile(name, 6), keep, tally)
    return out


def _scanned(folder: Path, seed: int) -> tuple[Shape, Instrument]:
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


def _try(
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
    if plan.keep:
        planner = planner_for(shape, instrument, plan.playing, default_rod(instrument, shape.x_mm))
        most = planner.limits(plan.playing, plan.keep).most_cut_mm
        tally.optimum.append(1e3 * least_as_measured(planner, plan.playing))
        tally.in_truth.append(1e3 * least_in_truth(true_neck(seed), document["playing"], most))


def _lines(tallies: dict[tuple[str, str], Tally]) -> Iterator[str]:
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


def _session(cuts: list[dict[str, Any]], rng: np.random.Generator) -> Session:
    """Carried out by the demo's hand and scanned before and after, each as well as the plan's u."""
    meant = np.array([cut["remove_um"] for cut in cuts])
    u = np.sqrt(2.0) * np.array([cut["u_remove_um"] for cut in cuts])
    took = np.clip(HAND_GAIN * meant + rng.normal(0.0, HAND_UM, meant.size), 0.0, None)
    return Session(meant, took + rng.normal(0.0, u), np.zeros(meant.size), u)


def _laws(cuts: list[list[dict[str, Any]]], sessions: int) -> np.ndarray:
    """[laws, 3]: how far the gain is off after so many sessions, a neck each; the law's own u;
    the bound, what cuts of these depths can tell at best of a gain alone."""
    rng = np.random.default_rng(11)
    done = [_session(one, rng) for one in cuts if len(one) >= FEWEST_CUTS]
    out = []
    for i in range(len(done) - sessions + 1):
        run = done[i : i + sessions]
        told = [np.sum(s.planned_um**2 / (HAND_UM**2 + s.u_achieved_um**2)) for s in run]
        law = fit_law(run)
        out.append((law.gain - HAND_GAIN, law.u_gain, float(np.sum(told)) ** -0.5))
    return np.array(out).reshape(-1, 3)


@pytest.mark.campaign
@pytest.mark.parametrize(("sessions", "within"), [(1, 0.02), (3, 0.01)])
@pytest.mark.parametrize("keep", KEEPS)
def test_gain_of_the_law(
    tallies: dict[tuple[str, str], Tally],
    capsys: pytest.CaptureFixture[str],
    keep: str,
    sessions: int,
    within: float,
) -> None:
    """Within what is asked where the cuts can tell so much, near what they can tell where not."""
    off, u, bound = _laws(tallies["everyday", keep].cuts, sessions).T
    if off.size < 10:
        pytest.skip("too few laws to judge how far they are off")
    rms, best = _rms(off), _rms(bound)
    with capsys.disabled():
        sys.stdout.write(
            f"\ngain after {sessions}, everyday, {keep}: off {rms:.4f} rms (these cuts can tell "
            f"{best:.4f}), {np.max(np.abs(off)):.3f} at the most; off over u {_rms(off / u):.2f}, "
            f"{np.mean(np.abs(off) <= within):.0%} of {off.size} laws within {within}\n"
        )
    assert rms <= max(within, 1.3 * best)
    assert _rms(off / u) < 1.3


def _rms(values: np.ndarray) -> float:
    return float(np.sqrt(np.mean(values**2)))


@pytest.mark.campaign
def test_table(tallies: dict[tuple[str, str], Tally], capsys: pytest.CaptureFixture[str]) -> None:
    """Printed whatever the others say."""
    with capsys.disabled():
        sys.stdout.write("\n" + "\n".join(_lines(tallies)) + "\n")
    assert all(one.necks for one in tallies.values())


@pytest.mark.campaign
def test_every_neck_can_be_planned_with_all_screws_free(
    tallies: dict[tuple[str, str], Tally],
) -> None:
    for name in BUILT_IN:
        one = tallies[name, "free"]
        assert len(one.planned) == one.necks, one.short
    assert len(tallies["gentle", "cuts only"].planned) == tallies["gentle", "cuts only"].necks


@pytest.mark.campaign
@pytest.mark.parametrize("how", ["pulled", "pushed", "bent_pulled", "bent_pushed"])
def test_no_plan_leaves_a_true_negative_margin(
    tallies: dict[tuple[str, str], Tally], how: str
) -> None:
    for which, one in tallies.items():
        assert one.least(how) >= 0.0, which


@pytest.mark.campaign
@pytest.mark.parametrize("how", ["moving", "bent_moving"])
def test_moving_strings_touch_nothing(tallies: dict[tuple[str, str], Tally], how: str) -> None:
    for which, one in tallies.items():
        assert one.least(how) >= 0.0, which


@pytest.mark.campaign
def test_cuts_alone_take_little_more_than_the_least(
    tallies: dict[tuple[str, str], Tally],
) -> None:
    for name in ("gentle", "everyday"):
        ratios = tallies[name, "cuts only"].of_optimum()
        assert ratios.size > 0
        assert ratios.max() <= 1.25, name


@pytest.mark.campaign
def test_with_screws_free_it_is_a_fraction_of_levelling(
    tallies: dict[tuple[str, str], Tally],
) -> None:
    for name in BUILT_IN:
        assert np.median(tallies[name, "free"].of_level()) <= 0.4, name
