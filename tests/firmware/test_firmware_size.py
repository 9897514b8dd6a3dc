"""What the chip has: 32 KiB of flash less a boot loader's, 2 KiB of RAM for data and stack."""

import re
import subprocess
from pathlib import Path

import pytest

PAGE = Path(__file__).parents[2] / "rig_configs" / "firmware" / "README.md"


@pytest.mark.parametrize("build", ["indicator-encoder", "indicator-steps", "analogue-encoder"])
def test_it_fits_with_room_to_spare_and_the_page_says_so(built, build):
    sizes = subprocess.run(
        ["avr-size", str(built / f"rig-{build}.elf")], capture_output=True, text=True, check=True
    ).stdout
    text, data, bss = map(int, sizes.splitlines()[1].split()[:3])
    flash, ram = text + data, data + bss
    assert flash < 16_384
    assert ram < 1_400
    sensor, count = build.split("-")
    stated = re.search(rf"\| {sensor} \| {count} \| (\d+) \| (\d+) \|", PAGE.read_text())
    # to a few per cent: another compiler makes it a little different
    assert stated is not None
    assert flash == pytest.approx(int(stated[1]), rel=0.05)
    assert ram == pytest.approx(int(stated[2]), rel=0.05)


def test_the_stack_keeps_clear_of_the_data(homed):
    """Filled with a pattern between the two, then all at once: a pass, samples, commands."""
    top, bottom = 0x0900 - 120, 0x0100 + 1_020
    homed.chip.poke(bottom, b"\xa5" * (top - bottom))
    homed.say("G,400")
    homed.tell("M,20000,600,5000")
    for _ in range(20):
        homed.say("H", 0.05)
    homed.say("M,-1,,")
    homed.say("K", 0.1)
    left = homed.chip.peek(bottom, top - bottom)
    assert left.startswith(b"\xa5" * 600)
