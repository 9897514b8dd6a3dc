"""The command line of the simulated rig, checked before anything is made."""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from pathlib import Path
from typing import Any, Literal

from sim.chip import LIBRARY, Firmware
from sim.faults import Faults
from sim.rigspec import RigSpec
from sim.speakers import SPEAKERS, speakers_of

Drive = Literal["motor", "hand"]
PARTS = {1: ("rig",), 2: ("carriage", "sensor")}


@dataclass(frozen=True, slots=True)
class Options:
    """What was asked for.

    pace: rig seconds to one second of the host; None is as fast as the bytes are taken.
    speaks: by the part of the rig, `rig` alone or `carriage` and `sensor`: its protocol.
    link_folder: where names of the ports are kept that outlast a pulled cable.
    firmware: what runs on a simulated chip in the controller's place; None: the controller is made
        of software.
    """

    seed: int
    faults: Faults
    spec: RigSpec
    pace: float | None
    links: int
    drive: Drive
    speaks: Mapping[str, str]
    link_folder: Path | None
    firmware: Firmware | None


def options(words: list[str] | None = None) -> Options:
    """From the command line, or from these words. Ends the program where they are wrong."""
    parser = _parser()
    asked = parser.parse_args(words)
    faults = Faults.none() if asked.faults == "none" else Faults()
    spec = RigSpec.optical() if asked.sensor == "optical" else RigSpec()
    for each in filter(None, asked.set.split(",")):
        try:
            faults, spec = _set(each, faults, spec)
        except ValueError as wrong:
            parser.error(str(wrong))
    if asked.links == 1 and (asked.carriage_protocol or asked.sensor_protocol):
        parser.error("a link's own protocol means nothing without --links 2; use --protocol")
    speaks = {part: _protocol(parser, asked, part) for part in PARTS[asked.links]}
    real_time = any(SPEAKERS[name].real_time for name in speaks.values())
    pace = asked.pace or (1.0 if asked.realtime or asked.links == 2 or real_time else None)
    if faults.arrival_jitter_ms and pace is None:
        parser.error("arrival_jitter_ms means nothing without --realtime, --pace or --links 2")
    return Options(
        seed=asked.seed,
        faults=faults,
        spec=spec,
        pace=pace,
        links=asked.links,
        drive=asked.drive,
        speaks=speaks,
        link_folder=asked.link_folder,
        firmware=_firmware(parser, asked, speaks),
    )


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="python -m sim", description="A rig made of software.")
    parser.add_argument("--seed", type=int, default=1, help="which instrument and rig")
    parser.add_argument("--sensor", choices=["contact", "optical"], default="contact")
    parser.add_argument("--links", type=int, choices=[1, 2], default=1, help="ports of the rig")
    parser.add_argument("--protocol", default="line", help="of every link without one of its own")
    for part in PARTS[2]:
        parser.add_argument(f"--{part}-protocol", help=f"of the {part}'s link, with --links 2")
    parser.add_argument(
        "--link-folder", type=Path, metavar="DIR", help="for names that outlast a pulled cable"
    )
    parser.add_argument(
        "--chip", type=Path, metavar="ELF", help="firmware to run on a simulated microcontroller"
    )
    parser.add_argument(
        "--chip-library", type=Path, default=LIBRARY, metavar="FILE", help="what sim/avr makes"
    )
    parser.add_argument("--drive", choices=["motor", "hand"], default="motor")
    parser.add_argument("--faults", choices=["default", "none"], default="default")
    parser.add_argument(
        "--set", default="", metavar="KEY=VALUE,...", help="numbers of sim.faults.Faults or RigSpec"
    )
    parser.add_argument("--realtime", action="store_true", help="the same as --pace 1")
    parser.add_argument(
        "--pace", type=_above_nothing, help="rig seconds to a second; 1 on two links by default"
    )
    return parser


def _protocol(parser: argparse.ArgumentParser, asked: argparse.Namespace, part: str) -> str:
    """What this part of the rig speaks. Ends the program where it cannot."""
    allowed = speakers_of(part)
    name = str(getattr(asked, f"{part}_protocol", None) or asked.protocol)
    if name not in allowed:
        parser.error(f"the {part} cannot speak {name!r}; allowed: {', '.join(allowed)}")
    return name


def _firmware(
    parser: argparse.ArgumentParser, asked: argparse.Namespace, speaks: Mapping[str, str]
) -> Firmware | None:
    """Ends the program where a chip cannot be this rig."""
    if asked.chip is None:
        return None
    if speaks != {"rig": "line"} or asked.drive != "motor":
        parser.error("--chip is a motor-driven rig on one link that speaks the line protocol")
    for path in (asked.chip, asked.chip_library):
        if not path.is_file():
            parser.error(f"{path} is not there; rig_configs/firmware/README.md says how it is made")
    return Firmware(asked.chip, asked.chip_library)


def _above_nothing(text: str) -> float:
    """ValueError, which the parser words itself, unless above 0."""
    value = float(text)
    if not value > 0.0:
        raise ValueError
    return value


def _set(word: str, faults: Faults, spec: RigSpec) -> tuple[Faults, RigSpec]:
    """One KEY=VALUE. ValueError says which keys there are, or what the key takes."""
    key, _, text = word.partition("=")
    key = key.strip()
    for made in (faults, spec):
        kinds = numbers(made)
        if key in kinds:
            changed: Any = replace(made, **{key: _value(key, text, kinds[key])})
            return (changed, spec) if made is faults else (faults, changed)
    raise ValueError(f"--set {key!r}: known are {', '.join([*numbers(faults), *numbers(spec)])}")


def numbers(made: Faults | RigSpec) -> dict[str, type]:
    """The fields that hold one number, and of which kind."""
    kinds = {each.name: type(getattr(made, each.name)) for each in fields(made)}
    return {name: kind for name, kind in kinds.items() if kind in (int, float)}


def _value(key: str, text: str, kind: type) -> Any:
    try:
        return kind(text)
    except ValueError:
        raise ValueError(f"--set {key}: found {text!r}; allowed: {kind.__name__}") from None
