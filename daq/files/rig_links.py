"""What must hold of a rig file's links: their protocols, who hangs on them, what they carry."""

from __future__ import annotations

from collections.abc import Iterator

from daq.files.faults import Fault, describe, nearest
from daq.files.known import Known
from daq.files.rig_framing import framing_of
from daq.files.rig_gcode import GcodeKeys, gcode_rules
from daq.files.rig_modbus import ModbusKeys, modbus_rules
from daq.files.rig_printed import PrintedKeys
from daq.files.rig_protocol import ProtocolKeys
from daq.files.schema import keys_of

GROUPS: dict[str, type[ProtocolKeys]] = {
    "printed": PrintedKeys,
    "modbus": ModbusKeys,
    "gcode": GcodeKeys,
}
"""The protocols that have something to be set, in a group of their own name."""

COUNTS = ("line", "binary", "gcode")
"""The protocols by which a carriage counts, and is driven."""
ALL_BITS = ("binary", "modbus")
"""The protocols whose frames are no text."""
READS = ("line", "binary", "printed", "modbus")
"""The protocols by which a sensor reads."""


def link_rules(known: Known) -> Iterator[Fault]:
    """Every fault of the links that can be told from what the file says."""
    yield from _names(known)
    yield from _ports(known)
    yield from _groups(known)
    yield from _framing(known)
    yield from _roles(known)
    yield from _by_hand(known)
    yield from gcode_rules(known)
    yield from modbus_rules(known)


def _names(known: Known) -> Iterator[Fault]:
    names = [str(name) for name in known.steps("links")]
    for user in ("carriage", "sensor"):
        link = known.text(user, "link")
        if link is not None and names and link not in names:
            allowed = f"a link of this file: {', '.join(names)}"
            yield Fault((user, "link"), describe(link), allowed, nearest(link, names))


def _ports(known: Known) -> Iterator[Fault]:
    """Two links on one port would each get half of the bytes."""
    owner: dict[str, str] = {}
    for name in known.steps("links"):
        port = known.text("links", name, "port")
        if port is None:
            continue
        if port in owner:
            yield Fault(
                ("links", name, "port"),
                f"{port}, which is the port of {owner[port]} already",
                "a port of its own for every link",
                "name one link twice, under carriage and sensor, where both hang on one controller",
            )
        owner.setdefault(port, str(name))


def _groups(known: Known) -> Iterator[Fault]:
    """A protocol's settings stand just where it is spoken."""
    for name in known.steps("links"):
        protocol = known.text("links", name, "protocol")
        link = known.get("links", name)
        if protocol is None or not isinstance(link, dict):
            continue
        for group, keys in GROUPS.items():
            path, given = ("links", name, group), link.get(group)
            if given is not None and group != protocol:
                allowed = f"this group only where protocol is {group}"
                yield Fault(path, describe(given), allowed)
            if given is None and group == protocol and _needed(keys):
                allowed = f"a group of keys: {', '.join(keys_of(keys))}"
                yield Fault(path, "nothing", f"{allowed}, as protocol is {group}")


def _needed(keys: type[ProtocolKeys]) -> bool:
    return any(field.is_required() for field in keys.model_fields.values())


def _framing(known: Known) -> Iterator[Fault]:
    """Text has room in 7 bits; what is not text has not."""
    for name in known.steps("links"):
        protocol = known.text("links", name, "protocol")
        framing = framing_of(known.get("links", name, "framing"))
        if protocol in ALL_BITS and framing is not None and framing.startswith("7"):
            yield Fault(
                ("links", name, "framing"),
                f"{framing}, 7 data bits",
                f"8 data bits, as protocol is {protocol}",
            )


def _roles(known: Known) -> Iterator[Fault]:
    roles = (
        ("carriage", COUNTS, "what speaks it counts no carriage"),
        ("sensor", READS, "what speaks it reads no sensor"),
    )
    for user, able, lack in roles:
        link = known.text(user, "link")
        protocol = None if link is None else known.text("links", link, "protocol")
        if protocol is None or protocol in able:
            continue
        yield Fault(
            (user, "link"),
            f"{link}, whose protocol is {protocol}: {lack}",
            f"a link whose protocol is {_either(able)}",
            "give carriage and sensor a link each, with a port of its own",
        )


def _by_hand(known: Known) -> Iterator[Fault]:
    """A board counts the steps that it makes, and sees no hand."""
    link = known.text("carriage", "link")
    if link is None or known.text("links", link, "protocol") != "gcode":
        return
    if known.text("carriage", "drive") == "hand":
        yield Fault(
            ("carriage", "drive"),
            "hand, on a link whose protocol is gcode",
            "motor there",
            "a G-code board counts the steps it makes itself; "
            "what is pushed by hand needs an encoder and a controller that reads it",
        )


def _either(words: tuple[str, ...]) -> str:
    return f"{', '.join(words[:-1])} or {words[-1]}"
