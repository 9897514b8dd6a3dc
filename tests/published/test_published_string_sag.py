"""Weight sag of a taut string: the flat limit of the catenary (Leibniz, Huygens, Johann Bernoulli,
1691; from memory), and w l^2 / (8 T) at the middle (any statics textbook).
"""

from __future__ import annotations

import numpy as np
import pytest

from calibration.rail.strings import TautString

#: E4 of CHECKS 8.1: 0.254 mm steel over 650 mm
E4 = TautString(1, 0.0, 650.0, 3.97765371e-4, 73.0399890)


def test_middle() -> None:
    by_hand_um = 1e6 * 3.97765371e-4 * 9.80665 * 0.65**2 / (8.0 * 73.0399890)
    assert by_hand_um == pytest.approx(2.8205, abs=5e-4)
    assert -1e3 * E4.sag_mm(np.array([325.0]))[0] == pytest.approx(by_hand_um, rel=1e-12)


def test_tension_and_mass_fall_out_at_pitch() -> None:
    """T = mass (2 l f)^2, so the middle sags by g / (32 f^2), whatever the string."""
    by_pitch_um = 1e6 * 9.80665 / (32.0 * 329.627557**2)
    assert -1e3 * E4.sag_mm(np.array([325.0]))[0] == pytest.approx(by_pitch_um, rel=1e-7)


@pytest.mark.parametrize("slack", [1.0, 1e-3])
def test_catenary(slack: float) -> None:
    """z = c cosh((s - l/2) / c) with c = T / w, within (w l / T)^2 of it."""
    string = TautString(1, 0.0, 650.0, 3.97765371e-4, slack * 73.0399890)
    x = np.linspace(0.0, 650.0, 27)
    c = string.tension_n / (string.mass_kg_per_m * 9.80665)
    half = 0.325
    # c (cosh a - cosh b) = 2 c sinh((a + b) / 2) sinh((a - b) / 2), without cancellation
    s = 1e-3 * x - half
    exact = 1e3 * 2.0 * c * np.sinh((s + half) / (2.0 * c)) * np.sinh((s - half) / (2.0 * c))
    np.testing.assert_allclose(string.sag_mm(x), exact, rtol=(0.65 / c) ** 2 + 1e-12)
