"""Numbers of frets on necks made to mislead: a thousand of a thousand."""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from analysis.belongs.belongs import check_belongs
from analysis.faults import NeckError
from analysis.pattern.register import register
from calibration.profile import Profile

Make = Callable[[int], Any]
#: A fret is told from its neighbour by this, mm; frets here stand 4.3 mm apart or more.
RIGHT_MM = 0.6


def judged(case: Any) -> str | None:
    """What is wrong with what was found; None where it is right."""
    lanes = np.linspace(1.5, len(case.file.strings) - 0.5, 4 if case.rng.uniform() < 0.5 else 3)
    profiles = [case.profile(round(2.0 * s) / 2.0, d) for s in lanes for d in (1, -1)]
    said = ""
    try:
        found = register(profiles, case.file)
    except NeckError as error:
        said = str(error)
    if case.kind == "backwards":
        return None if "backwards" in said else said or "taken"
    if case.kind == "scale":
        return _judged_scale(case, said)
    if said:
        return said
    frets = np.arange(1, min(case.file.frets, case.true.frets) + 1)
    for one in profiles:
        by = found.carriage_mm(case.file.fret_x_mm(frets, one.string), one.string)
        true = case.true_mm(one.string)[: frets.size]
        on = (true > case.went[0]) & (true < case.went[1])
        off = float(np.max(np.abs(by - true)[on]))
        if off > RIGHT_MM:
            return f"{off:.2f} mm off"
    if case.kind == "frets":
        return _judged_count(case, profiles)
    return None


def _judged_scale(case: Any, said: str) -> str | None:
    file, true = case.file, case.true
    straight = file.scale_bass_mm == file.scale_treble_mm
    end = "bass" if file.scale_bass_mm != true.scale_bass_mm else "treble"
    key = "scale_mm" if straight else f"scale_mm.{end}"
    right = case.screw * (true.scale_bass_mm if end == "bass" else true.scale_treble_mm)
    if "two numberings" in said:
        # a scale wrong by a fret's worth, seen from mid-neck or with a capo on: both are named
        scales = [float(word.rstrip(":")) for word in said.split() if word[0].isdigit()]
        return None if min(abs(s - right) for s in scales) < 1e-3 * right else said
    if not said.startswith(f"{key}: the file says"):
        return said or "taken"
    stands, _, twice_u = said.split("a scale of ")[1].split()[:3]
    off = abs(float(stands) - right)
    return None if off < 2.5 * float(twice_u) + 0.3 else f"{said} (it is {right:.1f})"


def _judged_count(case: Any, profiles: list[Profile]) -> str | None:
    last = f"fret {case.true.frets}"
    try:
        check_belongs(profiles, case.file)
    except NeckError as error:
        right = last in str(error) and "frets: the file says" in str(error)
        return None if right else f"{error} (it has {case.true.frets})"
    return "count taken"


def wrong_ones(make: Make, seeds: range) -> list[str]:
    out = []
    for seed in seeds:
        case = make(seed)
        why = judged(case)
        if why is not None:
            out.append(f"{seed} {case.kind} {'+'.join(case.faults)}: {why}")
    return out


@pytest.mark.parametrize("seeds", [range(20), range(20, 40), range(40, 60)])
def test_sixty_hard_necks_are_numbered_right(make_hard_neck: Make, seeds: range) -> None:
    assert wrong_ones(make_hard_neck, seeds) == []


@pytest.mark.campaign
def test_a_thousand_hard_necks_are_numbered_right(
    make_hard_neck: Make, capsys: pytest.CaptureFixture[str]
) -> None:
    wrong = wrong_ones(make_hard_neck, range(1000, 2000))
    with capsys.disabled():
        sys.stdout.write(f"\nnumbering right in {1000 - len(wrong)} of 1000\n")
        for line in wrong:
            sys.stdout.write(f"{line}\n")
        sys.stdout.write(f"{Counter(line.split()[1] for line in wrong)}\n")
    assert wrong == []
