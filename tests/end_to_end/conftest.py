"""One simulated rig, one workshop with a job of both states; every test gets a copy of it."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import sysconfig
from collections.abc import Callable, Iterator
from contextlib import contextmanager, nullcontext, redirect_stdout
from dataclasses import dataclass
from pathlib import Path

import pytest

from daq.acquire.passes.progress import NoProgress
from daq.cli.main import main
from daq.demo.bench import Bench, software_rig

from ..once import once_a_run

SEED = 5
LIMITED = (
    "import resource; resource.setrlimit(resource.RLIMIT_FSIZE, ({0}, {0}));"
    "from daq.cli.main import run; run()"
)


@dataclass(frozen=True)
class Outcome:
    """What a command line came to."""

    code: int
    out: str
    err: str

    @property
    def faults(self) -> list[str]:
        """The lines that tell a fault."""
        return [line for line in self.err.splitlines() if line.startswith("neckform: ")]


@dataclass(frozen=True)
class Shop:
    """A workshop of a test's own, and the files of the rig and the instrument beside it."""

    folder: Path

    @property
    def root(self) -> Path:
        return self.folder / "workshop"

    @property
    def rig(self) -> Path:
        return self.folder / "rig.yaml"

    @property
    def instrument(self) -> Path:
        return self.folder / "instrument.yaml"

    def job(self, name: str) -> Path:
        return self.root / "jobs" / name

    def scan(self, name: str, job: str = "good") -> Path:
        return self.job(job) / "scans" / f"{name}.h5"

    def own(self, name: str, job: str = "good") -> Path:
        """A scan file to spoil: until then it is shared with all the other tests."""
        path = self.scan(name, job)
        path.write_bytes(unlinked(path))
        return path

    def words(self, line: str) -> list[str]:
        """A command line with {places} filled in, in this workshop."""
        places = {
            "rig": self.rig,
            "instrument": self.instrument,
            "shop": self.root,
            "folder": self.folder,
            "strung": self.scan("001-strung"),
            "unstrung": self.scan("002-unstrung"),
            "rail": self.root / "calibrations/simulated-rail/scans/001-rail.h5",
        }
        filled = [word.format(**places) for word in line.split()]
        return ["--workshop", str(self.root), *filled]


Type = Callable[..., Outcome]


def unlinked(path: Path) -> bytes:
    data = path.read_bytes()
    path.unlink()
    return data


def link_scans(old: str, new: str) -> None:
    """Scan files are large and nobody writes to one, so all copies of the workshop share them."""
    if old.endswith(".h5"):
        os.link(old, new)
    else:
        shutil.copy(old, new)


@pytest.fixture(scope="session")
def program() -> list[str]:
    """The installed program, for what needs a process of its own."""
    return [str(Path(sysconfig.get_path("scripts")) / "neckform")]


@pytest.fixture(scope="session")
def limited() -> Callable[[int], list[str]]:
    """The program with no file allowed to grow past so many bytes: a full disk."""
    return lambda most: [sys.executable, "-c", LIMITED.format(most)]


@pytest.fixture(scope="session")
def bench() -> Iterator[Bench]:
    """The one simulated rig of all these tests."""
    with software_rig(SEED) as rig:
        yield rig


@pytest.fixture(scope="session")
def made(tmp_path_factory: pytest.TempPathFactory) -> Shop:
    """Scanned once, on a rig of its own. Nobody writes here.

    Jobs: good (both states), empty, on (strings left on for the unstrung scan), slack (strings
    off for the strung scan), edge (a straightedge where the neck should be). The rail is
    calibrated, and rail.json is what that answered.
    """
    return Shop(once_a_run(tmp_path_factory, "scanned", _scan_all))


def _scan_all(folder: Path) -> None:
    shop = Shop(folder)
    with software_rig(SEED) as bench:
        bench.do("files", folder=str(folder))
        for name in ("good", "empty", "on", "slack", "edge"):
            do(shop, f"job new {name} --instrument {{instrument}}")
        bench.do("place", what="straightedge")
        with (folder / "rail.json").open("w") as answer, redirect_stdout(answer):
            do(shop, "calibrate rail --rig {rig} --reference straightedge --json")
        do(shop, "scan edge --rig {rig} --state strung")
        bench.do("place", what="neck")
        bench.do("state", state="strung")
        do(shop, "scan good --rig {rig} --state strung")
        do(shop, "scan on --rig {rig} --state unstrung")
        bench.do("state", state="unstrung")
        do(shop, "scan good --rig {rig} --state unstrung")
        do(shop, "scan slack --rig {rig} --state strung")
    lend(shop, "001-strung", "on", "002-strung")
    lend(shop, "002-unstrung", "slack", "002-unstrung")


def do(shop: Shop, line: str) -> None:
    assert main(shop.words(line)) == 0, line


def lend(shop: Shop, name: str, job: str, new_name: str) -> None:
    """A scan of the good job, in another one as well."""
    shutil.copy(shop.scan(name), shop.scan(new_name, job))


@pytest.fixture
def shop(made: Shop, tmp_path: Path) -> Shop:
    """A copy of the workshop, its scan files shared, without a rig behind it."""
    shutil.copytree(made.folder, tmp_path, copy_function=link_scans, dirs_exist_ok=True)
    text = made.rig.read_text(encoding="utf-8")
    port = next(line for line in text.splitlines() if "port:" in line)
    absent = "  rig: {port: /dev/not-plugged-in, baud: 460800, protocol: line}"
    (tmp_path / "rig.yaml").write_text(text.replace(port, absent), encoding="utf-8")
    return Shop(tmp_path)


@pytest.fixture
def live(shop: Shop, bench: Bench) -> Shop:
    """A copy of the workshop, and the rig with a strung neck on it."""
    bench.do("files", folder=str(shop.folder))
    bench.do("place", what="neck")
    bench.do("state", state="strung")
    return shop


@pytest.fixture
def type_in(capfd: pytest.CaptureFixture[str]) -> Type:
    """Runs a command line in this process."""

    def type_in(shop: Shop, line: str, *more: str) -> Outcome:
        capfd.readouterr()
        code = main([*shop.words(line), *more])
        return Outcome(code, *capfd.readouterr())

    return type_in


@pytest.fixture
def run() -> Type:
    """Runs a command line to its end in a process of its own, with nobody at its input."""

    def run(program: list[str], words: list[str], **how: object) -> Outcome:
        done = subprocess.run(  # type: ignore[call-overload]
            [*program, *words], stdin=subprocess.DEVNULL, capture_output=True, text=True, **how
        )
        return Outcome(done.returncode, done.stdout, done.stderr)

    return run


@pytest.fixture
def started(program: list[str]) -> Callable[..., object]:
    """A command line in a process of its own, given back once its first pass is over."""

    @contextmanager
    def started(words: list[str]) -> Iterator[subprocess.Popen[str]]:
        with subprocess.Popen(
            [*program, *words],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        ) as process:
            assert process.stderr is not None
            try:
                assert any("1/" in line for line in process.stderr), "no pass was made"
                yield process
            finally:
                process.kill()

    return started


@pytest.fixture
def in_pass(monkeypatch: pytest.MonkeyPatch) -> Callable[[int, Callable[[], object]], None]:
    """Has something done once, in the middle of the numbered pass of the next scan."""

    def in_pass(number: int, act: Callable[[], object]) -> None:
        class Watcher(NoProgress):
            passes = 0
            acted = False
            paused = staticmethod(nullcontext)

            def pass_started(self, *_: object) -> None:
                self.passes += 1

            def samples(self, count: int, *_: object) -> None:
                if self.passes == number and count > 100 and not self.acted:
                    self.acted = True
                    act()

        monkeypatch.setattr("daq.text.scan_progress.scan_progress", Watcher)

    return in_pass
