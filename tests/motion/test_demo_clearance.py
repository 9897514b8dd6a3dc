"""The demo's own check of a plan against the judge: two codes, one neck."""

from __future__ import annotations

import json
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from analysis.instrument import Instrument
from daq.demo.clearance import TrueMargins, worst_true_margins
from sim.bench import Bench
from sim.faults import Faults
from sim.rigspec import RigSpec

from .judge import Verdict, judge
from .trueneck import carried_out

STILL = [{"string": s, "change_mm": 0.0} for s in range(1, 7)]
FOUND = np.linspace(1.4, 1.9, 6)
#: (fret, string, µm), one far too deep.
Cuts = list[tuple[int, int, float]]
LOW: Cuts = [(2, 1, 25.0), (3, 1, 25.0), (9, 4, 160.0), (10, 2, 12.0)]
#: Up where a pluck towards the frets brings the string lower than one away from them.
HIGH: Cuts = [(20, 1, 160.0)]


def plan(raised_mm: float, semitones: float, cuts: Cuts) -> dict[str, Any]:
    """Saddles higher, and cuts; fret 12 is halfway, and not to be cut."""
    return {
        "kept": [],
        "playing": {
            "pluck_force_n": 0.45, "pluck_from_saddle_mm": 120.0, "bend_semitones": semitones,
        },
        "rod": {"turns": 0.0, "relief_change_mm": 0.0},
        "nut": STILL,
        "saddles": [{"string": s, "change_mm": raised_mm} for s in range(1, 7)],
        "action": [
            {"string": s + 1, "after_mm": found + 0.5 * raised_mm}
            for s, found in enumerate(FOUND.tolist())
        ],
        "cuts": [{"fret": f, "string": s, "remove_um": um} for f, s, um in cuts],
    }  # fmt: skip


def both_ways(walnut: Instrument, seed: int, does: dict[str, Any]) -> tuple[TrueMargins, Verdict]:
    bench = Bench(seed, Faults(), RigSpec())
    truth = json.loads(json.dumps(bench.truth()))
    frets = np.arange(1.0, 23.0)[:, None]
    shape = SimpleNamespace(x_mm=walnut.fret_x_mm(frets, np.arange(1.0, 7.0)))
    both: Any = SimpleNamespace(instrument=walnut, strung=shape)
    verdict = judge(carried_out(seed, does, FOUND), does["playing"])
    return worst_true_margins(both, does, truth), verdict


def test_a_pluck_towards_the_frets_is_the_worse_one_high_up(walnut: Instrument) -> None:
    found, verdict = both_ways(walnut, 1, plan(0.3, 0.0, HIGH))
    assert verdict.pushed.mm < verdict.pulled.mm - 0.005
    assert found.straight == pytest.approx(verdict.pushed.mm, abs=1e-3)


@pytest.mark.parametrize("seed", [1, 5, 8])
@pytest.mark.parametrize("semitones", [0.0, 1.5])
def test_two_codes_find_one_worst_margin(walnut: Instrument, seed: int, semitones: float) -> None:
    does = plan(0.3, semitones, LOW)
    found, verdict = both_ways(walnut, seed, does)
    straight = min(verdict.pulled.mm, verdict.pushed.mm)
    assert found.straight == pytest.approx(straight, abs=1e-3)
    if semitones == 0.0:
        assert found.bends is None
        return
    assert found.bends is not None
    assert verdict.bent_pulled is not None
    assert verdict.bent_pushed is not None
    # how far a bend is pushed they work out otherwise; some strings the demo bends either way
    bent = min(verdict.bent_pulled.mm, verdict.bent_pushed.mm)
    assert found.bends < bent + 4e-3
    assert found.bends == pytest.approx(bent, abs=0.03)
