"""What is wrong with the rig, each fault a number that can be set to nothing."""

from __future__ import annotations

from dataclasses import asdict, dataclass


@dataclass(frozen=True, slots=True)
class Faults:
    """Defaults are a fair homemade rig. 0 switches a fault off, `_one_in` ones too.

    rail_bow_mm: depth of the rail's bow over its travel.
    rail_wave_um: amplitude of the rail's waves together.
    rail_roll_urad: the rail also rolls: a reading at y is y times this higher, times a smooth
        function of x between -1 and 1.
    straightedge_um: rms of the straightedge's own error about its best line, its bow included.
    string_uneven_um: rms of a string's thickness along it.
    gauge_um: rms of how a gauge block seats.
    clamp_um: rms of the bow that clamping puts into a neck, another each time.
    drift_um_per_min: the sensor's steady drift; it wanders slowly about it in proportion.
    drift_wander: how much of that wander, 1 the usual.
    temperature_um_per_c: what a degree adds to a reading.
    temperature_swing_c: amplitude of the room's own slow swing.
    thermometer: 1 where the sample frames carry a temperature.
    sensor_gain_percent: how much too much of a height the sensor reads.
    sensor_bend_um: what a reading is too high in the middle of the range, a parabola.
    sensor_hysteresis_um: how much higher a contact sensor reads falling than rising.
    plunger_fall_mm_s: the tip falls no faster than this and skips; 0 is as fast as it must.
    tip_radius_off_mm: how much larger the tip is than the rig file says.
    noise_um: rms of the sensor.
    lag_ms: a sample shows the surface where the carriage was this long before.
    backlash_mm: play between counts and carriage, at x = 0.
    backlash_slope_um_per_m: how much more of it there is further along.
    screw_percent: how much further the carriage goes than its counts say.
    screw_periodic_um: amplitude of the screw's error over one turn.
    screw_pitch_mm: travel of one turn.
    clock_ppm: how much faster the sensor's clock is than the carriage's, on a rig of two links.
    arrival_jitter_ms: bytes reach the host up to this much late, in the rig's own time.
    bad_frame_one_in: samples to one lost or damaged, half and half.
    bad_reply_one_in: answers and events to one lost.
    spike_one_in: samples to one spike of 0.05 to 0.5 mm up or down.
    """

    rail_bow_mm: float = 0.07
    rail_wave_um: float = 9.0
    rail_roll_urad: float = 0.0
    straightedge_um: float = 0.3
    string_uneven_um: float = 0.3
    gauge_um: float = 0.05
    clamp_um: float = 0.0
    drift_um_per_min: float = 6.0
    drift_wander: float = 1.0
    temperature_um_per_c: float = 0.0
    temperature_swing_c: float = 0.0
    thermometer: int = 0
    sensor_gain_percent: float = 0.0
    sensor_bend_um: float = 0.0
    sensor_hysteresis_um: float = 0.0
    plunger_fall_mm_s: float = 0.0
    tip_radius_off_mm: float = 0.0
    noise_um: float = 1.5
    lag_ms: float = 3.5
    backlash_mm: float = 0.045
    backlash_slope_um_per_m: float = 0.0
    screw_percent: float = 0.04
    screw_periodic_um: float = 0.0
    screw_pitch_mm: float = 2.0
    clock_ppm: float = 40.0
    arrival_jitter_ms: float = 0.0
    bad_frame_one_in: int = 500
    bad_reply_one_in: int = 0
    spike_one_in: int = 2500

    @staticmethod
    def none() -> Faults:
        """A perfect rig; only its counts are still whole, and its screw has a pitch."""
        numbers = {name: type(value)(0) for name, value in asdict(Faults()).items()}
        return Faults(**{**numbers, "screw_pitch_mm": Faults().screw_pitch_mm})
