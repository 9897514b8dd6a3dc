"""The built-in profiles on instruments of other kinds."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from analysis.instrument import Instrument
from analysis.strings.kinds import BASS, CLASSICAL, GUITAR, MANDOLIN, UKULELE, kind_of, profile_for
from analysis.strings.playing import BUILT_IN, built_in_profile
from analysis.strings.strings import string_loads
from analysis.strings.swings import deepest_per_newton

from ..kinds_of_instruments import instruments_like, strung


@pytest.fixture(scope="module")
def instruments(walnut: Instrument) -> dict[str, Instrument]:
    return instruments_like(walnut)


KINDS = {
    "steel": GUITAR,
    "electric": GUITAR,
    "bass": BASS,
    "five-string bass": BASS,
    "ukulele": UKULELE,
    "classical": CLASSICAL,
    "twelve-string": GUITAR,
    "mandolin": MANDOLIN,
}


@pytest.mark.parametrize("what", list(KINDS))
def test_the_kind_is_told_by_scale_and_strings(
    instruments: dict[str, Instrument], what: str
) -> None:
    assert kind_of(instruments[what]) is KINDS[what]


def test_nylon_is_told_by_its_mass_too(walnut: Instrument) -> None:
    """As an older file has it: no material, a mass."""
    light = [replace(s, diameter_mm=0.7, wound=False, mass_kg_per_m=4.5e-4) for s in walnut.strings]
    assert kind_of(strung(walnut, 650.0, light)) is CLASSICAL


@pytest.mark.parametrize("name", BUILT_IN)
@pytest.mark.parametrize("what", ["steel", "electric"])
def test_a_six_string_of_steel_keeps_the_guitars_numbers(
    instruments: dict[str, Instrument], name: str, what: str
) -> None:
    assert profile_for(name, instruments[what]) == built_in_profile(name, 6)


@pytest.mark.parametrize("name", BUILT_IN)
@pytest.mark.parametrize("what", list(KINDS))
def test_every_kind_can_be_played_as_it_is_said_to_be(
    instruments: dict[str, Instrument], name: str, what: str
) -> None:
    """The swing over fret 12 leaves some of the highest action: from a fifth of it to three."""
    it = instruments[what]
    profile, loads = profile_for(name, it), string_loads(it)
    action = profile.highest_action(len(loads))
    half = it.fret_x_mm(12.0, it.string_numbers)
    for load, high, x in zip(loads, action, half, strict=True):
        length, pluck = it.speaking_mm(np.array([1.0])), profile.pluck_from_saddle_mm
        per_newton = deepest_per_newton(load, length, np.array([[x]]), pluck)
        assert 0.08 * high < profile.pluck_force_n * float(per_newton[0, 0]) < 0.8 * high
    assert 0.08 < profile.pluck_from_saddle_mm / float(it.speaking_mm(1.0)) < 0.25


def test_numbers_of_the_kinds(instruments: dict[str, Instrument]) -> None:
    said = {
        what: (p.pluck_force_n, p.pluck_from_saddle_mm, p.bend_semitones, p.highest_action_mm)
        for what, p in ((what, profile_for("everyday", it)) for what, it in instruments.items())
    }
    assert said["bass"] == (0.75, 160.0, 1.0, {1: 2.0, 4: 2.7})
    assert said["ukulele"] == (0.35, 70.0, 0.0, {1: 2.2, 4: 2.6})
    assert said["classical"] == (0.5, 120.0, 1.0, {1: 2.8, 6: 3.5})
    assert said["twelve-string"] == (0.5, 120.0, 2.0, {1: 1.7, 12: 2.2})


def test_an_unknown_name(walnut: Instrument) -> None:
    with pytest.raises(KeyError):
        profile_for("loud", walnut)
