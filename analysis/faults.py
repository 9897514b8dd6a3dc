"""What the measurements contradict: said in one line, never argued away."""

from __future__ import annotations


class NeckError(ValueError):
    """The scan and the instrument's file do not belong together, or the scan shows no neck."""
