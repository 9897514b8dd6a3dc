"""The lead screw as it is kept, and back."""

from __future__ import annotations

import numpy as np

from calibration.screw.fit import ScrewFit
from calibration.screw.screw import Screw
from daq.reading.found import Document


def screw_document(found: ScrewFit, rig: str, made: str, about: Document) -> dict[str, object]:
    """Scale and periodic error as they are kept."""
    screw = found.screw
    return {
        "kind": "screw",
        "rig": rig,
        "made": made,
        **about,
        "scale": screw.scale,
        "u_scale": screw.u_scale,
        "middle_mm": screw.middle_mm,
        "pitch_mm": screw.pitch_mm,
        "sine_um": 1e3 * screw.sine_mm,
        "cosine_um": 1e3 * screw.cosine_mm,
        "u_periodic_um": 1e3 * screw.u_periodic_mm,
        "most_um": found.most_um,
        "misplaced_um": found.misplaced_um,
        "scatter_um": found.scatter_um,
        "unseen": list(found.unseen),
    }


def screw_of(document: Document) -> Screw:
    """What a document describes. Raises KeyError or ValueError where it describes none."""
    keys = ("scale", "u_scale", "middle_mm", "pitch_mm", "sine_um", "cosine_um", "u_periodic_um")
    values = [float(document[key]) for key in keys]
    if not np.isfinite(values).all():
        raise ValueError("a number is missing")
    scale, u_scale, middle, pitch, sine, cosine, u_periodic = values
    if pitch <= 0.0 or not 0.9 < scale < 1.1:
        raise ValueError(f"pitch_mm {pitch:g} or scale {scale:g} is no screw's")
    return Screw(scale, u_scale, middle, pitch, 1e-3 * sine, 1e-3 * cosine, 1e-3 * u_periodic)
