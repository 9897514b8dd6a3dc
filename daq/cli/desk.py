"""What every command has at hand: the workshop, where to write, how to ask."""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any

import typer
from rich.console import Console

from daq.acquire.passes.progress import NoProgress, ProgressSink
from daq.acquire.use import OwnRig, RigUse
from daq.daemon.finding import daemon_of
from daq.errors import InputError
from daq.files.rig import RigFile
from daq.steps.recording import Operator
from daq.text.console import make_console
from daq.text.scan_progress import RichProgress, scan_progress
from daq.workshop.place import Workshop, workshop_folder

AsJson = Annotated[
    bool, typer.Option("--json", help="Print one JSON document on standard output, nothing else.")
]
Yes = Annotated[bool, typer.Option("--yes", help="Answer every question yes.")]
RigPath = Annotated[Path, typer.Option("--rig", help="The rig file (YAML).")]
JobName = Annotated[str, typer.Argument(metavar="NAME", help="The job's name.")]


@dataclass(frozen=True, slots=True)
class Desk:
    """One command's surroundings."""

    workshop: Workshop
    as_json: bool
    yes: bool

    @property
    def out(self) -> Console:
        """Where results for people go: standard output, or standard error beside JSON."""
        return make_console(sys.stderr if self.as_json else sys.stdout)

    @property
    def aside(self) -> Console:
        """Cautions, progress, questions."""
        return make_console(sys.stderr)

    def answer(self, document: Mapping[str, Any]) -> None:
        """The command's one JSON document, where it was asked for."""
        if self.as_json:
            # ASCII: whatever the locale, and even where a path is no text, it is one document.
            sys.stdout.write(json.dumps(document, allow_nan=False) + "\n")
            sys.stdout.flush()

    def warn(self, line: str) -> None:
        """One line on standard error, as faults are told, where a command goes on all the same."""
        sys.stderr.write(f"neckform: {line}\n")

    def rig(self, rig_file: RigFile) -> RigUse:
        """The rig of a rig file: through the daemon that has it, or else opened here."""
        return daemon_of(rig_file, self.workshop.root) or OwnRig(rig_file)

    def ask(self, what: str) -> None:
        """Shows what to do and waits until it is done."""
        _Asker(NoProgress(), self.yes)(what)

    def operator(self, rig_file: RigFile) -> Operator:
        """The rig, and the person at it."""
        progress = scan_progress()
        return Operator(self.rig(rig_file), progress, _Asker(progress, self.yes))


@dataclass(frozen=True, slots=True)
class _Asker:
    """Shows what to do and waits for Enter."""

    progress: ProgressSink
    yes: bool

    def __call__(self, what: str) -> None:
        if self.yes:
            make_console(sys.stderr).print(what, markup=False)
            return
        if not sys.stdin.isatty():
            raise InputError(f"{what}: nobody is there to do it; run this in a terminal")
        if isinstance(self.progress, RichProgress):
            with self.progress.paused():
                _wait(what)
        else:
            _wait(what)


def _wait(what: str) -> None:
    sys.stderr.write(f"{what} [Enter when done, Ctrl-C to give up] ")
    sys.stderr.flush()
    sys.stdin.readline()


def desk(context: typer.Context, *, as_json: bool = False, yes: bool = False) -> Desk:
    """The desk of a command, at the workshop given before the command.

    Raises InputError where the workshop is no folder.
    """
    folder = workshop_folder(context.obj, os.environ)
    if folder.exists() and not folder.is_dir():
        raise InputError(f"workshop {folder}: found a file; allowed a folder")
    return Desk(Workshop(folder), as_json, yes)
