"""Decision rule of ISO 14253-1 with guard band U = 2u, numbers of CHECKS 12 (recomputed there).

Tolerance 0 to 0.100 mm, u = 0.006 mm: accept 0.012 to 0.088, not conforming for certain above
0.112. Sixty on a thousand of it stand here: 50 um are within 47 to 53 um, u = 0.36 um.
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
    achieved = 47.0 + 60.0 * on_scale
    (cut,) = judge_cuts(np.array([[50.0]]), np.array([[achieved]]), np.array([[0.36]]))
    assert cut.verdict == verdict
