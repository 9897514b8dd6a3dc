"""The files people copy are good ones, and the protocol's page holds frames that are right."""

from __future__ import annotations

import binascii
import re
from pathlib import Path

import pytest

from analysis.plan.target import AskedShape
from daq.files.instrument import load_instrument
from daq.files.playing import load_playing
from daq.files.rig import load_rig
from daq.files.target import load_target
from daq.wire.commands import Hello
from daq.wire.records import ABSENT

FOLDER = Path(__file__).resolve().parents[3] / "rig_configs"
FRAME = re.compile(r"\b([HGXMOKSEAN](?:,[^*`\n]*)?)\*([0-9A-F]{4})\b")


def test_every_yaml_file_is_tested_here() -> None:
    assert {path.name for path in FOLDER.glob("*.yaml")} == {
        "fast-sensor.yaml",
        "garage-rail.yaml",
        "gcode-carriage.yaml",
        "hand-pushed.yaml",
        "modbus-sensor.yaml",
        "printed-sensor.yaml",
        "two-links.yaml",
        "walnut-parlour.yaml",
        "playing-example.yaml",
        "target-example.yaml",
    }


def test_the_target_to_copy() -> None:
    instrument = load_instrument(FOLDER / "walnut-parlour.yaml").record
    playing, target = load_target(FOLDER / "target-example.yaml", instrument)

    assert playing.name == "everyday"
    assert target.keep == {"nut"}
    assert target.held.places == {(12, 6)}
    assert target.shape == AskedShape((1, 12), (0.0, 0.0))


def test_the_motor_rig_has_a_cross_slide() -> None:
    rig = load_rig(FOLDER / "garage-rail.yaml")

    assert (rig.name, rig.carriage.drive, rig.has_cross) == ("garage-rail", "motor", True)


def test_the_garage_rail_says_what_the_contract_says(rig_text: str, tmp_path: Path) -> None:
    contract = tmp_path / "contract.yaml"
    contract.write_text(rig_text, encoding="utf-8")

    assert load_rig(FOLDER / "garage-rail.yaml").model_dump() == load_rig(contract).model_dump()


def test_the_hand_pushed_rig_has_none() -> None:
    rig = load_rig(FOLDER / "hand-pushed.yaml")

    assert (rig.name, rig.carriage.drive, rig.has_cross) == ("hand-pushed", "hand", False)
    assert rig.sensor.mm_per_count < 0


def test_the_rig_on_two_ports() -> None:
    rig = load_rig(FOLDER / "two-links.yaml")

    assert rig.link_names == ("probe", "axis")
    assert len({link.port for link in rig.used_links}) == 2


def test_the_fast_sensor_has_a_port_of_its_own() -> None:
    rig = load_rig(FOLDER / "fast-sensor.yaml")

    assert rig.link_names == ("eye", "axis")
    assert [link.protocol for link in rig.used_links] == ["binary", "line"]
    assert rig.sensor.spot_mm is not None
    assert rig.carriage.speed_mm_s / rig.sensor.rate_hz <= 0.01


def test_the_sensor_that_prints() -> None:
    rig = load_rig(FOLDER / "printed-sensor.yaml")

    probe = rig.dialects[0]
    assert (probe.protocol, rig.used_links[0].framing) == ("printed", "7E1")
    lines = b"\nID 3, +12.345 mm\r\nID 3,  ---- mm\r\n"
    assert probe.decoder().feed(lines).samples.raw.tolist() == [12345, ABSENT]


def test_the_sensor_that_is_polled() -> None:
    rig = load_rig(FOLDER / "modbus-sensor.yaml")

    talk = rig.dialects[0].talk()
    talk.say(Hello(), 0.0)
    assert talk.due(0.0)[:6] == bytes([1, 4, 0, 0, 0, 2])
    assert rig.used_links[0].framing == "8E1"


def test_the_carriage_on_a_board() -> None:
    rig = load_rig(FOLDER / "gcode-carriage.yaml")
    board = rig.dialects[-1]

    assert (board.protocol, rig.link_names) == ("gcode", ("probe", "axis"))
    told = board.decoder().feed(b"<Idle|MPos:12.345,-1.500,0.000|FS:0,0>\r\n").samples
    assert (told.x.tolist(), told.y.tolist()) == ([2469], [-150])


def test_the_instrument() -> None:
    assert len(load_instrument(FOLDER / "walnut-parlour.yaml").record.strings) == 6


def test_the_playing_file() -> None:
    instrument = load_instrument(FOLDER / "walnut-parlour.yaml").record

    assert load_playing(str(FOLDER / "playing-example.yaml"), instrument).name == "strummer"


def page_frames() -> list[tuple[str, str]]:
    page = (FOLDER / "line-protocol.md").read_text(encoding="utf-8")
    return FRAME.findall(page)


def test_the_page_shows_frames_of_every_letter() -> None:
    assert {body[0] for body, _ in page_frames()} == set("HGXMOKSEAN")
    assert len(page_frames()) >= 25


@pytest.mark.parametrize(("body", "checksum"), page_frames())
def test_a_frame_of_the_page_has_the_right_checksum(body: str, checksum: str) -> None:
    assert len(body) <= 90
    assert f"{binascii.crc_hqx(body.encode('ascii'), 0xFFFF):04X}" == checksum


def test_the_checks_own_value() -> None:
    assert binascii.crc_hqx(b"123456789", 0xFFFF) == 0x29B1
