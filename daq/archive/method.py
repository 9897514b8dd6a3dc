"""Which program reads: two that say the same here come to the same numbers."""

from __future__ import annotations

import hashlib
import platform
from functools import cache
from importlib.metadata import version
from pathlib import Path

import analysis
import calibration
import daq

#: All that is between a scan file and its tops.
_SOURCES = (
    (calibration, "**/*.py"),
    (analysis, "**/*.py"),
    (daq, "archive/numbers.py"),
    (daq, "archive/one.py"),
    (daq, "files/*.py"),
    (daq, "reading/*.py"),
    (daq, "record/*.py"),
)
#: What numbers pass through besides.
_LIBRARIES = ("numpy", "scipy", "h5py")


@cache
def method() -> str:
    """The program's version and a digest of the sources that make the numbers.

    Of the sources and not of a number kept by hand, which somebody would forget to raise.
    """
    digest = hashlib.sha256()
    for package, pattern in _SOURCES:
        root = Path(str(package.__file__)).parent
        for path in sorted(root.glob(pattern)):
            digest.update(str(path.relative_to(root)).encode() + b"\0" + path.read_bytes())
    return f"{version('neckform')} {digest.hexdigest()[:12]}"


def surroundings() -> dict[str, str]:
    """Program, Python and libraries of this process, by name."""
    return {
        "neckform": method(),
        "Python": platform.python_version(),
        **{name: version(name) for name in _LIBRARIES},
    }
