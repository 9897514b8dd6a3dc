"""A rig whose ports a daemon has: it is asked, and what happens there is relayed here."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

from calibration.passes import RawPass
from daq.acquire.health.check import RigHealth
from daq.acquire.passes.hand import Ask
from daq.acquire.passes.lanes import PassPlan
from daq.acquire.passes.progress import NoProgress, ProgressSink
from daq.acquire.use import Look
from daq.daemon import results
from daq.daemon.http_line import Gone, HttpLine, Told
from daq.daemon.progress import relay
from daq.daemon.register import Entry
from daq.daemon.work import CheckWork, LookWork, PadsWork, RecordWork, Work
from daq.errors import InputError, NeckformError, RigError
from daq.files.rig import RigFile
from daq.record.notes import ScanBegin


class DaemonRig:
    """Every use is a work of the daemon. Ctrl-C stops it there; a command that is killed does
    not: the work goes on, and its questions wait on the daemon's page."""

    def __init__(self, rig_file: RigFile, entry: Entry) -> None:
        self.rig_file = rig_file
        self._entry = entry
        self._line = HttpLine(entry.url, entry.token)

    def record(
        self,
        begin: ScanBegin,
        passes: Sequence[PassPlan],
        out_path: Path,
        progress: ProgressSink,
        ask: Ask,
    ) -> Path:
        """As `record_scan`; the scan file is written by the daemon."""
        root = Path(self._entry.workshop)
        path = out_path.resolve()
        if not path.is_relative_to(root):
            raise InputError(f"{out_path}: lies outside the workshop {root} of the rig's daemon")
        sent = path.relative_to(root).as_posix()
        work = RecordWork(begin=begin, passes=tuple(passes), path=sent)
        return Path(self._done(work, progress, ask, kept=out_path.with_suffix(".journal")))

    def check(self, still_s: float) -> RigHealth:
        """As `check_rig`."""
        return results.health_from(self._done(CheckWork(still_s=still_s)))

    def over_pads(self) -> list[RawPass]:
        """As `drive_over_pads`."""
        return results.passes_from(self._done(PadsWork()))

    @contextmanager
    def looking(self) -> Iterator[Look]:
        """Each look is a work of its own; the rig stays open anyway."""
        yield lambda device_s: results.samples_from(self._done(LookWork(device_s=device_s)))

    def _done(
        self,
        work: Work,
        progress: ProgressSink | None = None,
        ask: Ask | None = None,
        kept: Path | None = None,
    ) -> Any:
        """The result of a work. Raises what it failed with, KeyboardInterrupt where it was
        stopped, here or there."""
        try:
            began = self._line.ask("POST", "/v1/work", work.model_dump_json())
            path = f"/v1/work/{began['id']}"
            try:
                _Following(self._line, began, progress or NoProgress(), ask).until_over()
            except BaseException:
                with suppress(NeckformError):
                    self._line.ask("POST", f"{path}/cancel")
                    _Following(self._line, began, NoProgress(), None).until_over()
                raise
            ended = self._line.ask("GET", path)
            if ended["state"] == "stopped":
                raise KeyboardInterrupt
            return self._line.ask("GET", f"{path}/result")["result"]
        except Gone as gone:
            raise RigError(self._gone_line(kept)) from gone

    def _gone_line(self, journal: Path | None) -> str:
        line = f"the daemon that has the rig, {self._entry.words}, has ended or does not answer"
        if journal is None or not journal.exists():
            return f"{line}; start it again, or go on without it"
        return (
            f"{line}; what it recorded is kept in {journal}, and once it has ended "
            f"`neckform recover {journal.parent}` makes a scan of it"
        )


class _Following:
    """Hears what comes of one work."""

    def __init__(self, line: HttpLine, began: Any, progress: ProgressSink, ask: Ask | None) -> None:
        self._line = line
        self._id = began["id"]
        self._after = int(began["event"])
        self._progress = progress
        self._ask = ask
        self._asked: set[str] = set()

    def until_over(self) -> None:
        """Returns once the work has ended. Raises Gone where the daemon has."""
        while True:
            with suppress(Gone):  # or only the stream has: then the next question tells
                for told in self._line.events(self._after):
                    self._after = told.number or self._after
                    if told.data.get("work") == self._id and self._hear(told):
                        return
            if self._line.ask("GET", f"/v1/work/{self._id}")["state"] in _OVER:
                return

    def _hear(self, told: Told) -> bool:
        """Whether it was the end."""
        if told.kind == "progress":
            relay(told.data, self._progress)
        elif (
            told.kind == "question" and self._ask is not None and told.data["id"] not in self._asked
        ):
            self._asked.add(told.data["id"])
            self._answer(self._ask, told.data)
        return told.kind == "work_ended"

    def _answer(self, ask: Ask, question: dict[str, Any]) -> None:
        """Asks the person here; somebody else may have answered meanwhile."""
        answer = "done"
        try:
            ask(question["text"])
        except InputError:
            answer = "nobody"  # the work says what then comes of it
        with suppress(InputError):
            self._line.ask("POST", f"/v1/questions/{question['id']}", f'{{"answer":"{answer}"}}')


_OVER = ("done", "failed", "stopped")
