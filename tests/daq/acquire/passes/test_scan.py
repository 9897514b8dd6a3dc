"""A scan's passes over a scripted rig: order, notes, repeats, and every early end."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from daq.acquire.passes.gate import Verdict
from daq.acquire.passes.lanes import LanePlan, PassPlan, both_ways, straight_lane
from daq.acquire.passes.progress import NoProgress
from daq.acquire.passes.scan import run_passes
from daq.acquire.rig.rig import Rig
from daq.errors import FileError, RigError
from daq.files.rig import RigFile
from daq.link.faults import LinkLost
from daq.wire.line import encode

Run = Callable[..., None]
LANE = LanePlan(4, 2.5, "between", (5.0, 1.0), (93.0, 2.0), False)
OTHER = LanePlan(5, 3.0, "under", (5.0, -1.0), (93.0, -2.0), False)


class Watcher(NoProgress):
    """Remembers what a display would be told."""

    def __init__(self) -> None:
        self.started: list[tuple[Any, ...]] = []
        self.verdicts: list[Verdict] = []
        self.notices: list[str] = []
        self.paces: list[str] = []
        self.last: tuple[Any, ...] = ()
        self.total = self.ended = 0

    def begin(self, total_passes: int) -> None:
        self.total = total_passes

    def pass_started(self, *what: Any) -> None:
        self.started.append(what)

    def samples(self, *what: Any) -> None:
        self.last = what

    def pass_ended(self, verdict: Verdict) -> None:
        self.verdicts.append(verdict)

    def pace(self, words: str) -> None:
        self.paces.append(words)

    def notice(self, text: str) -> None:
        self.notices.append(text)

    def done(self) -> None:
        self.ended += 1


@pytest.fixture
def watcher() -> Watcher:
    return Watcher()


@pytest.fixture
def asked() -> list[str]:
    return []


@pytest.fixture
def run(
    open_rig: Callable[[Any, RigFile], Rig],
    rig_file: RigFile,
    sink: Any,
    watcher: Watcher,
    asked: list[str],
) -> Run:
    def run(
        fake: Any,
        passes: tuple[PassPlan, ...] = both_ways([LANE], 25.0)[:1],
        ask: Callable[[str], None] = asked.append,
        file: RigFile = rig_file,
    ) -> None:
        run_passes(open_rig(fake, file), file, passes, sink, watcher, ask)

    return run


def end_notes(sink: Any) -> list[tuple[Any, ...]]:
    """Of every pass: number, good, why; of the scan: end, why."""
    keys = {"pass_end": ("pass", "good", "why"), "scan_end": ("end", "why")}
    notes = [note for note in sink.notes if note["note"] in keys]
    return [tuple(note[key] for key in keys[note["note"]]) for note in notes]


def test_commands_of_a_scan_in_order(fake_rig: Any, run: Run, asked: list[str]) -> None:
    fake = fake_rig()
    run(fake, both_ways([LANE, OTHER], 25.0))
    assert fake.commands == [
        "M,,0,5000",
        "O",
        *("M,1000,100,5000", "G,400", "M,18600,200,5000", "X"),
        *("M,18600,200,5000", "G,400", "M,1000,100,5000", "X"),
        *("M,1000,-100,5000", "G,400", "M,18600,-200,5000", "X"),
        *("M,18600,-200,5000", "G,400", "M,1000,-100,5000", "X"),
        "M,,0,5000",
    ]
    assert asked == []


def test_notes_of_a_scan(fake_rig: Any, run: Run, sink: Any) -> None:
    run(fake_rig(), both_ways([LANE], 25.0))
    assert sink.notes == [
        {
            "note": "pass_begin",
            "pass": 1,
            "lane": 4,
            "string": 2.5,
            "direction": 1,
            "speed_mm_s": 25.0,
            "from_mm": [5.0, 1.0],
            "to_mm": [93.0, 2.0],
            "y_mm": None,
            "attempt": 1,
        },
        {"note": "pass_end", "pass": 1, "good": True, "why": []},
        {
            "note": "pass_begin",
            "pass": 2,
            "lane": 4,
            "string": 2.5,
            "direction": -1,
            "speed_mm_s": 25.0,
            "from_mm": [93.0, 2.0],
            "to_mm": [5.0, 1.0],
            "y_mm": None,
            "attempt": 1,
        },
        {"note": "pass_end", "pass": 2, "good": True, "why": []},
        {"note": "scan_end", "end": "done", "why": ""},
    ]


def test_what_the_display_is_told(fake_rig: Any, run: Run, watcher: Watcher) -> None:
    run(fake_rig(), both_ways([LANE], 25.0))
    assert watcher.total == 2
    assert watcher.started == [(4, 2.5, 1, 1), (4, 2.5, -1, 1)]
    assert [verdict.good for verdict in watcher.verdicts] == [True, True]
    count, bad, lost, x_mm, rate_hz = watcher.last
    assert (count, bad, lost) == (1408, 0, 0)
    assert (x_mm, rate_hz) == (pytest.approx(5.0), pytest.approx(400.0))
    assert watcher.ended == 1


def test_a_pass_with_a_hole_is_run_again(
    fake_rig: Any, run: Run, watcher: Watcher, sink: Any
) -> None:
    def lossy_once(rig: Any, fields: list[str]) -> None:
        frames = rig.travel(fields)
        keep = frames[:700] + frames[715:] if rig.commands.count("G,400") == 1 else frames
        rig.say(encode.accept("M"), *keep, rig.event("arrived"))

    run(fake_rig({"M": lossy_once}))
    assert watcher.started == [(4, 2.5, 1, 1), (4, 2.5, 1, 2)]
    (first, good_first, why), (second, good_second, _), end = end_notes(sink)
    assert (first, good_first, second, good_second) == (1, False, 2, True)
    assert why[0].startswith("nothing was measured over 1.00 mm")
    assert end == ("done", "")


def test_three_bad_attempts_end_the_scan(
    fake_rig: Any, run: Run, watcher: Watcher, sink: Any
) -> None:
    def short(rig: Any, fields: list[str]) -> None:
        if not rig.rate_hz:
            return rig.do_M(fields)
        return rig.say(encode.accept("M"), *rig.travel(fields, 0.5), rig.event("arrived"))

    fake = fake_rig({"M": short})
    with pytest.raises(RigError) as caught:
        run(fake)
    assert str(caught.value).startswith(
        "lane 4 (between strings 2 and 3, away from the nut): no good pass in 3 attempts; the last "
        "one: the last pad (80 to 94 mm) was not reached"
    )
    assert len(watcher.verdicts) == 3
    *passes, (end, why) = end_notes(sink)
    assert [good for _, good, _ in passes] == [False] * 3
    assert (end, why) == ("failed", str(caught.value))
    assert fake.commands[-2:] == ["K", "X"]
    assert watcher.ended == 1


def test_a_stall_waits_for_the_person_and_homes_before_going_on(
    fake_rig: Any, run: Run, asked: list[str], sink: Any
) -> None:
    def stall_once(rig: Any, fields: list[str]) -> None:
        if rig.commands.count("G,400") != 1 or not rig.rate_hz:
            return rig.do_M(fields)
        return rig.say(encode.accept("M"), *rig.travel(fields, 0.5), rig.event("stalled"))

    fake = fake_rig({"M": stall_once})
    run(fake)
    (question,) = asked
    assert question.startswith("the carriage stalled: free its way")
    assert question.endswith("Then clear the carriage's way: it homes and repeats the pass")
    stalled_at = fake.commands.index("K")
    assert fake.commands[stalled_at : stalled_at + 4] == ["K", "X", "M,,0,5000", "O"]
    assert [good for _, good, _ in end_notes(sink)[:2]] == [False, True]


def test_after_a_reset_the_cross_slide_is_brought_back_by_hand(
    fake_rig: Any, run: Run, asked: list[str], sink: Any
) -> None:
    def reset_once(rig: Any, fields: list[str]) -> None:
        if rig.commands.count("G,400") != 1 or not rig.rate_hz:
            return rig.do_M(fields)
        rig.say(encode.accept("M"), *rig.travel(fields, 0.5), rig.event("reset"))
        rig.rate_hz = rig.x = rig.y = rig.seq = rig.t_us = 0
        return None

    fake = fake_rig({"M": reset_once})
    run(fake)
    assert "bring the cross slide to its zero" in asked[0]
    reset_at = fake.commands.index("K")
    assert fake.commands[reset_at : reset_at + 3] == ["K", "X", "O"]
    (_, good, why), (_, good_again, _), _ = end_notes(sink)
    assert (good, good_again) == (False, True)
    assert "the rig reset itself and lost its place" in why[0]


def test_ctrl_c_halts_the_rig_and_is_written_down(
    fake_rig: Any, run: Run, sink: Any, watcher: Watcher, monkeypatch: pytest.MonkeyPatch
) -> None:
    def interrupt(*what: Any) -> None:
        raise KeyboardInterrupt

    fake = fake_rig()
    monkeypatch.setattr(watcher, "samples", interrupt)
    with pytest.raises(KeyboardInterrupt):
        run(fake)
    assert fake.commands[-2:] == ["K", "X"]
    assert end_notes(sink) == [
        (1, False, ["stopped by the user"]),
        ("interrupted", "stopped by the user"),
    ]
    assert watcher.ended == 1


def test_the_cable_pulled_in_a_pass(fake_rig: Any, run: Run, sink: Any) -> None:
    def come_loose(rig: Any, fields: list[str]) -> None:
        if not rig.rate_hz:
            return rig.do_M(fields)
        rig.say(encode.accept("M"), *rig.travel(fields, 0.5))
        return rig.pull()

    with pytest.raises(RigError, match="the cable to /dev/fake came loose"):
        run(fake_rig({"M": come_loose}))
    why = str(LinkLost("/dev/fake"))
    assert end_notes(sink) == [(1, False, [why]), ("failed", why)]


def test_a_full_disk_halts_the_rig_and_is_the_error_told(
    fake_rig: Any, run: Run, sink: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*what: Any) -> None:
        raise FileError("the disk is full")

    def fill(rig: Any, fields: list[str]) -> None:
        for way in ("rx", "tx", "note"):
            monkeypatch.setattr(sink, way, full)
        rig.do_G(fields)

    fake = fake_rig({"G": fill})
    with pytest.raises(FileError, match="the disk is full"):
        run(fake)
    assert "K" in fake.commands


def test_a_rig_that_cannot_home_is_only_told_of(
    fake_rig: Any, run: Run, watcher: Watcher, asked: list[str]
) -> None:
    run(fake_rig({"O": lambda rig, fields: rig.say(encode.refuse("O", "no end stop"))}))
    assert watcher.notices == [
        "the rig on /dev/fake refused homing: no end stop; positions count from where the rig has "
        "its zero now"
    ]
    assert watcher.verdicts[0].good
    assert asked == []


def test_a_rail_pass_has_no_string(fake_rig: Any, run: Run, sink: Any, rig_file: RigFile) -> None:
    run(fake_rig(), (PassPlan(straight_lane(rig_file), 1, 12.5),))
    begin = sink.notes[0]
    assert (begin["string"], begin["speed_mm_s"], begin["to_mm"]) == (None, 12.5, [93.0, 0.0])


@pytest.fixture
def pushed(fake_rig: Any) -> Callable[[int], Any]:
    """A rig pushed by hand: each stream brings the next of these journeys, in counts."""

    def pushed(speed: int) -> Any:
        journeys: list[int] = [1000, 18400, 18400, 1300]

        def stream(rig: Any, fields: list[str]) -> None:
            rig.do_G(fields)
            to_x = journeys.pop(0)
            rig.say(*rig.samples(to_x, speed), *rig.samples(to_x, speed))

        rig = fake_rig({"G": stream, "O": lambda rig, _: rig.say(encode.refuse("O", "by hand"))})
        rig.x = 1000
        return rig

    return pushed


def test_a_rig_pushed_by_hand(
    pushed: Callable[[int], Any],
    run: Run,
    hand_rig_file: RigFile,
    asked: list[str],
    sink: Any,
    watcher: Watcher,
) -> None:
    lane = LanePlan(1, 2.0, "under", (5.0, 3.5), (93.0, 3.5), True)
    fake = pushed(5000)
    run(fake, both_ways([lane], 25.0), file=hand_rig_file)
    assert asked == [
        "Push the carriage gently against its end stop at the nut's end",
        "Set the cross slide to y = +3.5 mm, under string 2 at the middle of the neck",
        "Ready? Then push the carriage to the last pad in one go, at about 25 mm/s, and let it "
        "rest there",
        "Ready? Then push the carriage to the first pad in one go, at about 25 mm/s, and let it "
        "rest there",
    ]
    assert not any(command.startswith("M") for command in fake.commands)
    assert [verdict.good for verdict in watcher.verdicts] == [True, True]
    begin = sink.notes[0]
    assert (begin["from_mm"], begin["to_mm"], begin["y_mm"]) == ([5.0, None], [93.0, None], 3.5)


def test_a_carriage_that_stands_elsewhere_is_asked_for(
    pushed: Callable[[int], Any], run: Run, hand_rig_file: RigFile, asked: list[str]
) -> None:
    fake = pushed(5000)
    fake.x = 6000

    def ask(question: str) -> None:
        asked.append(question)
        if question.startswith("Push the carriage onto"):
            raise KeyboardInterrupt

    fake.on["G"] = lambda rig, fields: (rig.do_G(fields), rig.say(*rig.samples(6000, 5000)))
    with pytest.raises(KeyboardInterrupt):
        run(fake, ask=ask, file=hand_rig_file)
    assert asked[-1] == "Push the carriage onto the first pad (4 to 16 mm; it is at 30.0 mm)"
