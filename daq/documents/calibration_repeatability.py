"""How well the rig repeats itself, as the command answers it."""

from __future__ import annotations

from math import isfinite
from typing import Any

from analysis.repeats.repeatability import Scatter
from calibration.uncertainty.components import Spread
from calibration.uncertainty.gauge import GaugeStudy
from daq.documents.budget import budget_document
from daq.documents.numbers import rounded
from daq.steps.calibrate_repeatability import RepeatabilityFound


def repeatability_answer(found: RepeatabilityFound) -> dict[str, Any]:
    """Scatter of tops and relief with 95 % intervals, the gauge study, the budget.

    The single frets are in the file named.
    """
    study = found.study
    return {
        "kind": "repeatability",
        "strings": found.strings.tolist(),
        "clampings": study.tops.anova.groups,
        "scans_each": study.tops.anova.per_group,
        "tops_compared": int(study.seen.sum()),
        "tops": _scatter(study.tops),
        "relief": None if study.relief is None else _scatter(study.relief),
        "gauge": _gauge(study.gauge),
        "budget": budget_document(found.budgets),
        "caution": found.caution,
        "file": str(found.path),
        "scans": [[str(path) for path in scans] for scans in found.scans],
    }


def _scatter(scatter: Scatter) -> dict[str, Any]:
    return {
        "s_r_um": _spread(scatter.s_r, 1e3),
        "s_l_um": _spread(scatter.s_l, 1e3),
        "s_R_um": _spread(scatter.s_big_r, 1e3),
        "clamping_p": rounded(scatter.anova.p, 4),
        "between_below_zero": scatter.anova.below_zero,
        "stated_um": rounded(1e3 * scatter.stated_mm, 3),
        "random_um": rounded(1e3 * scatter.random_mm, 3),
        "ratio": _spread(scatter.ratio, 1.0),
        "stated_holds": scatter.holds,
    }


def _spread(spread: Spread, per: float) -> dict[str, float | None]:
    return {
        "s": rounded(per * spread.s, 3),
        "low": rounded(per * spread.low, 3),
        "high": rounded(per * spread.high, 3),
    }


def _gauge(gauge: GaugeStudy) -> dict[str, Any]:
    return {
        "ev_um": rounded(1e3 * gauge.ev, 3),
        "av_um": rounded(1e3 * gauge.av, 3),
        "grr_um": rounded(1e3 * gauge.grr, 3),
        "pv_um": rounded(1e3 * gauge.pv, 1),
        "grr_percent": rounded(gauge.grr_percent, 3),
        "categories": int(gauge.categories) if isfinite(gauge.categories) else None,
        "interaction_p": rounded(gauge.interaction_p, 4),
        "pooled": gauge.pooled,
    }
