"""What every command has at hand: the workshop, where to write, how to ask."""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Callable, Mapping
from contextlib import AbstractContextManager, nullcontext
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer
from rich.console import Console

from daq.errors import InputError
from daq.text.console import make_console
from daq.workshop.place import Workshop, workshop_folder

# The rig's side of the program is imported by whoever asks for a rig: most commands have none.
if TYPE_CHECKING:
    from daq.acquire.use import RigUse
    from daq.files.rig import RigFile
    from daq.steps.recording import Operator

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
        from daq.acquire.use import OwnRig
        from daq.daemon.finding import daemon_of

        return daemon_of(rig_file, self.workshop.root) or OwnRig(rig_file)

    def ask(self, what: str) -> None:
        """Shows what to do and waits until it is done."""
        _Asker(nullcontext, self.yes)(what)

    def operator(self, rig_file: RigFile) -> Operator:
        """The rig, and the person at it."""
        from daq.steps.recording import Operator
        from daq.text.scan_progress import scan_progress

        progress = scan_progress()
        return Operator(self.rig(rig_file), progress, _Asker(progress.paused, self.yes))


@dataclass(frozen=True, slots=True)
class _Asker:
    """Shows what to do and waits for Enter. paused: what keeps a live line away meanwhile."""

    paused: Callable[[], AbstractContextManager[None]]
    yes: bool

    def __call__(self, what: str) -> None:
        if self.yes:
            make_console(sys.stderr).print(what, markup=False)
            return
        if not sys.stdin.isatty():
            raise InputError(f"{what}: nobody is there to do it; run this in a terminal")
        with self.paused():
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
