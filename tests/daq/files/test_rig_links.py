"""The links of a rig file: protocols, their groups, who hangs on them, what the line carries."""

from __future__ import annotations

import pytest

from daq.errors import InputError
from daq.files.rig import RigFile, parse_rig

PRINTED = """\
  probe:
    port: /dev/ttyUSB0
    baud: 9600
    framing: 7E1
    protocol: printed
    printed: {pattern: "{value} mm", decimals: 3}
"""
MODBUS = """\
  probe:
    port: /dev/ttyUSB0
    baud: 19200
    framing: 8E1
    protocol: modbus
    modbus: {unit: 7, first_register: 256, count: 2}
"""


def with_probe(rig_text: str, probe: str, rate_hz: int = 50, speed: int = 5) -> str:
    """The contract's rig with a sensor on a link of its own."""
    return (
        rig_text.replace("carriage:\n", probe + "carriage:\n")
        .replace("sensor:\n  link: rig", "sensor:\n  link: probe")
        .replace("rate_hz: 400", f"rate_hz: {rate_hz}")
        .replace("speed_mm_s: 25", f"speed_mm_s: {speed}")
    )


def faults(text: str) -> list[str]:
    with pytest.raises(InputError) as error:
        parse_rig(text, "r.yaml")
    return [line.removeprefix("r.yaml:") for line in str(error.value).splitlines()]


def parsed(text: str) -> RigFile:
    return parse_rig(text, "r.yaml")


def test_a_printed_sensor_beside_a_carriage_of_the_line_protocol(rig_text: str) -> None:
    rig = parsed(with_probe(rig_text, PRINTED))

    probe, axis = rig.dialects
    assert (probe.protocol, axis.protocol) == ("printed", "line")
    assert [link.framing for link in rig.used_links] == ["7E1", "8N1"]
    assert probe.settings() == {
        "pattern": "{value} mm", "decimals": 3, "rate_hz": 50, "invalid": [], "even": True,
        "start": "", "stop": "",
    }  # fmt: skip


def test_a_modbus_sensor(rig_text: str) -> None:
    rig = parsed(with_probe(rig_text, MODBUS))

    settings = rig.dialects[0].settings()
    assert (settings["baud"], settings["byte_bits"], settings["most_hz"]) == (19200, 11, None)
    assert (settings["unit"], settings["first_register"], settings["count"]) == (7, 256, 2)


@pytest.mark.parametrize(
    ("framing", "wanted"),
    [("8E1", "8E1"), ("7E2", "7E2"), ('"8E1"', "8E1"), ("8N2", "8N2"), ("7O1", "7O1")],
)
def test_framing_needs_no_quotes(rig_text: str, framing: str, wanted: str) -> None:
    text = rig_text.replace("protocol: line", f"protocol: line, framing: {framing}")

    assert parsed(text).used_links[0].framing == wanted


@pytest.mark.parametrize(
    ("given", "wanted"),
    [("QUERY\\r\\n", "QUERY\r\n"), ('"Q\\r"', "Q\r"), ("'a\\\\b'", "a\\b"), ("A B", "A B")],
)
def test_what_is_sent_may_end_in_escapes(rig_text: str, given: str, wanted: str) -> None:
    text = with_probe(rig_text, PRINTED.replace("decimals: 3", f"decimals: 3, start: {given}"))

    assert parsed(text).dialects[0].settings()["start"] == wanted


@pytest.mark.parametrize(
    ("good", "bad", "said"),
    [
        ("framing: 7E1", "framing: 9N1", "links.probe.framing: found text '9N1'; allowed data"),
        ("framing: 7E1", "framing: 80", "links.probe.framing: found 80; allowed data bits 7 or 8"),
        ("{value} mm", "{vlaue} mm", "found text '{vlaue} mm'; allowed a line as the sensor "
         "prints it, {value} where the number stands; {vlaue} is no place: write {value}"),
        ("decimals: 3", "decimals: 12", "printed.decimals: found 12; allowed a whole number"),
        (", decimals: 3", "", "printed.decimals: found nothing; allowed a whole number"),
        ("decimals: 3", "decimals: 3, start: a\\q", "printed.start: found text 'a\\\\q'; allowed"),
        ("decimals: 3", "decimals: 3, invald: [x]", "printed.invald: found an unknown key; allowed "
         "only pattern, decimals, invalid, even, start, stop; did you mean invalid?"),
        ('    printed: {pattern: "{value} mm", decimals: 3}\n', "",
         "links.probe.printed: found nothing; allowed a group of keys: pattern, decimals, invalid, "
         "even, start, stop, as protocol is printed"),
        ("protocol: printed", "protocol: line", "links.probe.printed: found a group of keys "
         "(pattern, decimals); allowed this group only where protocol is printed"),
        ("  probe:\n", "  probe:\n    modbus: {unit: 1, first_register: 0}\n", "links."
         "probe.modbus: found a group of keys (unit, first_register); allowed this group only "
         "where protocol is modbus"),
    ],
)  # fmt: skip
def test_slips_in_a_link(rig_text: str, good: str, bad: str, said: str) -> None:
    (fault,) = faults(with_probe(rig_text, PRINTED, 20).replace(good, bad))

    assert said in fault


@pytest.mark.parametrize("framing", ["7E1", "7O2"])
def test_frames_of_bytes_need_eight_bits(rig_text: str, framing: str) -> None:
    (fault,) = faults(with_probe(rig_text, MODBUS.replace("8E1", framing)))

    assert fault.endswith(
        f"links.probe.framing: found {framing}, 7 data bits; "
        "allowed 8 data bits, as protocol is modbus"
    )


def test_a_printed_sensor_counts_no_carriage(rig_text: str) -> None:
    text = with_probe(rig_text, PRINTED).replace(
        "carriage:\n  link: rig", "carriage:\n  link: probe"
    )

    (fault,) = faults(text)

    assert fault.endswith(
        "carriage.link: found probe, whose protocol is printed: what speaks it counts no carriage; "
        "allowed a link whose protocol is line, binary or gcode; "
        "give carriage and sensor a link each, with a port of its own"
    )


def test_a_board_that_moves_reads_no_sensor_and_sees_no_hand(rig_text: str) -> None:
    text = rig_text.replace("protocol: line", "protocol: gcode").replace(
        "drive: motor", "drive: hand"
    )

    by_hand, reading = (line for line in faults(text) if "links" not in line)

    assert "carriage.drive: found hand, on a link whose protocol is gcode; allowed motor" in by_hand
    assert "sensor.link: found rig, whose protocol is gcode: what speaks it reads no" in reading


@pytest.mark.parametrize(
    ("probe", "rate_hz", "said"),
    [
        # at least `0.000 mm` and its end, 10 bits each at 7E1: 9 bytes, 106 a second at 9600
        (PRINTED, 107, "found 9600 baud, at most 106 samples a second: a sample is at least 9 "
         "bytes of 10 bits a byte; allowed what carries sensor.rate_hz, 107 a second; "
         "raise baud to 19200 here and in the device or lower sensor.rate_hz to 106"),
        # (8 + 9 + 7) bytes of 11 bits at 19200
        (MODBUS, 73, "found 19200 baud, at most 72 samples a second: a question, its answer and "
         "the silences of 11 bits a byte; allowed what carries sensor.rate_hz, 73 a second; "
         "raise baud to 38400 here and in the device or lower sensor.rate_hz to 72"),
    ],
)  # fmt: skip
def test_what_a_line_carries(rig_text: str, probe: str, rate_hz: int, said: str) -> None:
    (fault,) = faults(with_probe(rig_text, probe, rate_hz))

    assert fault.endswith(f"links.probe.baud: {said}")
    assert parsed(with_probe(rig_text, probe, rate_hz - 1)).sensor.rate_hz == rate_hz - 1


def test_a_ports_own_usb_has_no_baud(rig_text: str) -> None:
    slow = rig_text.replace("baud: 460800", "baud: 9600")

    assert parsed(slow).used_links[0].baud == 9600
    (fault,) = faults(slow.replace("ttyACM0", "ttyUSB0"))
    assert "links.rig.baud: found 9600 baud, at most 32 samples a second" in fault


def test_a_floating_point_number_takes_two_registers(rig_text: str) -> None:
    rig = parsed(with_probe(rig_text, MODBUS.replace("count: 2", "count: 2, decimals: 4")))
    assert rig.dialects[0].settings()["decimals"] == 4

    (fault,) = faults(with_probe(rig_text, MODBUS.replace("count: 2", "decimals: 4")))
    assert "links.probe.modbus.decimals: found 4; allowed this key only where count is 2" in fault
