"""What the workshop knows of each hand, and which pass a rescan tells of."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from analysis.instrument import Instrument
from daq.errors import InputError
from daq.steps.law import Hand, chosen_laws, hand_laws, known_of
from daq.steps.remember import last_pass
from daq.steps.verify_scans import ToVerify
from daq.workshop.job import Job
from daq.workshop.laws import LawEntry
from daq.workshop.place import Workshop

FILE, STEEL = Hand("file", "nickel silver"), Hand("file", "stainless steel")


def learn(workshop: Workshop, hand: Hand, gain: float, count: int = 20, seed: int = 0) -> None:
    rng = np.random.default_rng(seed)
    planned = rng.uniform(3.0, 50.0, count)
    achieved = gain * planned + rng.normal(0.0, 1.2, count)
    workshop.laws.append(
        LawEntry(
            job=f"{hand.tool}/{hand.metal}/{seed}",
            made="2024-05-06T07:08:09+00:00",
            tool=hand.tool,
            metal=hand.metal,
            planned_um=tuple(planned.round(1).tolist()),
            achieved_um=tuple(achieved.tolist()),
            u_um=(0.8,) * count,
        )
    )


@pytest.fixture
def workshop(tmp_path: Path) -> Workshop:
    return Workshop(tmp_path / "shop")


def test_an_empty_workshop_knows_nothing(workshop: Workshop) -> None:
    known = known_of(workshop, FILE)
    assert (known.own, known.nearest, known.law) == (None, None, None)
    assert hand_laws(workshop) == ()
    assert chosen_laws(workshop, "file", None) == ()


def test_a_law_of_its_own_is_used(workshop: Workshop) -> None:
    learn(workshop, FILE, 0.88)
    learn(workshop, FILE, 0.88, seed=1)
    known = known_of(workshop, FILE)
    assert known.law is not None
    assert known.law.gain == pytest.approx(0.88, abs=0.03)
    assert (known.law.sessions, known.own and known.own.cuts) == (2, 40)
    assert known.nearest is None


def test_another_metal_s_law_is_told_and_not_used(workshop: Workshop) -> None:
    learn(workshop, FILE, 0.88)
    learn(workshop, Hand("beam", "stainless steel"), 0.7)
    known = known_of(workshop, STEEL)
    assert known.law is None
    assert known.nearest is not None
    assert known.nearest.hand == FILE


def test_too_few_cuts_are_no_law_and_counted(workshop: Workshop) -> None:
    learn(workshop, FILE, 0.88, count=2)
    known = known_of(workshop, FILE)
    assert known.law is None
    assert known.own is not None
    assert known.own.cuts == 2


def test_a_new_metal_begins_from_the_workshop_s_others(workshop: Workshop) -> None:
    for seed, tool in enumerate(("file", "beam", "stone")):
        learn(workshop, Hand(tool, "nickel silver"), 0.8, seed=seed)
    learn(workshop, STEEL, 0.9, count=4, seed=9)
    own = known_of(workshop, STEEL).own
    assert own is not None
    assert own.others == 3
    assert own.start[0] == pytest.approx(0.8, abs=0.03)
    assert own.start[1] < 0.1


def test_chosen_by_tool_and_metal(workshop: Workshop) -> None:
    learn(workshop, FILE, 0.88)
    learn(workshop, STEEL, 0.7)
    assert [one.hand for one in chosen_laws(workshop, None, None)] == [FILE, STEEL]
    assert [one.hand for one in chosen_laws(workshop, "file", "stainless steel")] == [STEEL]
    with pytest.raises(InputError, match=r"--tool beam: found no verified cut; .* file on nickel"):
        chosen_laws(workshop, "beam", None)


@pytest.fixture
def job(tmp_path: Path) -> Job:
    (tmp_path / "job" / "checks").mkdir(parents=True)
    return Job(tmp_path / "job")


def checked(job: Job, after: str, plan: str = "001.json", **more: object) -> None:
    number = len(job.checks()) + 1
    document = {"plan": plan, "cuts": [], "scans": {"after": after}, **more}
    (job.folder / "checks" / f"{number:03d}.json").write_text(json.dumps(document))


def to_verify(job: Job, after: str) -> ToVerify:
    cuts = [{"fret": 2, "string": 1, "remove_um": 30.0, "aim_um": 33.0}]
    scans = job.scans_folder
    plan = job.folder / "plans" / "001.json"
    return ToVerify(plan, {"cuts": cuts}, scans / "002-unstrung.h5", scans / after, None)


def test_the_first_pass_is_the_plan_s_own(job: Job, six: Instrument) -> None:
    which = to_verify(job, "003-unstrung.h5")
    found = last_pass(job, which, [job.scans_folder / "003-unstrung.h5"], six)
    assert (found.name, found.before) == ("job/001", which.before)
    assert found.aimed_um[1, 0] == 33.0


def test_the_same_scan_again_is_the_same_pass(job: Job, six: Instrument) -> None:
    checked(job, "003-unstrung.h5", left=[])
    which = to_verify(job, "004-unstrung.h5")
    used = [job.scans_folder / f"00{n}-unstrung.h5" for n in (3, 4)]
    assert last_pass(job, which, used, six).before == which.before


def test_a_second_pass_is_what_the_check_had_aimed_at(job: Job, six: Instrument) -> None:
    """Both passes together against the plan's aims would teach a hand it never had."""
    left = {"fret": 2, "string": 1, "left_um": 4.0, "u_left_um": 1.0, "aim_um": 3.5}
    checked(job, "003-unstrung.h5", left=[left])
    which = to_verify(job, "004-unstrung.h5")
    found = last_pass(job, which, [job.scans_folder / "004-unstrung.h5"], six)
    assert found.name == "job/001/001"
    assert found.before.name == "003-unstrung.h5"
    assert found.aimed_um[1, 0] == 3.5
    assert np.count_nonzero(found.aimed_um) == 1


@pytest.mark.parametrize("more", [{"plan": "000.json"}, {"after": None}])
def test_checks_of_another_plan_or_without_a_rescan_do_not_count(
    job: Job, six: Instrument, more: dict[str, object]
) -> None:
    checked(job, **{"after": "003-unstrung.h5", **more})  # type: ignore[arg-type]
    which = to_verify(job, "004-unstrung.h5")
    found = last_pass(job, which, [job.scans_folder / "004-unstrung.h5"], six)
    assert found.before == which.before


def test_an_old_check_that_does_not_say_its_aims_teaches_nothing(job: Job, six: Instrument) -> None:
    checked(job, "003-unstrung.h5")
    which = to_verify(job, "004-unstrung.h5")
    found = last_pass(job, which, [job.scans_folder / "004-unstrung.h5"], six)
    assert not found.aimed_um.any()
