"""What warmth does to lengths and to rails."""

from __future__ import annotations

from dataclasses import dataclass

#: Linear expansion, per kelvin. Steel: JCGM 100 H.1 (gauge blocks). Aluminium: from memory.
STEEL_PER_K = 11.5e-6
ALUMINIUM_PER_K = 23e-6


@dataclass(frozen=True, slots=True)
class Layer:
    """One of two layers held together: its thickness, expansion and Young's modulus."""

    thick_mm: float
    per_k: float
    modulus_gpa: float


#: A rail as homemade rigs have it (common practice, no source; moduli from memory).
STEEL_RAIL = Layer(5.0, STEEL_PER_K, 200.0)
ALUMINIUM_BED = Layer(20.0, ALUMINIUM_PER_K, 70.0)


def expansion_mm(length_mm: float, per_k: float, rise_k: float) -> float:
    """How much longer a bar gets, at the same temperature all through."""
    return length_mm * per_k * rise_k


def gradient_bow_mm(length_mm: float, thick_mm: float, per_k: float, across_k: float) -> float:
    """Sagitta of a bar whose one face is warmer by across_k: per_k across_k L^2 / (8 thick)."""
    return per_k * across_k * length_mm**2 / (8.0 * thick_mm)


def bimetal_bow_mm(length_mm: float, one: Layer, other: Layer, rise_k: float) -> float:
    """Sagitta of two layers fast to one another, after a rise in temperature.

    Curvature by S. Timoshenko, Analysis of bi-metal thermostats, J. Opt. Soc. Am. 11 (1925) 233:
    6 (a2 - a1) rise (1 + m)^2 / (h (3 (1 + m)^2 + (1 + m n)(m^2 + 1 / (m n)))), with m = t1 / t2,
    n = E1 / E2 and h the whole thickness. Positive where the other layer grows more.
    """
    m, n = one.thick_mm / other.thick_mm, one.modulus_gpa / other.modulus_gpa
    whole = one.thick_mm + other.thick_mm
    stiff = 3.0 * (1.0 + m) ** 2 + (1.0 + m * n) * (m**2 + 1.0 / (m * n))
    curvature = 6.0 * (other.per_k - one.per_k) * rise_k * (1.0 + m) ** 2 / (whole * stiff)
    return curvature * length_mm**2 / 8.0
