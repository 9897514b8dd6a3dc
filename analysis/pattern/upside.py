"""A sensor that counts down where the surface goes up: crowns stand up, whatever else is wrong."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from analysis.faults import NeckError
from analysis.instrument import Instrument
from analysis.pattern.register import Look, look_at, registered
from analysis.pattern.registration import Registration
from calibration.profile import Profile


def registered_upright(
    look: Look, profiles: Sequence[Profile], instrument: Instrument, u_screw_scale: float | None
) -> Registration:
    """As `registered`; where nothing fits, the heights are tried the other way up.

    look: of the profiles. Raises NeckError as `registered`, or that the crowns point down.
    """
    try:
        return registered(look, instrument, u_screw_scale)
    except NeckError as error:
        if _fits(profiles, instrument, u_screw_scale):
            raise NeckError(
                "the crowns point down: the sensor counts down where the surface goes up; change "
                "the sign of sensor.mm_per_count in the rig file, and scan again"
            ) from error
        raise


def _fits(profiles: Sequence[Profile], instrument: Instrument, u_screw_scale: float | None) -> bool:
    """Whether the scan is of the instrument once it is upside down."""
    turned = [replace(profile, z_mm=-profile.z_mm) for profile in profiles]
    try:
        registered(look_at(turned), instrument, u_screw_scale)
    except NeckError:
        return False
    return True
