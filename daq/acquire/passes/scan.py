"""The passes of a scan, one after the other, each repeated until it is good."""

from __future__ import annotations

import math
from collections.abc import Sequence
from contextlib import suppress

from daq.acquire.links.rig_faults import PassSpoilt, RigRefused, RigStopped
from daq.acquire.links.sink import Sink
from daq.acquire.passes import hand
from daq.acquire.passes.gate import Verdict
from daq.acquire.passes.hand import Ask
from daq.acquire.passes.lanes import LanePlan, PassPlan
from daq.acquire.passes.pass_log import PassLog
from daq.acquire.passes.pass_watch import PassWatch
from daq.acquire.passes.progress import ProgressSink
from daq.acquire.passes.words import pass_words, set_cross_slide
from daq.acquire.rig.attended import attended
from daq.acquire.rig.rig import Rig
from daq.errors import InputError, NeckformError, RigError
from daq.files.rig import RigFile
from daq.link.faults import LinkLost
from daq.record.notes import PassBegin, PassEnd, ScanEnd

ATTEMPTS = 3
HAND_ATTEMPTS = 10
"""A motor does not learn; a person does."""
RECONNECT_S = 30.0
"""How long a port may take to appear once the cable is said to be in again."""


def run_passes(
    rig: Rig,
    rig_file: RigFile,
    passes: Sequence[PassPlan],
    journal: Sink,
    progress: ProgressSink,
    ask: Ask,
) -> None:
    """Homes the rig, runs every pass and brings the cross slide back to 0.

    The journal gets pass_begin and pass_end for every attempt, and scan_end. A pass that the
    gate refuses is run again, three times in all, ten by hand. Whatever ends the scan early,
    Ctrl-C included, halts the rig, is written down and goes on up.

    Raises RigError naming the lane and what was wrong where no attempt was good.
    """
    run = _Run(rig, rig_file, journal, progress, ask)
    progress.begin(len(passes))
    try:
        run.home()
        for plan in passes:
            run.repeat_until_good(plan)
        run.bring_cross_slide_back()
    except BaseException as error:
        run.give_up(error)
        raise
    else:
        journal.note(ScanEnd("done", "").as_note())
    finally:
        progress.done()


class _Run:
    """The state of one scan: which pass is open and where a person has set the cross slide."""

    def __init__(
        self, rig: Rig, rig_file: RigFile, journal: Sink, progress: ProgressSink, ask: Ask
    ) -> None:
        self._rig = rig
        self._rig_file = rig_file
        self._journal = journal
        self._progress = progress
        self._ask_person = ask
        self._by_hand = rig_file.carriage.drive == "hand"
        self._attempts = HAND_ATTEMPTS if self._by_hand else ATTEMPTS
        self._passes = 0
        self._open = False
        self._set_lane: LanePlan | None = None

    def home(self) -> None:
        """To the end stop, with the cross slide at its own zero: homing sets y to 0 there too."""
        self.bring_cross_slide_back()
        try:
            self._rig.home()
        except RigRefused as refused:
            self._home_without(refused)

    def bring_cross_slide_back(self) -> None:
        """To y = 0, where the rig drives it. A rig that will not is told of, no more."""
        if not self._rig_file.has_cross or self._rig.lost_its_place:
            return
        try:
            self._rig.move(None, 0.0, self._rig_file.carriage.speed_mm_s)
        except RigRefused as refused:
            self._progress.notice(f"{refused}; the cross slide stays where it is")

    def repeat_until_good(self, plan: PassPlan) -> None:
        """Runs a pass until the gate lets it through."""
        attempt = failed = 0
        while failed < self._attempts:
            attempt += 1
            lane = plan.lane
            self._progress.pass_started(lane.lane, lane.string, plan.direction, attempt)
            try:
                verdict = self._attempt(plan, attempt, last=failed + 1 == self._attempts)
            except LinkLost as lost:  # the pass is not to blame
                self._come_back(lost)
                continue
            self._progress.pass_ended(verdict)
            if verdict.good:
                return
            failed += 1
        raise RigError(
            f"{pass_words(plan)}: no good pass in {self._attempts} attempts; the last one: "
            f"{'; '.join(verdict.why)}"
        )

    def give_up(self, error: BaseException) -> None:
        """Stands still and writes down why. The first fault is the one told, not what follows."""
        interrupted = isinstance(error, KeyboardInterrupt)
        why = "stopped by the user" if interrupted else str(error) or type(error).__name__
        with suppress(NeckformError):
            self._stand_still()
        with suppress(NeckformError):
            if self._open:
                self._end_pass(Verdict(False, (why,)))
            end = "interrupted" if interrupted else "failed"
            self._journal.note(ScanEnd(end, why).as_note())

    def _ask(self, what: str) -> None:
        with attended(self._rig):
            self._ask_person(what)

    def _home_without(self, refused: RigRefused) -> None:
        if self._by_hand:
            self._ask("Push the carriage gently against its end stop at the nut's end")
            try:
                self._rig.home()
            except RigRefused as again:
                refused = again
            else:
                return
        self._progress.notice(f"{refused}; positions count from where the rig has its zero now")

    def _attempt(self, plan: PassPlan, attempt: int, *, last: bool) -> Verdict:
        log = PassLog(self._rig_file, self._progress)
        stopped: tuple[str, ...] = ()
        try:
            self._go_to_start(plan)
            self._begin_pass(plan, attempt)
            watch = PassWatch(self._rig_file, plan, self._progress)
            with self._rig.listening(log.add), self._rig.listening(watch.heard):
                self._traverse(plan)
                self._rig.stop()
        except RigStopped as stop:
            stopped = (str(stop),)
            self._stand_still()
        except PassSpoilt as spoilt:
            self._stand_still()
            verdict = Verdict(False, (str(spoilt),))
            self._end_pass(verdict)
            return verdict
        verdict = log.verdict(plan) if self._open else Verdict(False, stopped)
        if stopped and stopped[0] not in verdict.why:
            verdict = Verdict(False, stopped + verdict.why, verdict.remarks)
        if self._open:
            self._end_pass(verdict)
        if stopped and not last:
            self._start_over(stopped[0])
        return verdict

    def _come_back(self, lost: LinkLost) -> None:
        """After a cable came loose: the pass is over, and goes on only where a person says so."""
        verdict = Verdict(False, (str(lost),))
        self._progress.pass_ended(verdict)
        if self._open:
            self._end_pass(verdict)
        for command in (self._rig.halt, self._rig.stop):
            with suppress(NeckformError):  # of two links the other one still hears
                command()
        for tried in range(1, ATTEMPTS + 1):
            self._ask_to_plug_in(lost)
            try:
                self._rig.reconnect(RECONNECT_S)
                break
            except LinkLost as again:
                if tried == ATTEMPTS:
                    raise
                lost = again
        self._start_over(f"{lost.port} is there again")

    def _ask_to_plug_in(self, lost: LinkLost) -> None:
        try:
            self._ask(f"{lost.what}. Plug it in again")
        except InputError:
            raise lost from None  # nobody is there to ask: what they would be told is the fault

    def _start_over(self, why: str) -> None:
        """Its counts are no longer to be trusted; and it never moves again by itself."""
        zero = ""
        if self._rig_file.has_cross and self._rig.lost_its_place:
            zero = "bring the cross slide to its zero, "
        self._ask(f"{why}. Then {zero}clear the carriage's way: it homes and repeats the pass")
        self.home()

    def _go_to_start(self, plan: PassPlan) -> None:
        if plan.lane.set_by_hand and self._set_lane != plan.lane:
            self._ask(set_cross_slide(plan.lane))
            self._set_lane = plan.lane
        if self._by_hand:
            hand.reach_start(self._rig, self._rig_file, plan, self._ask)
            hand.ask_to_push(self._rig_file, plan, self._ask)
        else:
            self._drive(plan.from_mm, self._rig_file.carriage.speed_mm_s)

    def _traverse(self, plan: PassPlan) -> None:
        self._rig.stream(self._rig_file.sensor.rate_hz)
        if self._by_hand:
            hand.follow(self._rig, self._rig_file, plan, self._progress)
        else:
            self._drive(plan.to_mm, plan.speed_mm_s)

    def _drive(self, point: tuple[float, float], speed_mm_s: float) -> None:
        x_mm, y_mm = point
        self._rig.move(x_mm, y_mm if self._rig_file.has_cross else None, speed_mm_s)

    def _stand_still(self) -> None:
        for command in (self._rig.halt, self._rig.stop):
            with suppress(RigRefused):  # it may refuse to stop what does not run
                command()

    def _begin_pass(self, plan: PassPlan, attempt: int) -> None:
        self._passes += 1
        lane, counted = plan.lane, self._rig_file.has_cross
        begin = PassBegin(
            number=self._passes,
            lane=lane.lane,
            string=math.nan if lane.string is None else lane.string,
            direction=plan.direction,
            speed_mm_s=plan.speed_mm_s,
            from_mm=(plan.from_mm[0], plan.from_mm[1] if counted else None),
            to_mm=(plan.to_mm[0], plan.to_mm[1] if counted else None),
            y_mm=None if counted else plan.from_mm[1],
            attempt=attempt,
        )
        self._journal.note(begin.as_note())
        self._open = True

    def _end_pass(self, verdict: Verdict) -> None:
        self._open = False
        self._journal.note(PassEnd(self._passes, verdict.good, verdict.why).as_note())
