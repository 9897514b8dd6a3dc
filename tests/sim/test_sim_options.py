"""The simulator's command line."""

from dataclasses import asdict

import pytest

from sim.faults import Faults
from sim.options import options
from sim.rigspec import RigSpec


def test_nothing_asked_is_the_rig_as_it_was():
    asked = options([])
    assert (asked.faults, asked.spec) == (Faults(), RigSpec())
    assert (asked.pace, asked.links, asked.drive) == (None, 1, "motor")


def test_no_faults_are_no_faults():
    assert set(asdict(Faults.none()).values()) == {0, 2.0}
    assert options(["--faults", "none"]).faults == Faults.none()


def test_any_number_of_the_rig_can_be_set():
    words = ["--faults", "none", "--set", "noise_um=2.5, thermometer=1,rate_hz=500,spot_mm=0.4"]
    asked = options(words)
    assert (asked.faults.noise_um, asked.faults.thermometer) == (2.5, 1)
    assert (asked.spec.rate_hz, asked.spec.spot_mm) == (500, 0.4)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--set", "nose_um=1"], "known are rail_bow_mm, "),
        (["--set", "noise_um=much"], "--set noise_um: found 'much'; allowed: float"),
        (["--set", "travel_mm=3"], "known are rail_bow_mm, "),
        (["--set", "arrival_jitter_ms=5"], "means nothing without --realtime"),
        (["--pace", "0"], "--pace"),
    ],
)
def test_what_cannot_be_set_ends_in_a_line(capsys, words, said):
    with pytest.raises(SystemExit) as ended:
        options(words)
    assert ended.value.code == 2
    assert said in capsys.readouterr().err


def test_two_links_run_in_real_time_unless_told_otherwise():
    assert options(["--links", "2"]).pace == 1.0
    assert options(["--links", "2", "--pace", "8"]).pace == 8.0
    assert options(["--realtime"]).pace == 1.0
