"""What a rig does wrong in a pass, named within a second to whoever watches: real ports."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from daq.acquire.passes.lanes import both_ways, straight_lane
from daq.acquire.passes.progress import NoProgress
from daq.acquire.rig.rig import Rig
from daq.acquire.use import OwnRig
from daq.demo.bench import Bench, software_rig
from daq.errors import InputError, RigError
from daq.files.rig import load_rig
from daq.record.notes import ScanBegin

GIVEN_UP_S = 1.2
NAMED_S = 1.0


@pytest.fixture(scope="module")
def bench() -> Iterator[Bench]:
    with software_rig(1, "--realtime") as rig:
        yield rig


class Spoiler(NoProgress):
    """Has something done in the middle of the first pass, and notes how soon it is named."""

    def __init__(self, spoil: Callable[[], object]) -> None:
        self._spoil = spoil
        self._done_s = 0.0
        self.named: list[tuple[float, str]] = []

    def samples(self, count: int, *_: object) -> None:
        if count > 200 and not self._done_s:
            self._spoil()
            self._done_s = time.monotonic()

    def notice(self, text: str) -> None:
        self.named.append((time.monotonic() - self._done_s, text))


def test_a_rig_that_goes_silent(
    bench: Bench, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(Rig.__init__.__kwdefaults__, "silence_s", GIVEN_UP_S)
    spoiler = Spoiler(lambda: bench.do("silence", on=True))

    def nobody(what: str) -> None:
        raise InputError(what)

    rig = load_rig(Path(bench.do("files", folder=str(tmp_path))["rig"]))
    begin = ScanBegin("s1", "rail", None, "", "", "", "neckform 0", rig.text, None, {})
    plan = both_ways([straight_lane(rig)], 25.0)
    try:
        with pytest.raises(RigError, match=r"nothing came for 1\.2 s"):
            OwnRig(rig).record(begin, plan, tmp_path / "a.h5", spoiler, nobody)
    finally:
        bench.do("silence", on=False)
    (after_s, text), *_ = spoiler.named
    assert after_s < NAMED_S
    assert text == (
        f"the rig on {rig.links['rig'].port} has gone silent: check that it is switched on, and "
        "the cable"
    )
