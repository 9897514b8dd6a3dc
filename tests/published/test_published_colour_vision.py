"""The report's colours as readers without one kind of cone see them.

Colours go through the published simulation (linear sRGB) to CIE 1976 L*a*b* (D65; IEC 61966-2-1
for sRGB), where the distance of two is Euclidean. About 2.3 is just noticeable side by side
(Mahy, Van Eycken, Oosterlinck 1994, from memory); asked for here is four times that (own choice:
tiles are small, and lie apart from their legend).
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from itertools import combinations, pairwise
from pathlib import Path

import numpy as np
import pytest

from daq.figures.palette import (
    DARK,
    DIVERGING,
    GROUNDS,
    LIGHT,
    MARGINS,
    SEQUENCE,
    SHEET,
    WEAR,
    contrast,
    ink_on,
)  # fmt: skip
from daq.report.style import STYLE

DATA = Path(__file__).parent / "data" / "colour_vision.csv"
KINDS = ("full", "protanopia", "deuteranopia", "tritanopia")
SCHEMES = pytest.mark.parametrize("colours", [LIGHT, DARK], ids=["light", "dark"])
SEEN_AS = pytest.mark.parametrize("kind", KINDS)
FAR_ENOUGH = 9.2
#: Above and below zero must not be taken for one another at a glance (own choice).
OPPOSITE = 25.0

_ROWS = [line.split(",") for line in DATA.read_text().splitlines()[2:]]
SEEN = {kind: np.array([[float(v) for v in r[2:]] for r in _ROWS if r[0] == kind])
        for kind in KINDS[1:]} | {"full": np.eye(3)}  # fmt: skip
TO_XYZ = np.array([[0.4124564, 0.3575761, 0.1804375], [0.2126729, 0.7151522, 0.0721750],
                   [0.0193339, 0.1191920, 0.9503041]])  # fmt: skip


def _lab(colour: str, kind: str) -> np.ndarray:
    share = np.array([int(colour[i : i + 2], 16) for i in (1, 3, 5)]) / 255.0
    linear = np.where(share <= 0.04045, share / 12.92, ((share + 0.055) / 1.055) ** 2.4)
    seen = np.clip(SEEN[kind] @ linear, 0.0, 1.0)
    part = TO_XYZ @ seen / TO_XYZ.sum(axis=1)
    low = (6.0 / 29.0) ** 3
    f = np.where(part > low, np.cbrt(part), part / (3 * (6 / 29) ** 2) + 4 / 29)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


def _apart(one: str, other: str, kind: str) -> float:
    return float(np.linalg.norm(_lab(one, kind) - _lab(other, kind)))


def _least(pairs: Iterable[tuple[str, str]], kind: str) -> float:
    return min(_apart(a, b, kind) for a, b in pairs)


def test_lab_of_known_colours() -> None:
    """Red of sRGB: L*a*b* 53.24, 80.09, 67.20; white 100, 0, 0 (widely tabulated)."""
    assert _lab("#ff0000", "full") == pytest.approx([53.24, 80.09, 67.20], abs=0.02)
    assert _lab("#ffffff", "full") == pytest.approx([100.0, 0.0, 0.0], abs=0.02)


def test_simulation_leaves_grey_alone() -> None:
    for kind in KINDS:
        assert SEEN[kind].sum(axis=1) == pytest.approx(1.0, abs=2e-6)


def test_simulation_shows_what_a_bad_choice_would_be() -> None:
    """A red and a green of like lightness are lost without the long or middle cones."""
    assert _apart("#c05050", "#6f8f3f", "full") > 60.0
    assert _apart("#c05050", "#6f8f3f", "deuteranopia") < 30.0


@SCHEMES
@SEEN_AS
@pytest.mark.parametrize("scale", [SEQUENCE, DIVERGING, MARGINS, WEAR])
def test_every_two_classes_stay_apart(
    colours: dict[str, str], kind: str, scale: tuple[str, ...]
) -> None:
    pairs = combinations([colours[name] for name in scale], 2)
    assert _least(pairs, kind) >= FAR_ENOUGH


@SCHEMES
@SEEN_AS
def test_above_is_not_taken_for_below(colours: dict[str, str], kind: str) -> None:
    sides = [(colours[f"n{n}"], colours[f"p{n}"]) for n in range(1, 5)]
    assert _least(sides, kind) >= OPPOSITE
    assert _apart(colours["strung"], colours["unstrung"], kind) >= OPPOSITE


@SCHEMES
@SEEN_AS
def test_scales_run_one_way_in_lightness(colours: dict[str, str], kind: str) -> None:
    """From little to much, and from zero outwards on both sides: so they print in grey, too."""
    for scale in (SEQUENCE, DIVERGING[4:], DIVERGING[4::-1]):
        light = [float(_lab(colours[name], kind)[0]) for name in scale]
        steps = [b - a for a, b in pairwise(light)]
        assert all(abs(step) > 6.0 for step in steps)
        assert len({np.sign(step) for step in steps}) == 1


@SCHEMES
def test_text_stands_out(colours: dict[str, str]) -> None:
    """WCAG 2.2, 1.4.3: at least 4.5 to 1, on the page, its cards and in the drawings."""
    grounds = [colours["paper"], colours["card"], colours["past"]]
    grounds += [SHEET] if colours is LIGHT else []
    for ground in grounds:
        for name in ("ink", "soft", "strung", "unstrung"):
            assert contrast(colours[name], ground) >= 4.5, (name, ground)


@SCHEMES
@pytest.mark.parametrize("scale", [SEQUENCE, MARGINS, WEAR])
def test_numbers_in_cells_stand_out(colours: dict[str, str], scale: tuple[str, ...]) -> None:
    for name in scale:
        assert contrast(ink_on(colours[name]), colours[name]) >= 4.5, name


@SCHEMES
def test_signs_stand_out(colours: dict[str, str]) -> None:
    """WCAG 2.2, 1.4.11: at least 3 to 1 for what is no text; zero has no sign."""
    for name in DIVERGING:
        assert contrast(ink_on(colours[name]), colours[name]) >= 3.0, name


def test_contrast_of_known_pairs() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.005)


def test_style_names_only_colours_there_are() -> None:
    used = set(re.findall(r"var\(--([a-z0-9-]+)\)", STYLE))
    known = set(LIGHT) | {f"on-{name}" for name in GROUNDS}
    assert used <= known
    assert set(LIGHT) == set(DARK)
