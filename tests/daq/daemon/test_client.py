"""A command's half: the daemon's rig as if it were its own."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import httpx
import numpy as np
import pytest

from daq.acquire.passes.progress import NoProgress
from daq.daemon.client import DaemonRig
from daq.errors import FileError, InputError, RigError
from daq.record.scan import read_scan
from daq.steps.checking import check
from daq.workshop.calibrations import CalibrationStore


class Watcher(NoProgress):
    """Writes down what it is told."""

    def __init__(self) -> None:
        self.steps: list[Any] = []

    def begin(self, total_passes: int) -> None:
        self.steps.append(("begin", total_passes))

    def pass_started(self, lane: int, string: float | None, direction: int, attempt: int) -> None:
        self.steps.append((lane, string, direction, attempt))

    def pass_ended(self, verdict: Any) -> None:
        self.steps.append(verdict.good)

    def notice(self, text: str) -> None:
        self.steps.append(text)

    def done(self) -> None:
        self.steps.append("done")


def never(what: str) -> None:
    raise AssertionError(f"nothing was to be asked: {what}")


@pytest.fixture
def rig(bench: Any, rig_file: Any) -> DaemonRig:
    return DaemonRig(rig_file, bench.entry)


@contextmanager
def meanwhile(do: Callable[[], None]) -> Iterator[None]:
    """Does something on another thread."""
    thread = threading.Thread(target=do)
    thread.start()
    yield
    thread.join()


def test_a_recording_is_made_and_its_progress_relayed(
    bench: Any, rig: DaemonRig, begin: Any, passes: Any
) -> None:
    watcher = Watcher()
    path = rig.record(begin, passes, bench.root / "scans/001.h5", watcher, never)
    assert path == bench.root.resolve() / "scans/001.h5"
    assert [one.good for one in read_scan(path).passes] == [True, True]
    started = [("begin", 2), (1, None, 1, 1), True, (1, None, -1, 1), True, "done"]
    assert [
        step for step in watcher.steps if not isinstance(step, str) or step == "done"
    ] == started


def test_a_check_is_as_good_as_ones_own(rig: DaemonRig, tmp_path: Path) -> None:
    done = check(rig, CalibrationStore(tmp_path, "short-rail"), 2.0, over_pads=False)
    assert done.health.hello.device_id == "live-1"
    assert done.health.samples >= 800
    assert done.health.faults == ()
    assert done.health.pad_every_s is None


def test_passes_over_the_pads_come_back_whole(rig: DaemonRig) -> None:
    there, back = rig.over_pads()
    assert (there.direction, back.direction) == (1, -1)
    assert np.isnan(there.string)
    assert there.z_mm.dtype == there.t_s.dtype == np.float64
    assert there.x_mm[-1] >= 92.95
    assert np.all(np.diff(there.t_s) > 0)
    assert there.temp_c is None


def test_looks_are_sample_blocks(rig: DaemonRig) -> None:
    with rig.looking() as look:
        one, other = look(0.2), look(0.1)
    assert one.raw.dtype == np.int32
    assert one.seq.dtype == np.uint32
    assert len(one) > len(other) > 0


def test_what_fails_there_fails_here(bench: Any, rig: DaemonRig, begin: Any, passes: Any) -> None:
    (bench.root / "a.h5").write_text("here already")
    with pytest.raises(FileError, match="already there; a scan is never written over"):
        rig.record(begin, passes, bench.root / "a.h5", NoProgress(), never)
    with pytest.raises(InputError, match="outside the workshop"):
        rig.record(begin, passes, bench.root.parent / "a.h5", NoProgress(), never)


@pytest.fixture
def asking(bench: Any, rig: DaemonRig, begin: Any, passes: Any) -> Callable[..., Any]:
    """Runs a recording that stalls in its first pass, so that somebody is asked."""
    from daq.wire.line import encode

    obey, stalls = bench.rig._obey, [2]

    def _obey(letter: str, *fields: str) -> None:
        stalls[0] -= letter == "M"
        if letter == "M" and stalls[0] == 0:
            bench.rig._out += encode.accept("M") + encode.event(bench.rig.t_us, "stalled")
            return
        obey(letter, *fields)

    bench.rig._obey = _obey

    def run(ask: Callable[[str], None]) -> Any:
        return rig.record(begin, passes, bench.root / "b.h5", NoProgress(), ask)

    return run


def test_a_question_is_asked_here_and_the_answer_goes_there(asking: Any) -> None:
    asked: list[str] = []
    path = asking(asked.append)
    assert len(asked) == 1
    assert "clear the carriage's way" in asked[0]
    assert [one.good for one in read_scan(path).passes] == [False, True, True]


def test_where_nobody_is_here_the_work_ends_and_says_so(asking: Any) -> None:
    def nobody(what: str) -> None:
        raise InputError("nobody is there")

    with pytest.raises(RigError, match=r"nobody is there to do it.*neckform recover"):
        asking(nobody)


def test_a_question_may_be_answered_on_the_page_meanwhile(bench: Any, asking: Any) -> None:
    def answered_there(what: str) -> None:
        question = bench.keeper.works.now.question
        answer = httpx.post(f"{bench.url}/v1/questions/{question.id}", json={"answer": "done"})
        assert answer.status_code == 200

    assert asking(answered_there).exists()


def test_ctrl_c_at_a_question_stops_the_work_there(bench: Any, asking: Any) -> None:
    def give_up(what: str) -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        asking(give_up)
    (work,) = bench.keeper.works.all()
    assert work.state == "stopped"
    assert (bench.root / "b.journal").exists()


def test_a_work_stopped_on_the_page_is_stopped_here(
    bench: Any, rig: DaemonRig, begin: Any, passes: Any
) -> None:
    bench.rig.holding = True

    def stop() -> None:
        bench.until(lambda: "M" in bench.rig.commands)
        httpx.post(f"{bench.url}/v1/work/{bench.keeper.works.now.id}/cancel", json={})

    with meanwhile(stop), pytest.raises(KeyboardInterrupt):
        rig.record(begin, passes, bench.root / "c.h5", NoProgress(), never)


def test_a_work_goes_on_when_its_command_has_vanished(
    bench: Any, asking: Any, begin: Any, passes: Any
) -> None:
    """A question then waits for whoever comes, and the scan ends well."""
    gone, waits = threading.Event(), threading.Event()

    def hang(what: str) -> None:
        waits.set()
        gone.wait(10)
        raise SystemExit  # ends this thread only, as a kill would end the process

    command = threading.Thread(target=lambda: _quietly(asking, hang))
    command.start()
    assert waits.wait(10)
    work = bench.keeper.works.now
    answer = httpx.post(f"{bench.url}/v1/questions/{work.question.id}", json={"answer": "done"})
    assert answer.status_code == 200
    bench.until(lambda: work.over, 20)
    assert work.state == "done"
    gone.set()
    command.join()


def _quietly(asking: Any, ask: Callable[[str], None]) -> None:
    with pytest.raises(SystemExit):
        asking(ask)


def test_a_daemon_that_ends_in_the_middle_is_one_line(
    bench: Any, rig: DaemonRig, begin: Any, passes: Any
) -> None:
    def end() -> None:
        bench.until(lambda: "M" in bench.rig.commands)
        bench.stop()

    bench.rig.holding = True
    with meanwhile(end), pytest.raises((RigError, KeyboardInterrupt)) as caught:
        rig.record(begin, passes, bench.root / "d.h5", NoProgress(), never)
    assert "\n" not in str(caught.value)


def test_a_daemon_that_is_not_there_any_more_is_one_line(
    bench: Any, rig: DaemonRig, begin: Any, passes: Any
) -> None:
    bench.stop()
    (bench.root / "e.journal").write_text("")
    with pytest.raises(RigError, match=r"does not answer; what it recorded is kept in"):
        rig.record(begin, passes, bench.root / "e.h5", NoProgress(), never)
    with pytest.raises(RigError, match=r"process 1 \(serve\) at http.*start it again"):
        rig.check(2.0)


def test_with_a_token(make_bench: Any, rig_file: Any) -> None:
    bench = make_bench("a-token-of-sixteen-and-more")
    bench.until_state("watching")
    with DaemonRig(rig_file, bench.entry).looking() as look:
        assert len(look(0.1)) > 0
