"""Decision rule of ISO 14253-1 with guard band U = 2u, numbers of CHECKS 12 (recomputed there).

Tolerance 0 to 0.100 mm, u = 0.006 mm: accept 0.012 to 0.088, not conforming for certain above
0.112. A tenth of it stands here: a cut of 50 um is within 45 to 55 um, u = 0.6 um.
"""

from __future__ import annotations

import numpy as np
import pytest

from analysis.after.verify import judge_cuts


@pytest.mark.parametrize(
    ("on_scale", "verdict"),
    [
        (0.0121, "within"),
        (0.0879, "within"),
        (0.0119, "undecided"),
        (0.0881, "undecided"),
        (0.1119, "undecided"),
        (0.1121, "over"),
        (-0.0119, "undecided"),
        (-0.0121, "under"),
    ],
)
def test_guard_band(on_scale: float, verdict: str) -> None:
    achieved = 45.0 + 100.0 * on_scale
    (cut,) = judge_cuts(np.array([[50.0]]), np.array([[achieved]]), np.array([[0.6]]))
    assert cut.verdict == verdict
