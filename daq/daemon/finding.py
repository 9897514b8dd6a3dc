"""The daemon that a command works through, where there is one."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from daq.daemon.register import Entry, serving
from daq.errors import InputError
from daq.files.rig import RigFile
from daq.steps.recording import program

if TYPE_CHECKING:
    from daq.daemon.client import DaemonRig


def daemon_of(rig_file: RigFile, workshop: Path, folder: Path | None = None) -> DaemonRig | None:
    """The daemon that has the ports of a rig file, or None.

    workshop: where the command works. Raises InputError where the
    daemon serves another version of the rig file, another workshop, or is of another version.
    """
    for link in rig_file.used_links:
        entry = serving(link.port, folder)
        if entry is not None:
            _check(entry, rig_file, workshop, program())
            from daq.daemon.client import DaemonRig  # needed only where there is one

            return DaemonRig(rig_file, entry)
    return None


def _check(entry: Entry, rig_file: RigFile, workshop: Path, own: str) -> None:
    served = f"the rig is served by {entry.words}"
    if entry.program != own:
        raise InputError(
            f"{served}, which is {entry.program}, and this is {own}; start the daemon again"
        )
    if Path(entry.workshop) != workshop.resolve():
        raise InputError(
            f"{served}, for the workshop {entry.workshop}, and this command is for "
            f"{workshop.resolve()}; give one of them the other's --workshop"
        )
    if entry.rig_text != rig_file.text:
        raise InputError(
            f"{served}, by another version of the rig file than {rig_file.name}'s here; start "
            "the daemon again with this one"
        )
