"""Whether a serial line carries what is asked of it.

Only where the port's name says that there is a line: a UART, on the board or in an adapter. A
controller's own USB port sends as fast as it likes whatever baud is set, and 9600 stands in many
a file that streams at ten times that; a number that means nothing there is no fault. Behind a
name that does not tell, too slow a line is seen by the rig's check: as missing samples.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from daq.files.faults import Fault
from daq.files.known import Known
from daq.files.rig_framing import byte_bits, framing_of
from daq.wire.modbus.asked import Asked
from daq.wire.printed.template import TemplateError, parse_template

#: Of adapters and boards (Linux's serial drivers), and of adapters by their id: those of a
#: controller's own USB have no `-portN`. Common practice, no source.
_LINE = re.compile(r"/dev/(tty(USB|S|AMA|THS|mxc)[0-9]+|serial/by-(id|path)/.*-port[0-9]+)$")
#: The shortest samples: of the line protocol `S,12345,1234567,12345,,5*ABCD` and less; of the
#: binary one as its page says.
LEAST_BYTES = {"line": 30, "binary": 17}
USUAL_BAUDS = (
    9600, 19_200, 38_400, 57_600, 115_200, 230_400, 250_000, 460_800, 500_000, 921_600, 1_000_000,
    2_000_000,
)  # fmt: skip


def bandwidth_rules(known: Known) -> Iterator[Fault]:
    """A fault for every link in use whose line is too slow for the sensor's rate."""
    rate_hz = known.number("sensor", "rate_hz")
    used = (known.text("sensor", "link"), known.text("carriage", "link"))
    for name in dict.fromkeys(link for link in used if link is not None):
        port, baud = known.text("links", name, "port"), known.number("links", name, "baud")
        if rate_hz and baud and port is not None and _LINE.fullmatch(port):
            yield from _too_slow(known, name, baud, rate_hz)


def _too_slow(known: Known, name: str, baud: float, rate_hz: float) -> Iterator[Fault]:
    given = known.get("links", name, "framing")
    bits = byte_bits(framing_of(given) or "8N1")
    needs = _needs(known, name, baud, bits)
    if needs is None:
        return
    a_sample_s, what = needs
    highest = int(1.0 / a_sample_s)
    if rate_hz * a_sample_s <= 1.0:
        return
    fast = (usual for usual in USUAL_BAUDS if usual / baud >= rate_hz * a_sample_s)
    raised = next((f"raise baud to {usual} here and in the device or " for usual in fast), "")
    yield Fault(
        ("links", name, "baud"),
        f"{baud:g} baud, at most {highest} samples a second: {what} of {bits} bits a byte",
        f"what carries sensor.rate_hz, {rate_hz:g} a second",
        f"{raised}lower sensor.rate_hz to {highest}",
    )


def _needs(known: Known, name: str, baud: float, bits: int) -> tuple[float, str] | None:
    """(seconds a sample takes at least, why); None where the file does not tell."""
    protocol = known.text("links", name, "protocol")
    if protocol == "modbus":
        count = known.number("links", name, "modbus", "count") or 1.0
        asked = Asked(1, 0, count=int(count))
        return asked.exchange_s(int(baud), bits), "a question, its answer and the silences"
    least = _printed(known, name) if protocol == "printed" else LEAST_BYTES.get(protocol or "")
    if least is None:
        return None
    return least * bits / baud, f"a sample is at least {least} bytes"


def _printed(known: Known, name: str) -> int | None:
    pattern = known.text("links", name, "printed", "pattern")
    decimals = known.number("links", name, "printed", "decimals")
    if pattern is None or decimals is None:
        return None
    try:
        return parse_template(pattern).least_bytes(int(decimals))
    except TemplateError:
        return None
