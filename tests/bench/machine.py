"""On what, with what and when it was measured."""

from __future__ import annotations

import os
import platform
from datetime import UTC, datetime
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

PACKAGES = (
    "numpy", "scipy", "h5py", "highspy", "pyserial", "typer", "qcodes", "bluesky", "pulp",
)  # fmt: skip


def described() -> str:
    """A few lines."""
    load = ", ".join(f"{one:.1f}" for one in os.getloadavg())
    return "\n".join(
        [
            f"- {datetime.now(UTC):%Y-%m-%d}, {_processor()}, {os.cpu_count()} cores, "
            f"{platform.system()} {platform.release()}, Python {platform.python_version()}",
            "- " + ", ".join(f"{name} {_version(name)}" for name in PACKAGES),
            f"- load when it began: {load}",
        ]
    )


def _processor() -> str:
    for line in Path("/proc/cpuinfo").read_text().splitlines():
        if line.startswith("model name"):
            return line.partition(":")[2].strip()
    return platform.machine()


def _version(name: str) -> str:
    try:
        return version(name)
    except PackageNotFoundError:
        return "not installed"
