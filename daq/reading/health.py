"""Whether a rig is fit to scan: how it is today against how it was when it was calibrated."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

import numpy as np

from calibration.drift.thermal import ALUMINIUM_BED, STEEL_RAIL, bimetal_bow_mm
from daq.files.rig import RigFile
from daq.reading.age import OLD_DAYS, age_days
from daq.reading.baseline import Calibrated, OnPads
from daq.reading.celsius import APART_CELSIUS

#: After so many days a calibration is worth doing again (common practice, no source).
OLD = {
    "rail": OLD_DAYS,
    "lag": 180,
    "sensor": 365,
    "probe": 180,
    "screw": 365,
    "repeatability": 365,
}
#: What follows are this program's own limits (common practice, no source).
#: A sensor noisier by this factor has something loose, dirty or failing.
NOISIER = 2.0
#: A rate off by more than this share came from other firmware, whose lag nobody knows.
RATE_SHARE = 0.02
#: Pads that stand otherwise to one another by this much, or by 3 u, have been moved.
PADS_UM = 3.0
#: Without these no height is good to the micrometre, and why.
NEEDED = {
    "rail": "the carriage's own bow stands in every height",
    "lag": "the two ways are only laid over one another, and the backlash is not known",
}
COMMANDS = {
    "rail": "calibrate rail",
    "lag": "calibrate lag",
    "sensor": "calibrate sensor",
    "probe": "calibrate probe",
    "screw": "calibrate screw",
    "repeatability": "calibrate repeatability",
}


@dataclass(frozen=True, slots=True)
class CalibrationState:
    """One calibration as it stands today.

    state: ok, missing, or what is wrong with it: old, warm (at another temperature), changed
    (the rig file is another), damaged. why: a phrase where it is not ok.
    """

    kind: str
    made: datetime | None
    age_days: int | None
    temperature_c: float | None
    state: str
    why: str


@dataclass(frozen=True, slots=True)
class Today:
    """What was seen of the rig today.

    faults: what is wrong with the links. on_pads: None where the carriage did not go over them.
    noise_um, rate_hz, temperature_c: of the still rig; None where not seen.
    """

    faults: tuple[str, ...]
    noise_um: float | None
    rate_hz: float
    temperature_c: float | None
    on_pads: OnPads | None


@dataclass(frozen=True, slots=True)
class PadsMoved:
    """The last pad over the first, today less when calibrated; µm."""

    change_um: float
    u_change_um: float
    since: str

    @property
    def moved(self) -> bool:
        return abs(self.change_um) > max(PADS_UM, 3.0 * self.u_change_um)


@dataclass(frozen=True, slots=True)
class Fitness:
    """faults: why the rig is not fit to scan. lacks: what its heights are not good for.

    redo: what to do again, a phrase each. noise_then_um, rate_then_hz: when it was calibrated.
    pads: None where they were not compared.
    """

    faults: tuple[str, ...]
    lacks: tuple[str, ...]
    redo: tuple[str, ...]
    calibrations: tuple[CalibrationState, ...]
    noise_then_um: float | None
    rate_then_hz: float | None
    pads: PadsMoved | None

    @property
    def fit(self) -> bool:
        return not self.faults


def judge(rig: RigFile, today: Today, then: Sequence[Calibrated], now: datetime) -> Fitness:
    """The verdict. then: the newest calibration of each kind there is."""
    states = [_state(one, rig, today, now) for one in then]
    known = {one.kind for one in then}
    missing = [
        CalibrationState(kind, None, None, None, "missing", "not calibrated")
        for kind in ("rail", "lag", "sensor")
        if kind not in known
    ]
    states = sorted([*states, *missing], key=lambda one: list(COMMANDS).index(one.kind))
    baseline = _newest_on_pads(then)
    pads = _pads(today, baseline)
    faults = [*today.faults, *_changed(states), *_noisier(today, baseline), *_moved(pads)]
    redo = [*_redo(states), *_redo_rate(today, baseline)]
    if pads is not None and pads.moved and not any("rail" in phrase for phrase in redo):
        redo.append("calibrate rail, once what moved is fast again")
    lacks = [
        f"no {one.kind} calibration: {NEEDED[one.kind]}"
        for one in states
        if one.state == "missing" and one.kind in NEEDED
    ]
    return Fitness(
        tuple(faults),
        tuple(lacks),
        tuple(redo),
        tuple(states),
        None if baseline is None else _on(baseline).noise_um,
        None if baseline is None else _on(baseline).rate_hz,
        pads,
    )


def _state(one: Calibrated, rig: RigFile, today: Today, now: datetime) -> CalibrationState:
    if one.made is None:
        return CalibrationState(one.kind, None, None, None, "damaged", one.fault)
    days = age_days(one.made, now)
    state, why = "ok", ""
    other = [] if one.rig is None else changes(one.rig, rig)
    apart = _apart(one.temperature_c, today.temperature_c)
    if other:
        state, why = "changed", "; ".join(other)
    elif days > OLD[one.kind]:
        state, why = "old", f"{days} days old"
    elif apart is not None and abs(apart) > APART_CELSIUS:
        state, why = "warm", _warm_words(one.kind, apart, rig)
    return CalibrationState(one.kind, one.made, days, one.temperature_c, state, why)


def _warm_words(kind: str, apart_c: float, rig: RigFile) -> str:
    than = "warmer" if apart_c > 0 else "colder"
    words = f"the rig is {abs(apart_c):.0f} °C {than} than then"
    if kind != "rail":
        return words
    long_mm = rig.pads[-1].from_mm - rig.pads[0].to_mm
    bow_um = 1e3 * abs(bimetal_bow_mm(long_mm, STEEL_RAIL, ALUMINIUM_BED, apart_c))
    return f"{words}, which bends a 5 mm steel rail on 20 mm of aluminium by {bow_um:.0f} µm"


def _apart(then_c: float | None, now_c: float | None) -> float | None:
    return None if then_c is None or now_c is None else now_c - then_c


def changes(then: RigFile, now: RigFile) -> list[str]:
    """What a calibration rests on and the rig file now says otherwise."""
    before, after = (dict(_rests_on(rig)) for rig in (then, now))
    return [
        f"{key} was {_words(before[key])}, is {_words(after[key])}"
        for key in before
        if before[key] != after[key]
    ]


def _rests_on(rig: RigFile) -> Iterator[tuple[str, object]]:
    yield "carriage.mm_per_count", rig.carriage.mm_per_count
    yield "carriage.cross.mm_per_count", rig.cross_mm_per_count
    yield "carriage.drive", rig.carriage.drive
    yield "sensor.kind", rig.sensor.kind
    yield "sensor.mm_per_count", rig.sensor.mm_per_count
    yield "sensor.tip_radius_mm", rig.sensor.tip_radius_mm
    yield "sensor.spot_mm", rig.sensor.spot_mm
    yield "pads", tuple((pad.from_mm, pad.to_mm) for pad in rig.pads)


def _words(value: object) -> str:
    if isinstance(value, tuple):
        return ", ".join(f"{low:g} to {high:g}" for low, high in value)
    return "none" if value is None else f"{value:g}" if isinstance(value, float) else str(value)


def _newest_on_pads(then: Sequence[Calibrated]) -> Calibrated | None:
    """The newest calibration with a scan that went over the pads."""
    seen = [one for one in then if one.on_pads is not None and one.made is not None]
    return max(seen, key=lambda one: one.made.timestamp() if one.made else 0.0, default=None)


def _on(one: Calibrated) -> OnPads:
    assert one.on_pads is not None
    return one.on_pads


def _pads(today: Today, baseline: Calibrated | None) -> PadsMoved | None:
    if baseline is None or today.on_pads is None:
        return None
    now, then = today.on_pads.step, _on(baseline).step
    if now is None or then is None:
        return None
    return PadsMoved(
        1e3 * (now.step_mm - then.step_mm),
        1e3 * float(np.hypot(now.u_step_mm, then.u_step_mm)),
        baseline.kind,
    )


def _changed(states: Sequence[CalibrationState]) -> Iterator[str]:
    for one in states:
        if one.state == "changed":
            yield f"the {one.kind} calibration is of another rig: {one.why}"
        if one.state == "damaged":
            yield f"the {one.kind} calibration cannot be used: {one.why}"


def _noisier(today: Today, baseline: Calibrated | None) -> Iterator[str]:
    now = today.on_pads.noise_um if today.on_pads is not None else today.noise_um
    then = None if baseline is None else _on(baseline).noise_um
    if now is not None and then is not None and now > NOISIER * then:
        yield (
            f"noise of one reading {now:.1f} µm, {then:.1f} µm when calibrated: look for a loose "
            "tip, a dirty lens or a cable that picks something up"
        )


def _moved(pads: PadsMoved | None) -> Iterator[str]:
    if pads is not None and pads.moved:
        yield (
            f"the last pad stands {pads.change_um:+.1f} µm otherwise over the first than at the "
            f"{pads.since} calibration (u {pads.u_change_um:.1f} µm): a pad, the rail or the "
            "sensor's mount has moved; look what is loose"
        )


def _redo(states: Sequence[CalibrationState]) -> Iterator[str]:
    for one in states:
        if one.state == "missing" and one.kind not in NEEDED:
            continue
        if one.state != "ok":
            yield f"{COMMANDS[one.kind]} ({_short(one)})"


def _short(one: CalibrationState) -> str:
    return {"changed": "made with another rig file", "damaged": "damaged"}.get(one.state, one.why)


def _redo_rate(today: Today, baseline: Calibrated | None) -> Iterator[str]:
    then = None if baseline is None else _on(baseline).rate_hz
    if then is not None and abs(today.rate_hz / then - 1.0) > RATE_SHARE:
        yield f"calibrate lag ({today.rate_hz:.0f} Hz, {then:.0f} Hz when calibrated)"
