"""Whether a scan is of the neck and the state it is said to be of."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from analysis.belongs.belongs import check_belongs, check_pulled, check_strings_off
from analysis.faults import NeckError
from analysis.instrument import Instrument
from analysis.pattern.register import look_at
from calibration.profile import Profile

MakeNeck = Callable[..., Any]
LANES = [1.0, 1.5, 2.0, 2.5, 3.0, 3.5]


def strung_over(profiles: list[Profile], strings: tuple[float, ...]) -> list[Profile]:
    """The same passes with a string, straight and over all frets, in the lanes named."""
    return [
        replace(one, z_mm=np.where(one.ok, np.maximum(one.z_mm, 2.5 + 1e-3 * one.x_mm), one.z_mm))
        if one.string in strings
        else one
        for one in profiles
    ]


@pytest.mark.parametrize("strung", [True, False])
def test_a_neck_of_the_file_belongs(make_neck: MakeNeck, walnut: Instrument, strung: bool) -> None:
    neck = make_neck(walnut, nut_mm=63.0)
    found = check_belongs(neck.profiles(strung=strung), walnut)
    assert found.registration.nut_mm == pytest.approx(63.0, abs=0.1)


@pytest.mark.parametrize(
    ("on", "named"),
    [((1.0,), "string 1 "), ((1.0, 3.0), "strings 1 and 3 "), ((1.0, 2.0, 3.0), "1, 2 and 3 ")],
)
def test_strings_left_on_are_named(
    make_neck: MakeNeck, walnut: Instrument, on: tuple[float, ...], named: str
) -> None:
    profiles = strung_over(make_neck(walnut).profiles(lanes=LANES), on)
    with pytest.raises(NeckError, match=f"under {named}show a string|strings {named}show"):
        check_strings_off(look_at(profiles))


def test_lanes_between_strings_say_nothing_of_strings(
    make_neck: MakeNeck, walnut: Instrument
) -> None:
    check_strings_off(look_at(make_neck(walnut).profiles(strung=True)))


def test_a_bare_thing_is_not_taken_for_strings(make_profile: Callable[..., Profile]) -> None:
    x = np.arange(45.0, 595.0, 0.1)
    bare = [replace(make_profile(x, 1e-4 * x), string=s) for s in (1.0, 1.5, 2.0)]
    check_strings_off(look_at(bare))


@pytest.mark.parametrize(("said", "word"), [(23, "fret 23 would"), (24, "fret 23"), (36, "23")])
def test_more_frets_in_the_file_than_on_the_neck(
    make_neck: MakeNeck, walnut: Instrument, said: int, word: str
) -> None:
    profiles = make_neck(walnut).profiles(lanes=LANES)
    with pytest.raises(NeckError, match=f"the file says {said}.*{word}.*is fret 22"):
        check_belongs(profiles, replace(walnut, frets=said))


@pytest.mark.parametrize("said", [18, 21])
def test_fewer_frets_in_the_file_than_on_the_neck(
    make_neck: MakeNeck, walnut: Instrument, said: int
) -> None:
    profiles = make_neck(walnut).profiles(lanes=LANES)
    with pytest.raises(NeckError, match=f"the file says {said}, but crowns stand on to .* fret 22"):
        check_belongs(profiles, replace(walnut, frets=said))


def test_frets_missing_on_the_way_are_no_matter(make_neck: MakeNeck, walnut: Instrument) -> None:
    check_belongs(make_neck(walnut, hidden=(1, 5, 12, 21)).profiles(lanes=LANES), walnut)


@pytest.mark.parametrize(
    ("change", "u", "pulled"),
    [
        ([0.12, 0.11, 0.13], [0.001] * 3, True),
        ([0.001, -0.002, 0.003], [0.001] * 3, False),
        ([0.001, -0.002, 0.006], [0.001] * 3, True),
        ([0.009, 0.0, 0.0], [0.005] * 3, False),
        ([0.011, 0.0, 0.0], [0.1] * 3, True),
        ([np.nan, 0.001, 0.001], [0.001] * 3, False),
        ([np.nan] * 3, [np.nan] * 3, True),
        ([-0.05] * 3, [0.001] * 3, True),
    ],
)
def test_a_neck_without_strings_does_not_move(
    change: list[float], u: list[float], pulled: bool
) -> None:
    if pulled:
        check_pulled(np.array(change), np.array(u))
        return
    with pytest.raises(NeckError, match="the strung scan looks unstrung"):
        check_pulled(np.array(change), np.array(u))
