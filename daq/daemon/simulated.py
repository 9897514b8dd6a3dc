"""A rig of software, served as one of steel: a process of its own, with a port to open."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from daq.daemon.hands import Hands
from daq.demo.bench import software_rig
from daq.files.rig import RigFile, load_rig
from daq.workshop.place import Workshop

FASTEST = 50.0
"""How many times as fast as steel it may be: a whole strung scan in 8 s. Faster than this a busy
machine gives it less time than it asks for, and it stands on its pads meanwhile."""


@contextmanager
def simulated(workshop: Workshop, seed: int, pace: float) -> Iterator[tuple[RigFile, Hands]]:
    """Its rig.yaml and instrument.yaml are in the workshop's folder `simulated`; it is gone when
    the block ends.

    A strung neck lies on it. pace: how many times as fast as on steel everything happens. Raises
    RigError where it does not start.
    """
    folder = workshop.root / "simulated"
    folder.mkdir(parents=True, exist_ok=True)
    with software_rig(seed, "--pace", f"{pace:g}", "--link-folder", str(folder / "ports")) as bench:
        bench.do("files", folder=str(folder))
        bench.do("place", what="neck")
        instrument = (folder / "instrument.yaml").read_text("utf-8")
        yield load_rig(folder / "rig.yaml"), Hands(bench, workshop, instrument, pace)
