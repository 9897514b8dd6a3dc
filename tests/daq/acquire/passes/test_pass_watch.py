"""What ends a pass before its end, and what is only told: scripted pieces, no rig."""

from __future__ import annotations

import numpy as np
import pytest

from daq.acquire.links.controller import Heard
from daq.acquire.links.rig_faults import PassSpoilt, RigStopped
from daq.acquire.links.stream_fault import StreamFault
from daq.acquire.passes.lanes import both_ways, straight_lane
from daq.acquire.passes.pass_watch import PassWatch
from daq.acquire.passes.progress import NoProgress
from daq.files.rig import RigFile
from daq.wire.records import Batch, Event, SampleBlock

SILENT = StreamFault("silent", "the rig has gone silent: look")
STUCK = StreamFault("stuck", "its clock stands still", ends_pass=True)


class Hearer(NoProgress):
    def __init__(self) -> None:
        self.notices: list[str] = []

    def notice(self, text: str) -> None:
        self.notices.append(text)


def piece(
    x_mm: list[float],
    *,
    first: int = 0,
    faults: tuple[StreamFault, ...] = (),
    events: tuple[Event, ...] = (),
    reads: bool = True,
) -> Heard:
    """Samples at these places, a count being 5 µm."""
    x = np.rint(np.array(x_mm) / 0.005).astype(np.int32)
    seq = np.arange(first, first + x.size, dtype=np.uint32)
    block = SampleBlock(seq, seq * 2500, x, x, x, x)
    batch = Batch(block, events, (), 0, b"")
    return Heard(0, reads, True, batch, np.zeros(x.size, np.int64), faults)


@pytest.fixture
def hearer() -> Hearer:
    return Hearer()


@pytest.fixture
def watch(rig_file: RigFile, hearer: Hearer) -> PassWatch:
    """Away from the nut, pads 4 to 16 and 80 to 94 mm."""
    return PassWatch(rig_file, both_ways([straight_lane(rig_file)], 25.0)[0], hearer)


def test_a_fault_is_told_once_and_when_it_is_over(watch: PassWatch, hearer: Hearer) -> None:
    for faults in ((), (SILENT,), (SILENT,), ()):
        watch.heard(piece([], faults=faults))
    assert hearer.notices == [SILENT.text, "no longer so: the rig has gone silent"]


def test_a_rig_that_must_be_seen_to_ends_the_pass(watch: PassWatch, hearer: Hearer) -> None:
    with pytest.raises(RigStopped, match="its clock stands still"):
        watch.heard(piece([5.0], faults=(STUCK,)))
    assert hearer.notices == []


def test_what_the_rig_says_itself_is_left_to_those_who_wait(watch: PassWatch) -> None:
    watch.heard(piece([5.0], faults=(STUCK,), events=(Event(1, "stalled", "", 0),)))


def test_a_hole_between_two_pieces(watch: PassWatch) -> None:
    watch.heard(piece([39.9, 40.0]))
    with pytest.raises(PassSpoilt, match=r"over 0\.70 mm, from 40\.0 to 40\.7 mm; at most 0\.6"):
        watch.heard(piece([40.7, 40.8]))


def test_holes_on_the_pads_and_over_two_links_are_not_its_business(watch: PassWatch) -> None:
    watch.heard(piece([5.0, 9.0, 15.9]))
    watch.heard(piece([30.0, 40.0], reads=False))


def test_gone_back_between_the_pads(watch: PassWatch) -> None:
    watch.heard(piece([39.5, 40.0, 39.5, 39.1]))
    with pytest.raises(PassSpoilt, match=r"went back by 1\.1 mm at x = 38\.9 mm"):
        watch.heard(piece([38.9, 39.2]))


def test_gone_back_on_a_pad(watch: PassWatch) -> None:
    watch.heard(piece([5.0, 5.5, 6.0]))
    watch.heard(piece([5.5, 5.0, 4.5]))


def test_the_way_back(rig_file: RigFile, hearer: Hearer) -> None:
    watch = PassWatch(rig_file, both_ways([straight_lane(rig_file)], 25.0)[1], hearer)
    watch.heard(piece([60.0, 59.5, 59.0, 59.5]))
    with pytest.raises(PassSpoilt, match=r"went back by 1\.2 mm at x = 60\.2 mm"):
        watch.heard(piece([59.9, 60.2]))


def test_more_lost_than_a_pass_may_lose(watch: PassWatch) -> None:
    """88 mm at 25 mm/s and 400 Hz are 1,408 samples; 3 % of twice as many are 84."""
    watch.heard(piece([5.0], first=0))
    watch.heard(piece([5.0], first=85))
    with pytest.raises(PassSpoilt, match="85 of 88 samples lost so far; at most 3% of a pass"):
        watch.heard(piece([5.0], first=87))
