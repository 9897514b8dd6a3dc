"""The real firmware on a simulated chip: built once, driven pin by pin and byte by byte."""

from __future__ import annotations

import binascii
import re
import shutil
import subprocess
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest

import sim
from sim.chip import HZ, Axis, Chip, Firmware
from sim.indicator import BITS, frame

from ..once import once_a_run

SOURCES = Path(__file__).parents[2] / "rig_configs" / "firmware"
LIBRARY = Path(sim.__file__).parent / "avr"
BUILDS = (
    ("SENSOR=indicator", "COUNT=encoder"),
    ("SENSOR=indicator", "COUNT=steps"),
    ("SENSOR=analogue", "COUNT=encoder"),
    ("CROSS=no",),
    ("DRIVE=hand", "CROSS=no"),
)
NEEDS = "needs gcc-avr, avr-libc and libsimavr-dev: apt-get install gcc-avr avr-libc libsimavr-dev"


@pytest.fixture(scope="session")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of everything that was made, by one process of the tests for all of them."""
    if shutil.which("avr-g++") is None or not Path("/usr/include/simavr").is_dir():
        pytest.skip(NEEDS)
    return once_a_run(tmp_path_factory, "firmware", _make_all)


def _make_all(folder: Path) -> None:
    _make(LIBRARY, folder)
    for how in BUILDS:
        _make(SOURCES, folder, *how)


def _make(where: Path, out: Path, *how: str) -> None:
    made = subprocess.run(
        ["make", "-C", str(where), f"OUT={out}", *how], capture_output=True, text=True
    )
    assert made.returncode == 0, made.stderr


def framed(body: str) -> bytes:
    raw = body.encode("ascii")
    return raw + b"*%04X\n" % binascii.crc_hqx(raw, 0xFFFF)


class Board:
    """A chip with its program, powered on: host, indicator and metal are the test's."""

    def __init__(self, built: Path, build: str) -> None:
        self.elf = built / f"rig-{build}.elf"
        self.chip = Chip(
            Firmware(self.elf, built / "libchip.so"),
            Axis(40, -300, 128_300, -100),
            Axis(0, -3_300, 3_300, -3_100),
        )
        # What the indicator sends when it is asked: a frame and how many bits of it.
        self.shows: tuple[int, int] = (frame(1234), BITS)
        self.asked = 0
        self.steps: list[np.ndarray] = []
        self.run(0.02)

    def run(self, seconds: float) -> list[str]:
        """Everything that it says in so much of its time: bodies. No frame may be bad."""
        return [self._body(line) for line in self.raw(seconds).split(b"\n")[:-1]]

    def raw(self, seconds: float) -> bytes:
        until = self.chip.cycle + round(seconds * HZ)
        said = b""
        while self.chip.cycle < until:
            if self.chip.run(until) == "asked":
                self.asked += 1
                self.chip.reading(*self.shows)
            self.steps.append(self.chip.steps())
            said += self.chip.said()
        # To the end of the line that is under way.
        while not said.endswith(b"\n") and said:
            if self.chip.run(self.chip.cycle + 1000) == "asked":
                self.chip.reading(*self.shows)
            self.steps.append(self.chip.steps())
            said += self.chip.said()
        return said

    def tell(self, body: str) -> None:
        self.chip.hear(framed(body))

    def say(self, body: str, seconds: float = 0.01) -> list[str]:
        """What it says in that time after a command, samples left out."""
        self.tell(body)
        return [each for each in self.run(seconds) if not each.startswith("S,")]

    def home(self) -> None:
        said = self.say("O", 12.0)
        assert said[0] == "A,O"
        assert said[1].endswith(",homed")

    def moved(self) -> np.ndarray:
        """chip.STEP[n] since this was last asked."""
        steps = np.concatenate(self.steps) if self.steps else np.empty(0)
        self.steps = []
        return steps

    def poke(self, variable: str, value: int) -> None:
        """Sets a 32-bit variable of the program, such as `sampler::seq`."""
        listed = subprocess.run(
            ["avr-nm", "-C", str(self.elf)], capture_output=True, text=True, check=True
        ).stdout
        # what the linker has made global keeps its name as the compiler wrote it
        space, _, name = variable.partition("::")
        found = rf"{space}(::\(anonymous namespace\)::|12_GLOBAL__N_1\d+){name}(E\.|$)"
        (line,) = (each for each in listed.splitlines() if re.search(found, each))
        address = int(line.split()[0], 16) & 0xFFFF
        self.chip.poke(address, value.to_bytes(4, "little"))

    @staticmethod
    def _body(line: bytes) -> str:
        body, _, crc = line.rpartition(b"*")
        assert crc == b"%04X" % binascii.crc_hqx(body, 0xFFFF), line
        return body.decode("ascii")


@pytest.fixture
def board(built: Path) -> Callable[..., Board]:
    return lambda build="indicator-encoder": Board(built, build)


@pytest.fixture
def homed(built: Path) -> Iterator[Board]:
    """The usual build, homed, with nothing said yet."""
    ready = Board(built, "indicator-encoder")
    ready.home()
    ready.moved()
    return ready


@pytest.fixture
def columns() -> Callable[[list[str]], np.ndarray]:
    """float[n, 5]: seq, t_us, x, y, raw of the samples; NaN for an empty reading."""

    def columns(bodies: list[str]) -> np.ndarray:
        fields = [each.split(",") for each in bodies if each.startswith("S,")]
        return np.array([[cell or "nan" for cell in each[1:6]] for each in fields], dtype=float)

    return columns
