"""Why a port cannot be used, as the one line a user sees."""

from __future__ import annotations

import errno
import grp
from collections.abc import Sequence
from pathlib import Path

from daq.errors import RigError

_ABSENT = (errno.ENOENT, errno.ENXIO, errno.ENODEV)
_FORBIDDEN = (errno.EACCES, errno.EPERM)
_BUSY = (errno.EBUSY, errno.EAGAIN)


class LinkLost(RigError):
    """A port that was open is gone; it may come back. what: what happened, without a cure."""

    def __init__(self, port: str) -> None:
        self.port = port
        self.what = f"the cable to {port} came loose, or the rig lost power: the port is gone"
        super().__init__(f"{self.what}; plug it in again and repeat")


def cannot_open(port: str, baud: int, error: Exception, present: Sequence[str]) -> RigError:
    """The fault behind a failed opening.

    present: the serial ports this machine has, told where the one asked for is not there.
    """
    number = error.errno if isinstance(error, OSError) else None
    if number in _ABSENT:
        return RigError(f"there is no port {port}: {_instead(present)}")
    if number in _FORBIDDEN:
        return RigError(f"no permission to open {port}: {_who_may(port)}")
    if number in _BUSY:
        return RigError(
            f"{port} is busy: another program has it open; close that program and try again"
        )
    if isinstance(error, ValueError):
        return RigError(f"{port} cannot run at {baud} baud; set a baud rate the port knows")
    return RigError(f"{port} does not open as a serial port ({error}); check the port in the rig")


def deaf(port: str) -> RigError:
    """The fault of a port that takes no more bytes."""
    return RigError(
        f"the rig on {port} takes no commands: what is sent to it does not go out; "
        "check the cable and switch the rig off and on"
    )


def _instead(present: Sequence[str]) -> str:
    if not present:
        return "no serial port is plugged in at all; check the cable and the rig's power"
    return f"the serial ports there are: {', '.join(sorted(present))}; set one in the rig file"


def _who_may(port: str) -> str:
    try:
        group = grp.getgrgid(Path(port).stat().st_gid).gr_name
    except (OSError, KeyError):
        return "ask whoever looks after this machine for access to it"
    return (
        f"it belongs to the group {group}; add yourself to that group "
        f"(sudo usermod -aG {group} $USER) and log in again"
    )
