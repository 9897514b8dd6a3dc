"""One fault at a time: what must not shift the numbering, and what must be refused."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.faults import NeckError
from analysis.instrument import Instrument
from analysis.pattern.bumps import Bumps
from analysis.pattern.cells import Cells
from analysis.pattern.contradicted import scale_limit
from analysis.pattern.register import Look, register, registered
from analysis.pattern.registration import Registration
from calibration.profile import Profile

MakeNeck = Callable[..., Any]
LANES = [1.5, 3.5, 5.5]
FRETS = np.arange(1.0, 23.0)


def cut(profiles: list[Profile], low: float, high: float) -> list[Profile]:
    """The scan only went from low to high on the carriage."""
    out = []
    for one in profiles:
        on = (one.x_mm > low) & (one.x_mm < high)
        parts = {n: getattr(one, n)[on] for n in ("x_mm", "y_mm", "z_mm", "ok", "u_rail_mm")}
        out.append(replace(one, **parts))
    return out


def raised(profiles: list[Profile], at: float, half: float, high: float) -> list[Profile]:
    """A block on the board, across all lanes."""
    return [replace(p, z_mm=np.where(np.abs(p.x_mm - at) < half, high, p.z_mm)) for p in profiles]


def end_for_end(profiles: list[Profile]) -> list[Profile]:
    """The neck turned about, on the same rig."""
    return [
        replace(p, x_mm=640.0 - p.x_mm[::-1], z_mm=p.z_mm[::-1], ok=p.ok[::-1]) for p in profiles
    ]


def crowns_only(
    instrument: Instrument, nut: float, scale: float, skew: float, gone: frozenset[int],
    lanes: tuple[float, ...] = (1.0, 2.5, 4.0, 6.0),
) -> Look:  # fmt: skip
    """Bumps where the frets are, to 0.02 mm, and nothing else. The neck turns about its nut."""
    rng = np.random.default_rng(len(gone))
    frets = np.array([n for n in range(1, instrument.frets + 1) if n not in gone])
    of, x, y = [], [], []
    for row, string in enumerate(lanes):
        place = instrument.fret_x_mm(frets, string)
        across = instrument.string_y_mm(string, place)
        of += [row] * frets.size
        x.append(nut + scale * place + skew * across + rng.normal(0.0, 0.02, frets.size))
        y.append(across)
    went = np.tile([0.0, nut + instrument.scale_bass_mm], (len(lanes), 1))
    cells = Cells(np.zeros((len(lanes), 2)), np.ones((len(lanes), 2), dtype=bool), 0.0, went)
    places = np.concatenate(x)
    bumps = Bumps(np.array(of), places, np.concatenate(y), np.zeros_like(places), went)
    return Look(cells, bumps, np.array(lanes))


@settings(deadline=None, max_examples=60)
@given(
    length=st.floats(330.0, 870.0),
    off=st.floats(-15.0, 15.0),
    scale=st.floats(0.9965, 1.0035),
    skew=st.floats(-0.01, 0.01),
    gone=st.frozensets(st.integers(1, 17), max_size=4),
)
def test_any_straight_scale_is_numbered(
    walnut: Instrument, length: float, off: float, scale: float, skew: float, gone: frozenset[int]
) -> None:
    made = replace(walnut, scale_bass_mm=length, scale_treble_mm=length, frets=18)
    found = registered(crowns_only(made, 61.0 + off, scale, skew, gone), made, None)
    assert found.nut_mm == pytest.approx(61.0 + off, abs=0.1)
    assert found.scale == pytest.approx(scale, abs=3e-4)
    assert found.skew == pytest.approx(skew, abs=2e-3)
    assert found.found == pytest.approx(1.0 - len(gone) / 18.0, abs=1e-9)


@settings(deadline=None, max_examples=60)
@given(
    bass=st.floats(600.0, 720.0),
    square=st.integers(0, 12),
    skew=st.floats(-0.02, 0.02),
    fan=st.floats(-0.01, 0.01),
    string=st.floats(1.0, 6.0),
)
def test_neck_and_carriage_are_inverse_on_any_fan(
    walnut: Instrument, bass: float, square: int, skew: float, fan: float, string: float
) -> None:
    made = replace(walnut, scale_bass_mm=bass, scale_treble_mm=630.0, square_fret=square)
    lies = Registration(61.0, 0.0, 1.002, 0.0, 1.0, skew, 0.0, fan, 0.0, made)
    x = np.linspace(-10.0, 480.0, 9)
    np.testing.assert_allclose(lies.neck_mm(lies.carriage_mm(x, string), string), x, atol=1e-6)


@pytest.mark.parametrize(("low", "high"), [(40.0, 330.0), (235.0, 600.0), (200.0, 430.0)])
def test_a_scan_of_a_part_of_the_neck(
    make_neck: MakeNeck, walnut: Instrument, low: float, high: float
) -> None:
    """Frets it did not go to are not missing: they are not covered."""
    profiles = cut(make_neck(walnut, nut_mm=66.0).profiles(lanes=LANES), low, high)
    found = register(profiles, walnut)
    places = 66.0 + walnut.fret_x_mm(FRETS, 1.5)
    assert found.nut_mm == pytest.approx(66.0, abs=0.3)
    assert found.found == pytest.approx(1.0)
    inside = (places > low + 1.5) & (places < high - 1.5)
    np.testing.assert_array_equal(found.covered, np.tile(inside[:, None], 3))


@pytest.mark.parametrize("fret", [1, 2, 5])
def test_a_capo(make_neck: MakeNeck, walnut: Instrument, fret: int) -> None:
    at = 61.0 + float(walnut.fret_x_mm(fret, 1.0)) - 3.0
    profiles = raised(make_neck(walnut).profiles(lanes=LANES), at, 6.0, 8.0)
    found = register(profiles, walnut)
    assert found.nut_mm == pytest.approx(61.0, abs=0.05)
    assert found.found == pytest.approx(21.0 / 22.0, abs=0.01)


def test_a_zero_fret_is_no_fret_one(make_neck: MakeNeck, walnut: Instrument) -> None:
    short = replace(walnut, scale_bass_mm=350.0, scale_treble_mm=350.0, frets=15)
    neck = make_neck(short, extra_x_mm=(0.0,), nut_mm=55.0)
    assert register(neck.profiles(lanes=LANES), short).nut_mm == pytest.approx(55.0, abs=0.05)


@pytest.mark.parametrize("hidden", [(), (3, 12, 20)])
@pytest.mark.parametrize("low", [0.0, 250.0])
def test_a_neck_the_wrong_way_round_is_said(
    make_neck: MakeNeck, walnut: Instrument, hidden: tuple[int, ...], low: float
) -> None:
    profiles = end_for_end(make_neck(walnut, hidden=hidden).profiles(lanes=LANES))
    with pytest.raises(NeckError, match=r"^the neck lies backwards on the rig: .*turn it end for"):
        register(cut(profiles, low, 640.0), walnut)


@pytest.mark.parametrize(
    ("bass", "treble", "words"),
    [
        (660.0, 635.0, ""),
        (672.0, 635.0, r"scale_mm\.bass: the file says 672, .* 6(59|60)\.\d ± .*; treble agrees"),
        (660.0, 641.0, r"scale_mm\.treble: the file says 641, .* 635\.\d ± .*; bass agrees"),
        (670.0, 645.0, r"scale_mm: the file says bass 670, treble 645, .* 6(59|60)\.\d ± \d\.\d mm "
         r"\(bass\), 63[45]\.\d ± \d\.\d mm \(treble\)"),
        (648.0, 648.0, r"scale_mm: the file says 648, .* 6(59|60)\.\d ± .* 63[45]\.\d"),
    ],
)  # fmt: skip
def test_the_scale_that_is_wrong_is_named(
    make_neck: MakeNeck, walnut: Instrument, bass: float, treble: float, words: str
) -> None:
    true = replace(walnut, scale_bass_mm=660.0, scale_treble_mm=635.0, square_fret=7)
    profiles = make_neck(true).profiles(lanes=[1.0, *LANES, 6.0])
    file = replace(true, scale_bass_mm=bass, scale_treble_mm=treble)
    if not words:
        assert register(profiles, file).fan == pytest.approx(0.0, abs=1e-4)
        return
    with pytest.raises(NeckError, match=words):
        register(profiles, file)


def test_a_known_screw_excuses_less(make_neck: MakeNeck, walnut: Instrument) -> None:
    """Half a percent could be an unknown screw; a known one leaves the file."""
    profiles = make_neck(walnut, screw=1.005).profiles(lanes=LANES)
    assert register(profiles, walnut).scale == pytest.approx(1.005, abs=2e-4)
    with pytest.raises(NeckError, match=r"scale_mm: the file says 641, .* 644\.[12] ± "):
        register(profiles, walnut, u_screw_scale=5e-5)
    register(profiles, walnut, u_screw_scale=2e-3)


def test_the_limit_of_a_scale() -> None:
    assert scale_limit(1e-4, None) == 0.006
    assert scale_limit(1e-5, 1e-5) == 0.001
    assert scale_limit(3e-4, 4e-4) == pytest.approx(1.5e-3)


def test_two_numberings_as_likely_are_refused(walnut: Instrument) -> None:
    """Mid-neck, and the file half a fret off between the two: nothing tells."""
    half = 2.0 ** (1.0 / 24.0)
    file = replace(walnut, scale_bass_mm=350.0 / half, scale_treble_mm=350.0 / half, frets=18)
    true = replace(file, scale_bass_mm=350.0, scale_treble_mm=350.0)
    off = 0.5 * 350.0 * (1.0 - 2.0 ** (-1.0 / 12.0))
    look = crowns_only(true, 61.0 - off, 1.0, 0.0, frozenset({1, 2, 3, 4}))
    part = look.bumps.went_mm.copy()
    part[:, 0] = look.bumps.x_mm.min() - 4.0
    part[:, 1] = look.bumps.x_mm.max() + 4.0
    with pytest.raises(NeckError, match=r"two numberings about as well, .*nut at .* and .*nut at"):
        registered(replace(look, bumps=replace(look.bumps, went_mm=part)), file, None)
