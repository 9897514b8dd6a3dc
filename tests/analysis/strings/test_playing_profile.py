"""Built-in playing profiles, and the highest action of every string."""

from __future__ import annotations

import numpy as np
import pytest

from analysis.strings.playing import BUILT_IN, built_in_profile


@pytest.mark.parametrize("strings", [3, 4, 6, 7, 12])
@pytest.mark.parametrize("name", BUILT_IN)
def test_a_built_in_runs_from_the_first_to_the_last_string(name: str, strings: int) -> None:
    profile = built_in_profile(name, strings)

    action = profile.highest_action(strings)

    assert profile.name == name
    assert action.shape == (strings,)
    assert action[0] == profile.highest_action_mm[1]
    assert action[-1] == profile.highest_action_mm[strings]
    assert np.all(np.diff(action) > 0)


def test_everyday_by_its_numbers() -> None:
    profile = built_in_profile("everyday", 6)

    assert (profile.pluck_force_n, profile.pluck_from_saddle_mm) == (0.5, 120.0)
    assert (profile.bend_semitones, profile.least_fret_mm, profile.guard) == (2.0, 0.6, 2.0)
    np.testing.assert_allclose(profile.highest_action(6), [1.7, 1.8, 1.9, 2.0, 2.1, 2.2])


def test_harder_playing_asks_for_more() -> None:
    gentle, everyday, hard = (built_in_profile(name, 6) for name in BUILT_IN)

    assert gentle.pluck_force_n < everyday.pluck_force_n < hard.pluck_force_n


def test_past_the_given_strings_the_height_stays() -> None:
    profile = built_in_profile("gentle", 6)

    np.testing.assert_allclose(profile.highest_action(8)[5:], [2.0, 2.0, 2.0])


def test_an_unknown_name() -> None:
    with pytest.raises(KeyError):
        built_in_profile("loud", 6)
