"""The rig file and the instrument file of the simulated job, as a person would write them."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from sim.instrument import Instrument
from sim.rigspec import RigSpec
from sim.speakers import SPEAKERS


def write_files(
    folder: Path,
    ports: Mapping[str, str],
    speaks: Mapping[str, str],
    by_hand: bool,
    spec: RigSpec,
    made: Instrument,
) -> tuple[Path, Path]:
    """rig.yaml and instrument.yaml in the folder, which is made where it is not there.

    ports, speaks: by link, `rig` alone or `carriage` and `sensor`: its port and its protocol.
    """
    folder.mkdir(parents=True, exist_ok=True)
    rig, instrument = folder / "rig.yaml", folder / "instrument.yaml"
    rig.write_text(rig_yaml(ports, speaks, by_hand, spec), encoding="utf-8")
    instrument.write_text(instrument_yaml(made), encoding="utf-8")
    return rig, instrument


def rig_yaml(
    ports: Mapping[str, str], speaks: Mapping[str, str], by_hand: bool, spec: RigSpec
) -> str:
    links = "".join(
        f"  {name}: {{port: {port}, baud: 460800, {_protocol(speaks[name], spec)}}}\n"
        for name, port in ports.items()
    )
    pads = "".join(f"  - {{from_mm: {low:g}, to_mm: {high:g}}}\n" for low, high in spec.pads_mm)
    low_mm, high_mm = spec.travel_mm
    cross = "" if by_hand else f"  cross: {{mm_per_count: {spec.mm_per_y_count:g}}}\n"
    return f"""\
# The simulated rig. The port is a pseudo-terminal and lasts as long as the simulator runs.
name: simulated-rail
links:
{links}carriage:
  link: {next(iter(ports))}
  drive: {"hand" if by_hand else "motor"}
  mm_per_count: {spec.mm_per_x_count:g}
  travel_mm: [{low_mm:g}, {high_mm:g}]
  speed_mm_s: {spec.speed_mm_s:g}
{cross}sensor:
  link: {list(ports)[-1]}
{_kind(spec)}  mm_per_count: {spec.mm_per_raw_count:g}
  rate_hz: {spec.rate_hz}
{_size(spec)}pads:                         # ground steel at either end of the rail
{pads}"""


def _protocol(name: str, spec: RigSpec) -> str:
    settings = SPEAKERS[name].settings(spec)
    protocol = name.partition(":")[0]
    return f"protocol: {protocol}, {settings}" if settings else f"protocol: {protocol}"


def _kind(spec: RigSpec) -> str:
    if spec.is_optical:
        return "  kind: optical               # a spot of light\n"
    return "  kind: contact               # a ball on a plunger\n"


def _size(spec: RigSpec) -> str:
    return (
        f"  spot_mm: {spec.spot_mm}\n"
        if spec.is_optical
        else (f"  tip_radius_mm: {spec.tip_radius_mm}\n")
    )


def instrument_yaml(made: Instrument) -> str:
    strings = "".join(_string_line(made, index) for index in range(made.strings))
    radius, width = made.board_radius_mm, made.board_width_mm
    return f"""\
# Measured by hand, strings on and at pitch.
name: {made.name}
scale_mm: {made.scale_mm:g}
frets: {made.frets}
body_joint_fret: {made.body_joint_fret}
board: {{radius_mm: [{radius[0]:g}, {radius[1]:g}], width_mm: [{width[0]:g}, {width[1]:g}]}}
nut_at_mm: {made.nut_at_mm:g}                 # on the rail, by eye
strings:                      # string 1 first
{strings}spacing_mm: [{made.spacing_mm[0]:g}, {made.spacing_mm[1]:g}]       # at nut and bridge
action_mm: {{1: {made.action_mm[0]:g}, {made.strings}: {made.action_mm[1]:g}}}   # over fret 12
nut_gap_mm: {{1: {made.nut_gap_mm[0]:g}, {made.strings}: {made.nut_gap_mm[1]:g}}}  # fret 1, open
"""


def _string_line(made: Instrument, index: int) -> str:
    wound = "" if index < made.plain_strings else ", wound: true"
    return f"  - {{note: {made.notes[index]}, gauge_in: {made.gauges_in[index]:.3f}{wound}}}\n"
