"""What `rig check` found, in words."""

from __future__ import annotations

from rich.console import Console

from daq.acquire.health.check import RigHealth
from daq.files.rig import RigFile
from daq.reading.health import CalibrationState, Fitness
from daq.text.console import bullets, say
from daq.text.words import counted


def print_health(console: Console, rig: RigFile, health: RigHealth, fitness: Fitness) -> None:
    """One line that says whether the rig is fit to scan, then what was seen."""
    first, *others = health_sentences(rig, health, fitness)
    say(console, first, "bold" if fitness.fit else "bold red")
    bullets(console, others)


def health_sentences(rig: RigFile, health: RigHealth, fitness: Fitness) -> list[str]:
    """The verdict first, then what was seen."""
    seen = [*_lines(health), *_pace(rig, health), *_then(rig, fitness)]
    return [verdict(rig.name, fitness), *seen]


def verdict(name: str, fitness: Fitness) -> str:
    """Whether it is fit to scan and what to redo, in one sentence."""
    if not fitness.fit:
        line = f"{name} is not fit to scan: {'; '.join(fitness.faults)}"
    elif fitness.lacks:
        line = f"{name} is fit to scan, but not to the micrometre: {'; '.join(fitness.lacks)}"
    else:
        line = f"{name} is fit to scan"
    return f"{line}; redo: {', '.join(fitness.redo)}." if fitness.redo else f"{line}."


def _lines(health: RigHealth) -> list[str]:
    lines = [
        f"{health.hello.device_id}, up to {health.hello.max_rate_hz:g} Hz",
        f"{health.rate_hz:.1f} Hz by the rig's own clock, {health.asked_rate_hz:g} asked for",
        f"{health.samples} samples, {health.lost} lost in {health.gaps} gaps, "
        f"{health.bad_frames} damaged frames",
        f"carriage at {health.x_mm:.2f} mm",
    ]
    if health.noise_um is None:
        lines.append("no valid reading where the carriage stands: noise not known")
    else:
        lines.append(f"noise of one reading {health.noise_um:.2f} µm")
    if health.pad_every_s is not None:
        lines.append(
            f"come back to a pad every {health.pad_every_s:.0f} s or sooner: past that the sensor "
            "drifts by more than a pad reading can tell"
        )
    if health.temperature_c is not None:
        lines.append(f"{health.temperature_c:.1f} °C")
    return [*lines, *_clocks(health)]


def _clocks(health: RigHealth) -> list[str]:
    """Each link of a rig that has two, and how well their clocks lie on one another."""
    if health.clocks is None:
        return []
    late = zip(health.links, health.clocks.delay_ms, strict=True)
    return [
        *(
            f"link {link.name} ({link.port}): {link.hello.device_id}, {link.rate_hz:.1f} Hz, "
            f"{link.lost} lost in {link.gaps} gaps, {link.bad_frames} damaged frames, samples "
            f"{delay_ms:.1f} ms late"
            for link, delay_ms in late
        ),
        f"the two clocks are known to {health.clocks.travel_jitter_um:.2f} µm of carriage travel "
        "after this look; a scan looks longer and knows them better",
    ]


def _pace(rig: RigFile, health: RigHealth) -> list[str]:
    """A pass that takes longer than the sensor stays still between two pads."""
    if health.pad_every_s is None:
        return []
    way_mm = rig.pads[-1].from_mm - rig.pads[0].to_mm
    takes_s = way_mm / rig.carriage.speed_mm_s
    if takes_s <= health.pad_every_s:
        return [f"a pass at {rig.carriage.speed_mm_s:g} mm/s takes {takes_s:.0f} s from pad to pad"]
    return [
        f"a pass at {rig.carriage.speed_mm_s:g} mm/s takes {takes_s:.0f} s from pad to pad, which "
        f"is longer: let the rig warm up, or go at {way_mm / health.pad_every_s:.0f} mm/s; what "
        "drift is left between the pads then stands in the uncertainties"
    ]


def _then(rig: RigFile, fitness: Fitness) -> list[str]:
    lines = [_calibration(one) for one in fitness.calibrations]
    if fitness.noise_then_um is not None and fitness.rate_then_hz is not None:
        lines.append(
            f"when calibrated: noise of one reading {fitness.noise_then_um:.2f} µm, "
            f"{fitness.rate_then_hz:.1f} Hz"
        )
    if fitness.pads is not None:
        lines.append(
            f"the last pad stands over the first as at the {fitness.pads.since} calibration, but "
            f"for {fitness.pads.change_um:+.1f} µm (u {fitness.pads.u_change_um:.1f} µm)"
        )
    elif fitness.noise_then_um is not None and rig.carriage.drive == "motor":
        lines.append("the pads were not compared: --yes lets the carriage go over them and back")
    return lines


def _calibration(one: CalibrationState) -> str:
    if one.made is None:
        return f"{one.kind}: {one.why}"
    age = "today" if one.age_days == 0 else f"{counted(one.age_days or 0, 'day')} ago"
    warm = "" if one.temperature_c is None else f" at {one.temperature_c:.1f} °C"
    return f"{one.kind}: calibrated {age}{warm}{f'; {one.why}' if one.why else ''}"
