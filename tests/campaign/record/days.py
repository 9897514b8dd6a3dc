"""Simulated hours at 1 kHz through all that records: reader, inbox, journal, decoder, live view.

python days.py PERIODS MINUTES JOURNAL: so many periods of so many simulated minutes; prints a line
of JSON after each.
"""

from __future__ import annotations

import json
import sys
import time
from pathlib import Path

# behind all else: the program that is installed is the one that is tried
sys.path.append(str(Path(__file__).parents[3]))

from daq.acquire.links.controller import Heard
from daq.acquire.rig.session import rig_session
from daq.daemon.live import Live
from daq.files.rig import parse_rig
from daq.link.base import Link
from daq.record.journal import JournalWriter
from tests.campaign.record.spring import Spring

RATE_HZ = 1000
ROOM_BYTES = 2**20
RIG = """\
name: long-days
links: {rig: {port: /dev/spring, baud: 921600, protocol: line}}
carriage: {link: rig, drive: motor, mm_per_count: 0.005, travel_mm: [0, 640], speed_mm_s: 25}
sensor: {link: rig, kind: contact, mm_per_count: 0.001, rate_hz: 1000, tip_radius_mm: 1.0}
pads: [{from_mm: 4, to_mm: 16}, {from_mm: 600, to_mm: 614}]
"""


def run(periods: int, minutes: int, journal: Path) -> None:
    """Records so many, as fast as it can."""
    waiting = [0]
    spring = Spring("spring", RATE_HZ, paced=False, room=lambda: waiting[0] < ROOM_BYTES)

    def opened(port: str, baud: int, framing: str) -> Link:
        return spring

    rig_file = parse_rig(RIG, "rig.yaml")
    live = Live(rig_file)
    messages = [0]

    def look(heard: Heard) -> None:
        messages[0] += live.add(heard, time.monotonic()) is not None

    began_s, period = time.monotonic(), 1
    with (
        JournalWriter(journal) as writer,
        rig_session(rig_file, opened) as rig,
        rig.keeping(writer),
        rig.listening(look),
    ):
        rig.stream(RATE_HZ)
        _tell(0, live, 0, began_s)
        for _ in rig.pump():
            waiting[0] = rig.waiting_bytes
            if live.time.samples >= period * minutes * 60 * RATE_HZ:
                _tell(period, live, messages[0], began_s)
                period += 1
                if period > periods:
                    break


def _tell(period: int, live: Live, messages: int, began_s: float) -> None:
    status = Path("/proc/self/status").read_text().splitlines()
    rss_mb = next(int(line.split()[1]) for line in status if line.startswith("VmRSS")) / 1000
    told = {
        "period": period, "samples": live.time.samples, "lost": live.time.lost, "bad": live.bad,
        "messages": messages, "memory_mb": rss_mb, "took_s": time.monotonic() - began_s,
    }  # fmt: skip
    sys.stdout.write(json.dumps(told) + "\n")
    sys.stdout.flush()


if __name__ == "__main__":
    run(int(sys.argv[1]), int(sys.argv[2]), Path(sys.argv[3]))
