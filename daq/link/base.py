"""What the rest of the shell needs of a port, so that any stream of bytes can stand in for one."""

from __future__ import annotations

from typing import Protocol


class Link(Protocol):
    """A port that is open. Every method raises RigError when the port fails."""

    def read(self) -> bytes:
        """What has come; waits up to about 50 ms for it and returns b"" where nothing came."""

    def write(self, data: bytes) -> None:
        """Sends all of `data`."""

    def close(self) -> None:
        """Lets the port go. Closing twice does no harm."""
