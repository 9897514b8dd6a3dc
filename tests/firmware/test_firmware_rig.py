"""The real firmware, the real commands, the simulated metal: one rig, through a port."""

import json
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from daq.cli.main import main

SEED = 5


class Rig:
    """A running simulator; `order` is a person at its bench."""

    def __init__(self, folder: Path, *how: str) -> None:
        self.folder = folder
        self._process = subprocess.Popen(
            [sys.executable, "-m", "sim", "--seed", str(SEED), "--faults", "none", *how],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        assert self._process.stdout is not None
        self._process.stdout.readline()
        self.order(do="files", folder=str(folder))
        self.order(do="place", what="neck")

    def order(self, **order: object) -> dict[str, object]:
        assert self._process.stdin is not None
        assert self._process.stdout is not None
        self._process.stdin.write(json.dumps(order) + "\n")
        self._process.stdin.flush()
        return json.loads(self._process.stdout.readline())

    def type_in(self, line: str) -> int:
        words = line.format(rig=self.folder / "rig.yaml", made=self.folder / "instrument.yaml")
        return main(["--workshop", str(self.folder / "shop"), *words.split()])

    def end(self) -> None:
        assert self._process.stdin is not None
        assert self._process.stdout is not None
        self._process.stdin.close()
        self._process.wait(20)
        self._process.stdout.close()


@pytest.fixture
def rig(tmp_path: Path, built: Path) -> Iterator[Rig]:
    """A chip's; its lines all arrive."""
    elf, library = built / "rig-indicator-encoder.elf", built / "libchip.so"
    running = Rig(tmp_path / "chip", "--chip", str(elf), "--chip-library", str(library))
    yield running
    running.end()


@pytest.fixture
def soft_rig(tmp_path: Path) -> Iterator[Rig]:
    running = Rig(tmp_path / "soft")
    yield running
    running.end()


@pytest.mark.campaign
def test_a_look_at_the_rig_finds_the_firmware_fit(rig, capfd):
    assert rig.type_in("rig check {rig} --yes --json") == 0
    found = json.loads(capfd.readouterr().out)
    assert "reference-rig-1" in json.dumps(found)


def test_a_carriage_that_sticks_ends_the_look_in_words(rig, capfd):
    rig.order(do="stall")
    assert rig.type_in("rig check {rig} --yes") == 3
    assert "stalled" in capfd.readouterr().err


@pytest.mark.campaign
def test_a_scan_through_the_firmware_finds_what_the_software_rig_finds(rig, soft_rig, capfd):
    """Half a micrometre rms, string for string and fret for fret."""
    tops = []
    for each in (rig, soft_rig):
        assert each.type_in("job new one --instrument {made}") == 0
        assert each.type_in("scan one --rig {rig} --state strung --yes") == 0
        capfd.readouterr()
        assert each.type_in("tops one --state strung --json") == 0
        frets = json.loads(capfd.readouterr().out)["frets"]
        tops.append([entry["top_mm"] for entry in frets])
    off_um = [1e3 * (one - other) for one, other in zip(*tops, strict=True)]
    assert (sum(each**2 for each in off_um) / len(off_um)) ** 0.5 < 0.5
