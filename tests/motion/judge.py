"""Whether the strings of a true neck touch a fret they should not: statics and motion."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from .lines import all_lines
from .swings import ideal, moving
from .trueneck import TrueNeck
from .wires import Array


@dataclass(frozen=True, order=True)
class Least:
    """The least distance of a kind, mm (negative: it touches), and where: string, fretted (0: the
    open string), the fret beyond, the share of a bend (0: straight)."""

    mm: float
    string: int
    fretted: int
    at: int
    bend: float


@dataclass(frozen=True)
class Verdict:
    """still: before it is plucked. pulled, pushed: the ideal string, let go away from the frets
    or towards them. moving: the simulated stiff string, the worse of both ways. Each over straight
    strings; bent_: over bends, None where nobody bends."""

    still: Least
    pulled: Least
    pushed: Least
    moving: Least
    bent_pulled: Least | None
    bent_pushed: Least | None
    bent_moving: Least | None

    @property
    def all(self) -> dict[str, float]:
        """µm by name."""
        return {
            name: 1e3 * least.mm
            for name in self.__dataclass_fields__
            if (least := getattr(self, name)) is not None
        }


def judge(true: TrueNeck, playing: Mapping[str, Any]) -> Verdict:
    """Every string, open and in every fretted position, over every fret beyond."""
    force, from_saddle_m = 1e3 * playing["pluck_force_n"], 1e-3 * playing["pluck_from_saddle_mm"]
    pull, push = ideal(true, from_saddle_m)
    dips = {"pulled": pull, "pushed": push, "moving": np.maximum(*moving(true, from_saddle_m))}
    straight, *bends = all_lines(true, playing)
    least = {name: _least(straight.mm - force * dip, 0.0) for name, dip in dips.items()}
    bent = {
        name: min(
            (_least(b.mm - force * dip * b.slack[:, :, None], b.bend) for b in bends), default=None
        )
        for name, dip in dips.items()
    }
    return Verdict(
        _least(straight.mm, 0.0),
        least["pulled"],
        least["pushed"],
        least["moving"],
        bent["pulled"],
        bent["pushed"],
        bent["moving"],
    )


def _least(distance: Array, bend: float) -> Least:
    s, n, m = (int(i) for i in np.unravel_index(np.argmin(distance), distance.shape))
    return Least(float(distance[s, n, m]), s + 1, n, m + 1, bend)
