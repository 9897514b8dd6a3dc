"""A rig made of software, for as long as a campaign needs it."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager

import pytest

from daq.demo.bench import Bench


@pytest.fixture
def simulated() -> Callable[[int, tuple[str, ...]], AbstractContextManager[Bench]]:
    """Opens the rig of this seed with these options, and closes it."""
    return _simulated


@contextmanager
def _simulated(seed: int, options: tuple[str, ...]) -> Iterator[Bench]:
    command = [sys.executable, "-P", "-m", "sim", "--seed", str(seed), *options]
    pipe = subprocess.PIPE
    with subprocess.Popen(
        command, stdin=pipe, stdout=pipe, text=True, start_new_session=True
    ) as process:
        try:
            yield Bench(process)
        finally:
            process.terminate()
