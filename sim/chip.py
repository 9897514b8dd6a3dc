"""One simulated microcontroller with real firmware in it, through sim/avr's library."""

from __future__ import annotations

import ctypes
import weakref
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import numpy as np
from numpy.typing import NDArray

HZ = 16_000_000
LIBRARY = Path(__file__).parent / "avr" / "build" / "libchip.so"
MOST_BYTES = 65_536
STEP = np.dtype([("cycle", np.uint64), ("x", np.int32), ("y", np.int32)])

Ended = Literal["time", "asked"]


class ChipFault(Exception):
    """The library or the program cannot be had, or the program has died; the message says it."""


class _Axis(ctypes.Structure):
    _fields_ = (
        ("at", ctypes.c_int32),
        ("low", ctypes.c_int32),
        ("high", ctypes.c_int32),
        ("stop", ctypes.c_int32),
    )


@dataclass(frozen=True, slots=True)
class Axis:
    """In steps: where it stands at power-on, where it cannot go further, and below which place
    its end stop is pressed."""

    at: int
    low: int
    high: int
    stop: int


@dataclass(frozen=True, slots=True)
class Firmware:
    """What runs, and the library that runs it."""

    elf: Path
    library: Path = LIBRARY


class Chip:
    """From power-on. bit_us: an indicator's bit; wait_us: from the request to the first.

    Raises ChipFault.
    """

    def __init__(
        self, firmware: Firmware, x: Axis, y: Axis, bit_us: float = 40.0, wait_us: float = 60.0
    ) -> None:
        self._lib = _library(firmware.library)
        axes = [_Axis(each.at, each.low, each.high, each.stop) for each in (x, y)]
        cycles = [round(each * HZ / 1e6) for each in (bit_us, wait_us)]
        handle = self._lib.chip_open(str(firmware.elf).encode(), *map(ctypes.byref, axes), *cycles)
        if not handle:
            raise ChipFault(f"{firmware.elf} is no program for this chip: make it first")
        self._chip = ctypes.c_void_p(handle)
        self._bytes = ctypes.create_string_buffer(MOST_BYTES)
        self._steps = np.empty(MOST_BYTES, STEP)
        weakref.finalize(self, self._lib.chip_close, self._chip)

    @property
    def cycle(self) -> int:
        return int(self._lib.chip_cycle(self._chip))

    @property
    def last_pulse(self) -> int:
        """The cycle of the last step pulse, whether the carriage followed or not."""
        return int(self._lib.chip_last_pulse(self._chip))

    @property
    def unheard(self) -> int:
        """Bytes still on their way into it."""
        return int(self._lib.chip_unheard(self._chip))

    @property
    def where(self) -> tuple[int, int]:
        """Both carriages, in steps."""
        x, y = ctypes.c_int32(), ctypes.c_int32()
        self._lib.chip_where(self._chip, ctypes.byref(x), ctypes.byref(y))
        return x.value, y.value

    def longest_wait(self, vector: int) -> int:
        """Cycles that this interrupt ever waited for others."""
        return int(self._lib.chip_longest_wait(self._chip, vector))

    def run(self, until: int) -> Ended:
        """Up to this cycle, or until a reading is asked for. ChipFault where the program died."""
        ended = self._lib.chip_run(self._chip, until)
        if ended == 2:
            raise ChipFault("the firmware has crashed")
        return "asked" if ended == 1 else "time"

    def reset(self) -> None:
        """Power lost and back, or its reset line pulled."""
        self._lib.chip_reset(self._chip)

    def hear(self, data: bytes) -> None:
        self._lib.chip_hear(self._chip, data, len(data))

    def said(self) -> bytes:
        count = self._lib.chip_said(self._chip, self._bytes, MOST_BYTES)
        return self._bytes.raw[:count]

    def steps(self) -> NDArray[np.void]:
        """Those since they were last taken: STEP[n]."""
        at = self._steps.ctypes.data_as(ctypes.c_void_p)
        return self._steps[: self._lib.chip_steps(self._chip, at, MOST_BYTES)].copy()

    def reading(self, frame: int, bits: int) -> None:
        """Answers what was asked: the frame's first bit is its lowest. No bits: it keeps still."""
        self._lib.chip_reading(self._chip, frame, bits)

    def voltage(self, millivolts: int) -> None:
        self._lib.chip_voltage(self._chip, millivolts)

    def jam(self, on: bool) -> None:
        """Holds the carriage fast in x, whatever steps come."""
        self._lib.chip_jam(self._chip, on)

    @property
    def lost(self) -> int:
        """Steps that came to nothing since it is held fast."""
        return int(self._lib.chip_lost(self._chip))

    def poke(self, address: int, data: bytes) -> None:
        """Writes into its memory, as a test does to a counter that is to wrap soon."""
        self._lib.chip_poke(self._chip, address, data, len(data))

    def peek(self, address: int, count: int) -> bytes:
        """What its memory holds."""
        found = ctypes.create_string_buffer(count)
        self._lib.chip_peek(self._chip, address, found, count)
        return found.raw


def _library(path: Path) -> ctypes.CDLL:
    try:
        lib = ctypes.CDLL(str(path))
    except OSError as fault:
        raise ChipFault(f"{fault}: make -C {Path(__file__).parent / 'avr'}") from None
    chip, count = ctypes.c_void_p, ctypes.c_size_t
    cycle, whole = ctypes.c_uint64, ctypes.c_uint32
    axis, number = ctypes.POINTER(_Axis), ctypes.POINTER(ctypes.c_int32)
    calls = {
        "open": (chip, ctypes.c_char_p, axis, axis, whole, whole),
        "close": (None, chip),
        "reset": (None, chip),
        "run": (ctypes.c_int, chip, cycle),
        "cycle": (cycle, chip),
        "hear": (None, chip, ctypes.c_char_p, count),
        "unheard": (count, chip),
        "said": (count, chip, ctypes.c_char_p, count),
        "reading": (None, chip, cycle, ctypes.c_uint),
        "voltage": (None, chip, whole),
        "steps": (count, chip, ctypes.c_void_p, count),
        "jam": (None, chip, ctypes.c_int),
        "lost": (whole, chip),
        "where": (None, chip, number, number),
        "last_pulse": (cycle, chip),
        "poke": (None, chip, ctypes.c_uint16, ctypes.c_char_p, count),
        "peek": (None, chip, ctypes.c_uint16, ctypes.c_char_p, count),
        "longest_wait": (cycle, chip, ctypes.c_uint),
    }
    for name, (gives, *takes) in calls.items():
        call = getattr(lib, f"chip_{name}")
        call.restype, call.argtypes = gives, takes
    return lib
