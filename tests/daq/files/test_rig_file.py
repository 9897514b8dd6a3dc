"""Rig files: the contract's is read, and each mistake gives its line."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from calibration.passes import Pad
from daq.errors import InputError
from daq.files.rig import load_rig, parse_rig

PAD_2 = "{from_mm: 600, to_mm: 614}"


def test_the_contracts_rig_is_read_whole(rig_text: str) -> None:
    rig = parse_rig(rig_text, "r.yaml")

    assert rig.name == "garage-rail"
    assert rig.text == rig_text
    (link,) = rig.used_links
    assert (link.port, link.baud, rig.link_names) == ("/dev/ttyACM0", 460800, ("rig",))
    assert rig.carriage.drive == "motor"
    assert rig.carriage.travel_mm == (0.0, 640.0)
    assert rig.cross_mm_per_count == 0.01
    assert rig.has_cross
    assert (rig.sensor.tip_radius_mm, rig.sensor.spot_mm) == (1.0, None)
    assert rig.pad_records == (Pad(4.0, 16.0), Pad(600.0, 614.0))


def test_counts_and_millimetres(rig_text: str) -> None:
    rig = parse_rig(rig_text, "r.yaml")

    np.testing.assert_allclose(rig.x_mm(np.array([0, 200, -2])), [0.0, 1.0, -0.01])
    np.testing.assert_allclose(rig.z_mm(np.array([1500, -3])), [1.5, -0.003])
    assert rig.x_counts(614.0) == 122_800
    assert rig.speed_counts_s == 5000


def test_without_cross_slide_and_with_an_optical_sensor_that_counts_downwards(
    rig_text: str,
) -> None:
    text = (
        rig_text.replace("  cross: {mm_per_count: 0.01}", "  #")
        .replace("kind: contact ", "kind: optical ")
        .replace("tip_radius_mm: 1.0", "spot_mm: 0.05")
        .replace("mm_per_count: 0.001", "mm_per_count: -1e-3")
    )

    rig = parse_rig(text, "r.yaml")

    assert rig.cross_mm_per_count is None
    assert not rig.has_cross
    assert rig.sensor.spot_mm == 0.05
    np.testing.assert_allclose(rig.z_mm(np.array([5])), [-0.005])


@pytest.mark.parametrize(
    ("good", "bad", "line"),
    [
        (
            "drive: motor",
            "drive: mtor",
            "r.yaml:6: carriage.drive: found text 'mtor'; allowed motor or hand; "
            "did you mean motor?",
        ),
        (
            "baud: 460800",
            "baud: fast",
            "r.yaml:3: links.rig.baud: found text 'fast'; "
            "allowed a whole number from 1200 to 12000000 baud",
        ),
        (
            "protocol: line",
            "protocol: lines",
            "r.yaml:3: links.rig.protocol: found text 'lines'; "
            "allowed line or gcode or binary or printed or modbus; did you mean line?",
        ),
        (
            "mm_per_count: 0.005",
            "mm_per_count: 0,005",
            "r.yaml:7: carriage.mm_per_count: found text '0,005'; "
            "allowed a number from 1e-06 to 1 mm a count; write 0.005 with a point",
        ),
        (
            "mm_per_count: 0.005",
            "mm_per_count: -0.005",
            "r.yaml:7: carriage.mm_per_count: found -0.005; "
            "allowed a number from 1e-06 to 1 mm a count",
        ),
        (
            "mm_per_count: 0.001",
            "mm_per_count: 0",
            "r.yaml:14: sensor.mm_per_count: found 0; "
            "allowed a number from 1e-07 to 1 mm a count, not 0, either sign",
        ),
        (
            "[0, 640]",
            "640",
            "r.yaml:8: carriage.travel_mm: found 640; allowed a list [from, to] in mm",
        ),
        (
            "[0, 640]",
            "[640, 0]",
            "r.yaml:8: carriage.travel_mm: found [640, 0]; "
            "allowed [from, to] with to at least 50 mm beyond from",
        ),
        (
            "speed_mm_s: 25",
            "speed_mm_s: 250",
            "r.yaml:9: carriage.speed_mm_s: found 250 mm/s at 400 Hz, a sample every 0.625 mm; "
            "allowed a sample at least every 0.25 mm; "
            "lower carriage.speed_mm_s to 100 or raise sensor.rate_hz to 1000",
        ),
        (
            "  speed_mm_s: 25\n",
            "",
            "r.yaml:4: carriage.speed_mm_s: found nothing; allowed a number from 0.1 to 1000 mm/s",
        ),
        (
            "rate_hz: 400",
            "rate_hz: 400.5",
            "r.yaml:15: sensor.rate_hz: found 400.5; allowed a whole number from 1 to 100000 Hz",
        ),
        (
            "  tip_radius_mm: 1.0 ",
            "  # ",
            "r.yaml:11: sensor.tip_radius_mm: found nothing; "
            "allowed the radius of the ball in mm, as kind is contact",
        ),
        (
            "tip_radius_mm: 1.0",
            "tip_radius_mm: big",
            "r.yaml:16: sensor.tip_radius_mm: found text 'big'; "
            "allowed a number from 0.05 to 20 mm",
        ),
        (
            "pads:  ",
            "  spot_mm: 0.05\npads:  ",
            "r.yaml:17: sensor.spot_mm: found 0.05; allowed this key only where kind is optical",
        ),
        (
            "  link: rig\n  kind",
            "  link: rgi\n  kind",
            "r.yaml:12: sensor.link: found text 'rgi'; allowed a link of this file: rig; "
            "did you mean rig?",
        ),
        (
            "  - " + PAD_2,
            "",
            "r.yaml:17: pads: found a list of 1; allowed a list of 2 to 20 pads {from_mm, to_mm}",
        ),
        (
            PAD_2,
            "{from_mm: 600, to_mm: 650}",
            "r.yaml:19: pads[2].to_mm: found 650 mm; "
            "allowed inside carriage.travel_mm, 0 to 640 mm",
        ),
        (
            PAD_2,
            "{from_mm: 600, to_mm: 603}",
            "r.yaml:19: pads[2]: found 600 to 603 mm; allowed from_mm to to_mm at least 4 mm wide",
        ),
        (
            PAD_2,
            "{from_mm: 12, to_mm: 24}",
            "r.yaml:19: pads[2].from_mm: found 12 mm, before pad 1 ends at 16 mm; "
            "allowed pads in order along the rail, none over another",
        ),
        (
            PAD_2,
            "{from_mm: 600}",
            "r.yaml:19: pads[2].to_mm: found nothing; allowed a number from -5000 to 5000 mm",
        ),
        (
            PAD_2,
            "600",
            "r.yaml:19: pads[2]: found 600; allowed a group of keys: from_mm, to_mm",
        ),
        (
            "name: garage-rail",
            "name: ../rail",
            "r.yaml:1: name: found text '../rail'; allowed 1 to 64 letters, digits, spaces, '-', "
            "'_' or '.', beginning with a letter or digit and ending with neither space nor dot",
        ),
        (
            "name: garage-rail",
            "name: 7",
            "r.yaml:1: name: found 7; allowed 1 to 64 letters, digits, spaces, '-', "
            "'_' or '.', beginning with a letter or digit and ending with neither space nor dot; "
            'a name of digits needs quotes: "7"',
        ),
    ],
)
def test_a_mistake_gives_exactly_its_line(rig_text: str, good: str, bad: str, line: str) -> None:
    assert good in rig_text
    text = rig_text.replace(good, bad, 1)

    with pytest.raises(InputError) as caught:
        parse_rig(text, "r.yaml")

    assert str(caught.value) == line


def test_a_word_where_a_group_belongs(rig_text: str) -> None:
    before, after = rig_text.index("sensor:"), rig_text.index("pads:")
    text = f"{rig_text[:before]}sensor: laser\n{rig_text[after:]}"

    with pytest.raises(InputError) as caught:
        parse_rig(text, "r.yaml")

    assert str(caught.value) == (
        "r.yaml:11: sensor: found text 'laser'; allowed a group of keys: "
        "link, kind, mm_per_count, rate_hz, tip_radius_mm, spot_mm"
    )


def test_an_unknown_key_names_the_nearest_and_all_allowed(rig_text: str) -> None:
    text = rig_text.replace("  rate_hz: 400", "  rate: 400")

    with pytest.raises(InputError) as caught:
        parse_rig(text, "r.yaml")

    assert str(caught.value).splitlines() == [
        "r.yaml:11: sensor.rate_hz: found nothing; allowed a whole number from 1 to 100000 Hz",
        "r.yaml:15: sensor.rate: found an unknown key; allowed only link, kind, mm_per_count, "
        "rate_hz, tip_radius_mm, spot_mm; did you mean rate_hz?",
    ]


def two_links(rig_text: str, port: str) -> str:
    probe = f"  probe: {{port: {port}, baud: 9600, protocol: line}}\ncarriage:\n"
    text = rig_text.replace("carriage:\n", probe)
    return text.replace("sensor:\n  link: rig", "sensor:\n  link: probe")


def test_sensor_and_carriage_on_links_of_their_own(rig_text: str) -> None:
    rig = parse_rig(two_links(rig_text, "/dev/ttyACM1"), "r.yaml")

    assert rig.link_names == ("probe", "rig")
    assert [link.port for link in rig.used_links] == ["/dev/ttyACM1", "/dev/ttyACM0"]


def test_two_links_on_one_port(rig_text: str) -> None:
    with pytest.raises(InputError) as caught:
        parse_rig(two_links(rig_text, "/dev/ttyACM0"), "r.yaml")

    assert str(caught.value) == (
        "r.yaml:4: links.probe.port: found /dev/ttyACM0, which is the port of rig already; allowed "
        "a port of its own for every link; name one link twice, under carriage and sensor, where "
        "both hang on one controller"
    )


def test_every_fault_is_told_at_once_in_the_files_order(rig_text: str) -> None:
    text = (
        rig_text.replace("baud: 460800", "baud: 1")
        .replace("speed_mm_s: 25", "speed_mm_s: 250")
        .replace("tip_radius_mm: 1.0", "tipradius_mm: 1.0")
        .replace("to_mm: 614", "to_mm: 6140")
        .replace("drive: motor", "drive: motor\n  drive: hand")
    )

    with pytest.raises(InputError) as caught:
        parse_rig(text, "r.yaml")

    starts = [line.split(";")[0] for line in str(caught.value).splitlines()]
    assert starts == [
        "r.yaml:3: links.rig.baud: found 1",
        "r.yaml:7: carriage.drive: found a second time, first on line 6",
        "r.yaml:10: carriage.speed_mm_s: found 250 mm/s at 400 Hz, a sample every 0.625 mm",
        "r.yaml:12: sensor.tip_radius_mm: found nothing",
        "r.yaml:17: sensor.tipradius_mm: found an unknown key",
        "r.yaml:20: pads[2].to_mm: found 6140",
    ]


def test_load_names_the_file_as_it_was_given(tmp_path: Path, rig_text: str) -> None:
    path = tmp_path / "mine.yaml"
    path.write_text(rig_text.replace("baud: 460800", "baud: 1"), encoding="utf-8")

    with pytest.raises(InputError) as caught:
        load_rig(path)

    assert str(caught.value).startswith(f"{path}:3: links.rig.baud: found 1; allowed ")
    assert caught.value.exit_code == 2
