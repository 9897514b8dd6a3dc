"""A straight line with errors in both variables: Pearson's data with York's weights.

Data: K. Pearson, Phil. Mag. 2 (1901) 559; weights: D. York, Can. J. Phys. 44 (1966) 1079. Exact
answers as listed by M. Lybanon, Am. J. Phys. 52 (1984) 22, and B. C. Reed, Am. J. Phys. 60 (1992)
59, read in the documentation of a public fitting library: Williamson 5.47991022403,
-0.48053340745; Reed 5.47991022723, -0.48053340810. Standard errors 0.2949707, 0.0579850 of York
et al. (2004), read in a public implementation's tests.
"""

from __future__ import annotations

import numpy as np
import pytest

from analysis.after.line import Beliefs, Cuts, lines_through

X = np.array([0.0, 0.9, 1.8, 2.6, 3.3, 4.4, 5.2, 6.1, 6.5, 7.4])
Y = np.array([5.9, 5.4, 4.4, 4.6, 3.5, 3.7, 2.8, 2.8, 2.4, 1.5])
WEIGHT_X = np.array([1000, 1000, 500, 800, 200, 80, 60, 20, 1.8, 1.0])
WEIGHT_Y = np.array([1, 1.8, 4, 8, 20, 20, 70, 70, 100, 500.0])
NOTHING = Beliefs(np.zeros(2), np.full((1, 2), np.inf), np.zeros((1, 2)))


def test_pearson_s_data_with_york_s_weights() -> None:
    cuts = Cuts(X, Y, 1.0 / WEIGHT_X, 1.0 / WEIGHT_Y, np.zeros(10, dtype=int))
    lines = lines_through(cuts, 0.0, NOTHING, np.array([5.0, -0.5]))
    assert lines.mean[0] == pytest.approx([5.4799102, -0.4805334], abs=1e-7)
    assert np.sqrt(np.diag(lines.covariance[0])) == pytest.approx([0.294971, 0.057985], abs=1e-6)


def test_as_least_squares_where_x_is_exact() -> None:
    """Second route: numpy's weighted polynomial."""
    cuts = Cuts(X, Y, np.zeros(10), 1.0 / WEIGHT_Y, np.zeros(10, dtype=int))
    lines = lines_through(cuts, 0.0, NOTHING, np.zeros(2))
    gain, offset = np.polyfit(X, Y, 1, w=np.sqrt(WEIGHT_Y))
    assert lines.mean[0] == pytest.approx([offset, gain], abs=1e-9)
