"""A workshop's history: many scans made of two real ones, spoilt ones among them, indexed."""

from __future__ import annotations

import hashlib
import shutil
from collections.abc import Iterable
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

import h5py
import numpy as np

from daq.archive.beside import Workshops
from daq.archive.database import open_archive
from daq.archive.one import Group, Task
from daq.archive.readings import scans_under
from daq.cli.main import main
from daq.demo.bench import software_rig

SEED, RATE_HZ = 5, 160
RIG = "simulated-rail"
STATES = ("strung", "unstrung")


def scan_both_states(folder: Path) -> None:
    """The two real scans; few samples, for they are read many times."""
    with software_rig(SEED, "--set", f"rate_hz={RATE_HZ}") as bench:
        bench.do("files", folder=str(folder))
        bench.do("place", what="neck")
        shop = ["--workshop", str(folder / "workshop")]
        new = f"job new good --instrument {folder / 'instrument.yaml'}"
        assert main([*shop, *new.split()]) == 0
        for state in STATES:
            bench.do("state", state=state)
            line = f"scan good --rig {folder / 'rig.yaml'} --state {state} --yes"
            assert main([*shop, *line.split()]) == 0


@dataclass(frozen=True)
class History:
    """A workshop with an archive. real: where the two real scans are."""

    root: Path
    real: Path

    @property
    def archive(self) -> Path:
        return self.root / "archive.db"

    def job(self, number: int) -> Path:
        """A job with the instrument's file."""
        folder = self.root / "jobs" / f"neck-{number:03d}"
        if not folder.is_dir():
            (folder / "scans").mkdir(parents=True)
            shutil.copy(self.real / "instrument.yaml", folder / "instrument.yaml")
        return folder

    def scan(self, number: int, state: str, job: int = 1) -> Path:
        """A scan like the real one of that state, with an id and counts of its own."""
        path = self.job(job) / "scans" / f"{number:03d}-{state}.h5"
        source = {one: f"{n:03d}-{one}.h5" for n, one in enumerate(STATES, 1)}[state]
        shutil.copy(self.real / "workshop/jobs/good/scans" / source, path)
        unlike(path, 1000 * job + number)
        return path

    def index(self, paths: Iterable[Path | str], rig: str | None = RIG) -> None:
        """As the archive's index would have them."""
        rows = [(str(path), scan_id(path), rig) for path in paths]
        with closing(open_archive(self.archive)) as database, database:
            database.executemany(
                "INSERT OR REPLACE INTO scans (url, kind, scan_id, rig) VALUES (?, 'scan', ?, ?)",
                rows,
            )

    def duplicate(self, path: Path, first: Path) -> None:
        """One more file of a scan, known as such."""
        shutil.copy(first, path)
        self.index([path])
        with closing(open_archive(self.archive)) as database, database:
            database.execute(
                "UPDATE scans SET duplicate_of = ? WHERE url = ?", (str(first), str(path))
            )

    def groups(self, size: int = 2) -> list[Group]:
        """All there is to read."""
        workshops = Workshops()
        with closing(open_archive(self.archive)) as database:
            found = [(one.url, workshops.beside(one.url, one.rig))
                     for one in scans_under(database, [])]  # fmt: skip
        tasks = [Task(url, beside, beside.way) for url, beside in found]
        return [tuple(tasks[at : at + size]) for at in range(0, len(tasks), size)]

    def stored(self) -> dict[str, tuple[object, ...]]:
        """Every reading but for when it was made, by url and way."""
        with closing(open_archive(self.archive)) as database:
            rows = database.execute(
                "SELECT url || ' ' || way, scan_id, outcome, fault, relief_um, u_relief_um, "
                "wear_um, worst_top_um, u_top_um, document FROM readings"
            ).fetchall()
        return {row[0]: row[1:] for row in rows}


def unlike(path: Path, seed: int) -> None:
    """A new id, and one reading in fifty a count higher."""
    rng = np.random.default_rng(seed)
    with h5py.File(path, "r+") as file:
        del file["entry/scan/id"]
        file["entry/scan/id"] = hashlib.sha256(str(seed).encode()).hexdigest()[:32]
        raw = file["entry/samples/raw"][()]
        at = rng.integers(0, raw.size, raw.size // 50)
        raw[at[raw[at] != np.iinfo(np.int32).min]] += 1
        file["entry/samples/raw"][...] = raw


def scan_id(path: Path | str) -> str | None:
    """As the scan says it, None where it does not."""
    try:
        with h5py.File(path) as file:
            return str(file["entry/scan/id"].asstr()[()])
    except (OSError, KeyError):
        return None


def spoilt(history: History, job: int) -> dict[str, Path]:
    """Files that cannot be read, by what is wrong with them."""
    whole = history.scan(90, "strung", job)
    folder = whole.parent
    (folder / "091-strung.h5").write_bytes(whole.read_bytes()[:200_000])
    (folder / "092-strung.h5").write_text("no scan at all")
    with h5py.File(folder / "093-strung.h5", "w") as file:
        file["somebody"] = "else's"
    shutil.copy(whole, folder / "094-strung.h5")
    with h5py.File(folder / "094-strung.h5", "r+") as file:
        file["entry/scan/format_version"][...] = 99
    whole.unlink()
    names = ("is cut short", "found something else", "not a neckform scan", "of version 99")
    return {name: folder / f"{91 + at:03d}-strung.h5" for at, name in enumerate(names)}
