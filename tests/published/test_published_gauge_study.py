"""AIAG, Measurement Systems Analysis (3rd and 4th edition), worked example of a gauge study:
10 parts, 3 appraisers, 3 trials.

Tolerances: sums of squares 5e-5, standard deviations 5e-6 (total variation 5e-4), percentages
0.05: half a unit of the last printed digit.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from calibration.uncertainty.gauge import GaugeStudy, gauge_study

DATA = Path(__file__).parent / "data" / "aiag_msa_gauge_rr.csv"


def readings() -> np.ndarray:
    return np.genfromtxt(DATA, delimiter=",", skip_header=2, usecols=3).reshape(10, 3, 3)


@pytest.fixture(scope="module")
def study() -> GaugeStudy:
    return gauge_study(readings())


def test_table_of_variances(study: GaugeStudy) -> None:
    lines = {
        "appraiser": (2, 3.1673, 1.58363),
        "part": (9, 88.3619, 9.81799),
        "interaction": (18, 0.3590, 0.01994),
        "equipment": (60, 2.7589, 0.04598),
    }
    for name, (dof, ss, ms) in lines.items():
        line = getattr(study, name)
        assert line.dof == dof
        assert line.ss == pytest.approx(ss, abs=5e-5)
        assert line.ms == pytest.approx(ms, abs=5e-6)
    assert study.interaction_p == pytest.approx(0.974, abs=5e-4)
    assert study.pooled


def test_components(study: GaugeStudy) -> None:
    assert study.ev == pytest.approx(0.199933, abs=5e-6)
    assert study.av == pytest.approx(0.226838, abs=5e-6)
    assert study.grr == pytest.approx(0.302373, abs=5e-6)
    assert study.pv == pytest.approx(1.042327, abs=5e-6)
    assert study.tv == pytest.approx(1.085, abs=5e-4)
    assert study.grr_percent == pytest.approx(27.86, abs=0.05)
    assert int(study.categories) == 4
    assert study.categories == pytest.approx(4.8605, abs=5e-5)


def test_without_pooling(monkeypatch: pytest.MonkeyPatch) -> None:
    """The interaction's variance comes out negative, and 0 takes its place (recomputed)."""
    monkeypatch.setattr("calibration.uncertainty.gauge.POOL_ABOVE", 1.0)
    study = gauge_study(readings())
    assert not study.pooled
    assert study.ev == pytest.approx(0.214435, abs=5e-7)
    assert study.av == pytest.approx(0.228304, abs=5e-7)
    assert study.pv == pytest.approx(1.043395, abs=5e-7)
