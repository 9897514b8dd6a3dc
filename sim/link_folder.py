"""Names that stay when a cable is pulled and plugged in again, as a system gives them by id."""

from __future__ import annotations

from pathlib import Path


class LinkFolder:
    """A symbolic link for each link of the rig, to the port it has now; none while it has none."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder.absolute()
        self._folder.mkdir(parents=True, exist_ok=True)

    def point(self, link: str, port: str) -> str:
        """Has the link's name lead to this port; returns the name."""
        name = self._folder / link
        name.unlink(missing_ok=True)
        name.symlink_to(port)
        return str(name)

    def remove(self, link: str) -> None:
        """The port has gone."""
        (self._folder / link).unlink(missing_ok=True)
