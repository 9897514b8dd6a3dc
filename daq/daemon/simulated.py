"""A rig of software, served as one of steel: a process of its own, with a port to open."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from daq.demo.bench import software_rig
from daq.files.rig import RigFile, load_rig


@contextmanager
def simulated(folder: Path, seed: int) -> Iterator[RigFile]:
    """Its rig.yaml and instrument.yaml are in the folder; it is gone when the block ends.

    A neck lies on it. It keeps real time: a scan lasts as long as on steel. Raises RigError where
    it does not start.
    """
    folder.mkdir(parents=True, exist_ok=True)
    with software_rig(seed, "--realtime", "--link-folder", str(folder / "ports")) as bench:
        bench.do("files", folder=str(folder))
        bench.do("place", what="neck")
        yield load_rig(folder / "rig.yaml")
