"""Dents and flats of simulated worn necks, met by a ball, against what the simulator made."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest

from analysis.instrument import Instrument, StringSpec
from analysis.neck.neck import Neck, Tip, read_neck
from analysis.wear.loose import loose_frets
from analysis.wear.wear import Wear, wear_of
from calibration.profile import Profile
from sim.eye import STEP_MM, Ball
from sim.neck import Neck as TrueNeck
from sim.objects import NeckOnRig
from sim.scenario import Scenario, draw_scenario
from sim.stand import Stand

NOISE_MM = 0.0018
SAMPLE_MM = 0.0625
SEEDS = (2, 3, 5)


@dataclass(frozen=True)
class Case:
    """A worn neck as it is and as it was read."""

    scenario: Scenario
    truth: TrueNeck
    neck: Neck
    wear: Wear

    @property
    def dent_off_mm(self) -> np.ndarray:
        return self.wear.dent_mm - self.scenario.frets.dent_mm

    @property
    def true_flat_mm(self) -> np.ndarray:
        frets, strings = self.truth.string_y_mm.shape
        fret = np.repeat(np.arange(frets), strings)
        width = self.truth.crowns.flat_width_mm(fret, self.truth.string_y_mm.ravel())
        return width.reshape(frets, strings)


def instrument_of(scenario: Scenario) -> Instrument:
    made = scenario.instrument
    strings = tuple(StringSpec(note, 100.0, 0.3, False) for note in made.notes)
    level = (1.5,) * made.strings
    return Instrument(
        "simulated", made.scale_mm, made.scale_mm, 0, made.frets, made.body_joint_fret,
        tuple(made.board_radius_mm), tuple(made.board_width_mm), made.nut_at_mm, strings,
        tuple(made.spacing_mm), level, level,
    )  # fmt: skip


def passes_over(scenario: Scenario, truth: TrueNeck, inst: Instrument) -> list[Profile]:
    """Both ways over every string and midway between, over a perfect rail."""
    rng = np.random.default_rng(scenario.seed)
    nut = scenario.nut_true_mm
    on_rig = NeckOnRig(truth, None, Stand(nut, 0.0, 0.0, 0.0))
    fine = np.arange(nut - 12.0, nut + scenario.instrument.board_end_x_mm + 6.0, STEP_MM)
    profiles = []
    for lane, string in enumerate(np.arange(1.0, len(inst.strings) + 0.25, 0.5)):
        y = np.asarray(inst.string_y_mm(string, fine - nut))
        z = Ball(1.0).reads_mm(on_rig, fine, y)
        for way in (1, -1):
            x = np.arange(fine[0], fine[-1], SAMPLE_MM) + SAMPLE_MM * rng.uniform()
            seen = np.interp(x, fine, z) + rng.normal(0.0, NOISE_MM, x.size)
            ok = seen > -30.0
            y_there, rail = np.interp(x, fine, y), np.zeros_like(x)
            z_there = np.where(ok, seen, np.nan)
            profiles.append(
                Profile(lane, float(string), way, x, y_there, z_there, ok, rail, NOISE_MM, 0.0)
            )
    return profiles


@pytest.fixture(scope="module")
def cases() -> list[Case]:
    return [case_of(seed) for seed in SEEDS]


@pytest.fixture(params=range(len(SEEDS)))
def case(cases: list[Case], request: pytest.FixtureRequest) -> Case:
    return cases[request.param]


def case_of(seed: int) -> Case:
    scenario = draw_scenario(seed)
    inst = instrument_of(scenario)
    truth = TrueNeck(scenario, "unstrung", 0.0, np.zeros((inst.frets, len(inst.strings))))
    neck = read_neck(passes_over(scenario, truth, inst), inst, Tip(1.0))
    return Case(scenario, truth, neck, wear_of(neck, inst))


def test_dents(case: Case) -> None:
    """Hollows of 1.2 mm standard width, up to 60 um deep, on 22 frets of six strings."""
    off, u = case.dent_off_mm, case.wear.u_dent_mm
    assert np.isfinite(off).all()
    assert np.sqrt(np.mean(off**2)) < 1.0e-3
    assert np.max(np.abs(off)) < 5e-3
    # the lanes beside lie on the hollows' edges: a little is hidden
    assert -0.8e-3 < np.mean(off) < 0.1e-3
    assert 0.88 < np.mean(np.abs(off) < 2.0 * u) < 0.99
    assert np.median(u) < 1.0e-3


def test_flats(case: Case) -> None:
    off = case.wear.flat_mm - case.true_flat_mm
    wide = case.true_flat_mm > 0.25
    assert np.count_nonzero(wide) > 10
    assert np.sqrt(np.mean(off[wide] ** 2)) < 0.015


def test_flats_are_covered(cases: list[Case]) -> None:
    off = np.concatenate([(c.wear.flat_mm - c.true_flat_mm).ravel() for c in cases])
    u = np.concatenate([c.wear.u_flat_mm.ravel() for c in cases])
    wide = np.concatenate([c.true_flat_mm.ravel() for c in cases]) > 0.25
    assert np.mean(np.abs(off[wide]) < 2.0 * u[wide]) > 0.88
    assert np.median(u[wide]) < 0.02
    # one too small to be seen is called none; it is none that matters
    assert np.max(np.abs(off[~wide])) < 0.22


def test_verdicts(case: Case) -> None:
    """Every deep dent is called one, and nothing shallow is."""
    dented = case.wear.verdict == "dented"
    deep = case.scenario.frets.dent_mm
    assert dented[deep > 0.022].all()
    assert not dented[deep < 0.018].any()
    assert set(case.wear.verdict.ravel()) <= {"round", "leave", "dented"}


def test_nothing_is_loose(case: Case) -> None:
    assert loose_frets(case.neck) == ()
