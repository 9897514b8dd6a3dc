"""What strings are made of."""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType

#: A steel core's share of a wound string's diameter, and the thinnest and thickest there are, mm:
#: a thick string has more layers of winding, not a thicker core (values from memory).
STEEL_CORE_SHARE = 0.4
STEEL_CORES_MM = (0.30, 0.65)
#: Floss under metal wire fills more of a string (value from memory).
FLOSS_CORE_SHARE = 0.6
#: A steel-cored wound string weighs this much of a solid steel one of its diameter: core 0.4 of
#: the diameter, the rest round wire of about 8600 kg/m3 filling pi/4 of its ring. Own estimate.
WOUND_MASS_FACTOR = 0.88
STEEL_KG_PER_M3 = 7850.0


@dataclass(frozen=True, slots=True)
class Material:
    """Density, stiffness (Young's modulus) and strength of a string's material.

    strength_pa: tensile strength of wire of 1 mm; it goes with the diameter to the power
    -thinner_is_stronger. wound_kg_per_m3: mass of a wound string with this core over the volume
    of a solid one. core_share: of a wound string's diameter; cores_mm: thinnest, thickest.
    """

    density_kg_per_m3: float
    young_pa: float
    strength_pa: float
    thinner_is_stronger: float
    wound_kg_per_m3: float
    core_share: float
    cores_mm: tuple[float, float]

    def strength_at_pa(self, diameter_mm: float) -> float:
        """Tensile strength of wire of a diameter."""
        return float(self.strength_pa * diameter_mm**-self.thinner_is_stronger)


def _soft(density_kg_per_m3: float, young_pa: float, strength_pa: float) -> Material:
    """Plain, or floss of the same under metal wire: sets on the market weigh 4500 to 5800 kg/m3
    of their outside (values from memory); core and wire as for steel make 4900."""
    # a floss core is made to the string, so nothing bounds it
    return Material(
        density_kg_per_m3, young_pa, strength_pa, 0.0, 4900.0, FLOSS_CORE_SHARE, (0.0, 10.0)
    )


#: Handbook values, from memory. Steel: music wire, strength by the law of ASTM A228 wire,
#: 2211 MPa d^-0.145 with d in mm; the soft ones' stiffness is that of a string at pitch.
MATERIALS = MappingProxyType(
    {
        "steel": Material(
            STEEL_KG_PER_M3,
            200e9,
            2211e6,
            0.145,
            WOUND_MASS_FACTOR * STEEL_KG_PER_M3,
            STEEL_CORE_SHARE,
            STEEL_CORES_MM,
        ),
        "nylon": _soft(1140.0, 5e9, 500e6),
        "fluorocarbon": _soft(1780.0, 5e9, 600e6),
        "gut": _soft(1300.0, 5e9, 320e6),
    }
)
