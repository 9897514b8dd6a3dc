"""What must hold between several keys of a rig file."""

from __future__ import annotations

from collections.abc import Iterator

from daq.files.faults import Fault, describe
from daq.files.known import Known
from daq.files.rig_bandwidth import bandwidth_rules
from daq.files.rig_links import link_rules

SHORTEST_TRAVEL_MM = 50.0
WIDEST_SPACING_MM = 0.25
NARROWEST_PAD_MM = 4.0


def rig_rules(known: Known) -> Iterator[Fault]:
    """Every fault between keys that can be told from what the file says."""
    yield from link_rules(known)
    yield from bandwidth_rules(known)
    yield from _travel(known)
    yield from _sensor_kind(known)
    yield from _sample_spacing(known)
    yield from _pads(known)


def _travel(known: Known) -> Iterator[Fault]:
    travel = known.pair("carriage", "travel_mm")
    if travel is not None and travel[1] - travel[0] < SHORTEST_TRAVEL_MM:
        allowed = f"[from, to] with to at least {SHORTEST_TRAVEL_MM:g} mm beyond from"
        yield Fault(("carriage", "travel_mm"), f"[{travel[0]:g}, {travel[1]:g}]", allowed)


def _sensor_kind(known: Known) -> Iterator[Fault]:
    sizes = {
        "contact": ("tip_radius_mm", "the radius of the ball in mm"),
        "optical": ("spot_mm", "the diameter of the spot in mm"),
    }
    kind, group = known.text("sensor", "kind"), known.get("sensor")
    if kind not in sizes or not isinstance(group, dict):
        return
    for owner, (key, meaning) in sizes.items():
        given = group.get(key)
        if owner == kind and given is None:
            yield Fault(("sensor", key), "nothing", f"{meaning}, as kind is {kind}")
        if owner != kind and given is not None:
            yield Fault(("sensor", key), describe(given), f"this key only where kind is {owner}")


def _sample_spacing(known: Known) -> Iterator[Fault]:
    speed = known.number("carriage", "speed_mm_s")
    rate = known.number("sensor", "rate_hz")
    if speed is None or rate is None or speed / rate <= WIDEST_SPACING_MM:
        return
    yield Fault(
        ("carriage", "speed_mm_s"),
        f"{speed:g} mm/s at {rate:g} Hz, a sample every {speed / rate:.3g} mm",
        f"a sample at least every {WIDEST_SPACING_MM:g} mm",
        f"lower carriage.speed_mm_s to {rate * WIDEST_SPACING_MM:g} "
        f"or raise sensor.rate_hz to {_ceil(speed / WIDEST_SPACING_MM)}",
    )


def _ceil(number: float) -> int:
    return -int(-number // 1)


def _pads(known: Known) -> Iterator[Fault]:
    travel = known.pair("carriage", "travel_mm")
    before: tuple[int, float] | None = None
    for number in known.steps("pads"):
        start = known.number("pads", number, "from_mm")
        end = known.number("pads", number, "to_mm")
        if start is None or end is None:
            continue
        yield from _pad(int(number), start, end, travel)
        if before is not None and start < before[1]:
            yield Fault(
                ("pads", number, "from_mm"),
                f"{start:g} mm, before pad {before[0]} ends at {before[1]:g} mm",
                "pads in order along the rail, none over another",
            )
        before = (int(number), end)


def _pad(
    number: int, start: float, end: float, travel: tuple[float, float] | None
) -> Iterator[Fault]:
    if end - start < NARROWEST_PAD_MM:
        yield Fault(
            ("pads", number),
            f"{start:g} to {end:g} mm",
            f"from_mm to to_mm at least {NARROWEST_PAD_MM:g} mm wide",
        )
    if travel is None or travel[0] >= travel[1]:
        return
    for key, value in (("from_mm", start), ("to_mm", end)):
        if not travel[0] <= value <= travel[1]:
            allowed = f"inside carriage.travel_mm, {travel[0]:g} to {travel[1]:g} mm"
            yield Fault(("pads", number, key), f"{value:g} mm", allowed)
