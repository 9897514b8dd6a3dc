"""Whether the processes that share a work come to the same numbers."""

from __future__ import annotations

from collections.abc import Mapping

from daq.errors import InputError


def check_alike(
    here: Mapping[str, str], there: Mapping[str, Mapping[str, str]], address: str
) -> None:
    """here, there by worker: versions by name. Raises InputError that names the first difference:
    other versions may round otherwise, and then scans would seem to have changed."""
    for worker, versions in there.items():
        for name, wanted in here.items():
            found = versions.get(name, "none")
            if found != wanted:
                raise InputError(
                    f"--scheduler {address}: worker {worker} has {name} {found}; allowed "
                    f"{wanted}, as here; install the same there"
                )
