"""The frames of the binary protocol's page, read from the page, against the lines beside them."""

from __future__ import annotations

import binascii
import re
import shutil
import subprocess
from pathlib import Path

import pytest

from daq.wire.binary.decode import BinaryDecoder
from daq.wire.binary.layout import SAMPLES, TEXT
from daq.wire.line.decode import LineDecoder
from daq.wire.records import Batch

PAGE = Path(__file__).resolve().parents[3] / "rig_configs" / "binary-protocol.md"


def blocks(kind: str = "") -> list[str]:
    page = PAGE.read_text(encoding="utf-8")
    return re.findall(rf"^```{kind}\n(.*?)^```$", page, re.DOTALL | re.MULTILINE)


def both() -> list[tuple[str, str]]:
    """Every frame in hex, and the body of the line that it is the same as."""
    samples, lines, texts, bodies = (block.splitlines() for block in blocks())
    return [*zip(samples, lines, strict=True), *zip(texts, bodies, strict=True)]


def records(batch: Batch) -> tuple[object, ...]:
    columns = [column.tolist() for column in batch.samples.columns()]
    return columns, batch.events, batch.replies, batch.bad_frames


@pytest.mark.parametrize(("frame", "body"), both())
def test_a_frame_of_the_page_is_the_line_beside_it(frame: str, body: str) -> None:
    raw = body.encode("ascii")
    line = raw + b"*%04X\n" % binascii.crc_hqx(raw, 0xFFFF)
    found = BinaryDecoder().feed(bytes.fromhex(frame))
    assert found.bad_frames == 0
    assert len(found.samples) + len(found.events) + len(found.replies) == 1
    assert records(found) == records(LineDecoder().feed(line))


def test_the_page_tells_every_kind_and_its_length() -> None:
    rows = re.findall(
        r"^\| `([0-9A-F]{2})` \|[^|]*\| (\d+)(?: to (\d+))? \|", PAGE.read_text("utf-8"), re.M
    )
    told = {int(kind, 16): (int(least), int(most or least)) for kind, least, most in rows}
    sizes = {kind: (frame.itemsize, frame.itemsize) for kind, frame in SAMPLES.items()}
    assert told == {**sizes, TEXT: (7, 96)}


PROGRAM = """
#include <stdint.h>
#include <stdio.h>
#include <string.h>
%s
%s
static void show(const uint8_t *frame, size_t n) {
    for (size_t i = 0; i < n; i++) printf("%%02X ", frame[i]);
    printf("\\n");
}
int main(void) {
    uint8_t frame[96];
    show(frame, put_sample(frame, 17, 1042500, -1234));
    show(frame, put_sample(frame, 18, 1042510, INT32_MIN));
    show(frame, put_text(frame, "A,G", 3));
    return 0;
}
"""


@pytest.mark.skipif(shutil.which("cc") is None, reason="needs a C compiler")
def test_the_pages_own_c_makes_the_pages_frames(tmp_path: Path) -> None:
    line_page = PAGE.with_name("line-protocol.md").read_text(encoding="utf-8")
    crc16 = re.findall(r"^```c\n(.*?)^```$", line_page, re.DOTALL | re.MULTILINE)[0]
    source = tmp_path / "frames.c"
    source.write_text(PROGRAM % (crc16, blocks("c")[0]), encoding="utf-8")
    command = ["cc", "-Wall", "-Wextra", "-Werror", "-o", str(tmp_path / "frames"), str(source)]
    subprocess.run(command, check=True, capture_output=True, timeout=60)
    out = subprocess.run([tmp_path / "frames"], check=True, capture_output=True, text=True)
    frames = [frame for frame, _ in both()]
    assert [each.strip() for each in out.stdout.splitlines()] == [frames[0], frames[1], frames[7]]
