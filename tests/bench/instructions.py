"""How many of Python's own instructions some work takes: the same on every machine and load."""

from __future__ import annotations

import sys
from collections.abc import Callable
from types import FrameType
from typing import Any


def instructions(work: Callable[[], object]) -> int:
    """Byte code instructions executed in this thread, in every function called.

    What runs inside an array function is not seen: a loop over samples is, in whatever form
    Python writes it.
    """
    count = 0

    def trace(frame: FrameType, event: str, _: Any) -> Any:
        nonlocal count
        frame.f_trace_opcodes, frame.f_trace_lines = True, False
        count += event == "opcode"
        return trace

    before = sys.gettrace()
    sys.settrace(trace)
    try:
        work()
    finally:
        sys.settrace(before)
    return count


def for_a_thousand_more(make: Callable[[int], Callable[[], object]], few: int, many: int) -> float:
    """What each thousand samples more adds. make: the work for so many samples, made ready."""
    for samples in (few, many):
        make(samples)()  # what is done once only is done
    added = instructions(make(many)) - instructions(make(few))
    return 1e3 * added / (many - few)
