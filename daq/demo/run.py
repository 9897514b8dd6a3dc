"""The story of one job, command by command."""

from __future__ import annotations

import contextlib
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from rich.console import Console

from daq.demo.bench import HAND_GAIN, Bench, software_rig
from daq.demo.truth import Found, against_truth
from daq.errors import NeckformError
from daq.text.console import heading, say
from daq.workshop.store import read_group

#: Runs one command line and returns its exit code.
Program = Callable[[list[str]], int]
JOB = "demo"


@dataclass(frozen=True, slots=True)
class Demo:
    """What a run needs: the program, where its workshop is, where to talk."""

    program: Program
    folder: Path
    console: Console
    quiet_output: bool

    def type(self, *words: str) -> int:
        """One command as a person types it; an unexpected failure ends the demo."""
        heading(self.console, f"$ neckform {' '.join(words)}")
        with self._output():
            code = self.program(["--workshop", str(self.folder / "workshop"), *words])
        if code not in (0, 1):
            raise NeckformError(f"the demo stopped: `neckform {' '.join(words)}` ended with {code}")
        return code

    @contextlib.contextmanager
    def _output(self) -> Iterator[None]:
        if not self.quiet_output:
            yield
            return
        with contextlib.redirect_stdout(sys.stderr):
            yield


def run_demo(demo: Demo, seed: int) -> dict[str, Any]:
    """From an unknown rig to a verified cut, then the truth. Returns the demo's document."""
    began = time.monotonic()
    demo.folder.mkdir(parents=True, exist_ok=True)
    with software_rig(seed) as bench:
        bench.do("files", folder=str(demo.folder))
        _calibrate(demo, bench)
        _measure(demo, bench)
        plan = _plan(demo)
        _cut(demo, bench, plan)
        verified_s = time.monotonic() - began
        truth = bench.do("truth")
        _string_up(demo, bench, plan)
        demo.type("report", JOB)
    found = Found(demo.folder / "workshop", JOB)
    page = against_truth(found, truth, HAND_GAIN)
    _last_page(demo.console, page)
    return {
        "seed": seed,
        "folder": str(demo.folder),
        "seconds_to_verified": round(verified_s, 2),
        "metal": plan["metal"],
        "feasible": plan["feasible"],
        "against_truth": page,
    }


def _calibrate(demo: Demo, bench: Bench) -> None:
    rig = str(demo.folder / "rig.yaml")
    demo.type("rig", "check", rig, "--yes")
    _tell(demo, "A straightedge is laid on the rig.")
    bench.do("place", what="straightedge")
    demo.type("calibrate", "rail", "--rig", rig, "--reference", "straightedge")
    _tell(demo, "The instrument is laid on the rig, strings on and at pitch.")
    bench.do("place", what="neck")
    bench.do("state", state="strung")
    demo.type("calibrate", "lag", "--rig", rig)


def _measure(demo: Demo, bench: Bench) -> None:
    rig = str(demo.folder / "rig.yaml")
    demo.type("job", "new", JOB, "--instrument", str(demo.folder / "instrument.yaml"))
    demo.type("scan", JOB, "--rig", rig, "--state", "strung")
    _tell(demo, "The strings are taken off.")
    bench.do("state", state="unstrung")
    demo.type("scan", JOB, "--rig", rig, "--state", "unstrung")
    demo.type("tops", JOB, "--state", "unstrung")
    demo.type("compare", JOB)


def _plan(demo: Demo) -> dict[str, Any]:
    demo.type("plan", JOB)
    plan: dict[str, Any] = read_group(demo.folder / "workshop/jobs" / JOB / "plans/001.json")
    return plan


def _cut(demo: Demo, bench: Bench, plan: dict[str, Any]) -> None:
    if not plan["cuts"]:
        _tell(demo, "Nothing needs cutting, so there is nothing to verify.")
        return
    _tell(demo, f"The frets are filed by hand; this hand takes {100 * HAND_GAIN:.0f} % of its aim.")
    bench.file_frets(plan["cuts"])
    demo.type("scan", JOB, "--rig", str(demo.folder / "rig.yaml"), "--state", "unstrung")
    demo.type("verify", JOB)


def _string_up(demo: Demo, bench: Bench, plan: dict[str, Any]) -> None:
    """The end of the job: set up as planned, strings on, and the strung neck measured again."""
    if not plan["cuts"]:
        return
    rod = plan["rod"]
    turns = rod["turns"] if rod["direction"] == "tighten" else -rod["turns"]
    _tell(demo, "The rod is set as planned; strings on and at pitch, saddles set by the gauge.")
    bench.do("rod", turns=turns)
    bench.do("state", state="strung")
    rig = str(demo.folder / "rig.yaml")
    demo.type("scan", JOB, "--rig", rig, "--state", "strung", "--rod", str(turns))
    demo.type("verify", JOB)


def _tell(demo: Demo, text: str) -> None:
    say(demo.console, f"— {text}", "italic")


def _last_page(console: Console, page: dict[str, Any]) -> None:
    """What only a simulator can know: how far off the measurements were."""
    heading(console, "Against the truth, which no command above has seen")
    for name, value in page.items():
        say(console, f"{name.replace('_', ' '):44} {value if value is not None else 'none'}")
