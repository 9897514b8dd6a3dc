"""The simulated rig, as its rig file describes it, and the limits its firmware keeps."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class RigSpec:
    """tip_radius_mm is a contact sensor's, spot_mm an optical one's; 0 makes it contact."""

    mm_per_x_count: float = 0.005
    mm_per_y_count: float = 0.01
    mm_per_raw_count: float = 0.001
    travel_mm: tuple[float, float] = (0.0, 640.0)
    cross_mm: tuple[float, float] = (-30.0, 30.0)
    pads_mm: tuple[tuple[float, float], ...] = ((4.0, 16.0), (600.0, 614.0))
    pad_heights_mm: tuple[float, ...] = (2.0, 2.15)
    speed_mm_s: float = 25.0
    fastest_mm_s: float = 100.0
    acceleration_mm_s2: float = 300.0
    rate_hz: int = 400
    highest_rate_hz: int = 2000
    tip_radius_mm: float = 1.0
    spot_mm: float = 0.0
    sensor_range_mm: tuple[float, float] = (-6.0, 8.0)

    @staticmethod
    def optical() -> RigSpec:
        """Light from above. It follows taut strings, so its far pad bridges them: a pad under
        the strings could not be seen on those lanes."""
        return RigSpec(spot_mm=0.03, pad_heights_mm=(2.0, 7.6), sensor_range_mm=(-6.0, 14.0))

    @property
    def is_optical(self) -> bool:
        return self.spot_mm > 0.0
