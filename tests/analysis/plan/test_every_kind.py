"""The built-in players on an even neck of every kind of instrument."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from analysis.instrument import Instrument
from analysis.neck.shape import Shape
from analysis.plan.target import Target
from analysis.strings.kinds import profile_for
from analysis.strings.playing import BUILT_IN

from ...planned import make_plan
from ..kinds_of_instruments import instruments_like

KINDS = (
    "steel", "electric", "bass", "five-string bass", "ukulele", "classical", "twelve-string",
    "mandolin",
)  # fmt: skip
#: Of the scale length (common practice, no source): 0.15 mm on a guitar's.
RELIEF = 0.15 / 648.0


@pytest.mark.parametrize("kind", KINDS)
def test_an_even_neck_meets_every_built_in_player(
    walnut: Instrument, make_shape: Callable[..., Shape], kind: str
) -> None:
    """With screws, and what little metal they do not reach: a built-in player asks nothing that no
    neck could give."""
    instrument = instruments_like(walnut)[kind]
    shape = make_shape(instrument, relief_mm=RELIEF * instrument.scale_bass_mm)
    for name in BUILT_IN:
        plan = make_plan(shape, instrument, profile_for(name, instrument), Target())
        assert plan.feasible, name
        assert plan.planned_mm < 0.5, name
        assert {one.verdict for one in plan.after} == {"clear"}
