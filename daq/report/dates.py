"""Times as a person reads them."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

_MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)  # fmt: skip


def day_words(iso: str) -> str:
    """26 November 2026; what is no time stays as it is."""
    then = _read(iso)
    return iso if then is None else f"{then.day} {_MONTHS[then.month - 1]} {then.year}"


def moment_words(iso: str) -> str:
    """26 November 2026, 14:05, by the clock where it was written down."""
    then = _read(iso)
    return iso if then is None else f"{day_words(iso)}, {then:%H:%M}"


def days_words(times: Sequence[str]) -> str:
    """26 November 2026; 24 to 26 November 2026, the earliest and the latest day of them."""
    read = sorted(then for then in map(_read, times) if then is not None)
    if not read:
        return ""
    first, last = read[0], read[-1]
    whole = f"{last.day} {_MONTHS[last.month - 1]} {last.year}"
    if first.date() == last.date():
        return whole
    start = f"{first.day}"
    if (first.year, first.month) != (last.year, last.month):
        start += f" {_MONTHS[first.month - 1]}"
    if first.year != last.year:
        start += f" {first.year}"
    return f"{start} to {whole}"


def _read(iso: str) -> datetime | None:
    """The offset is left out: a day is the day it was there."""
    try:
        return datetime.fromisoformat(iso).replace(tzinfo=None)
    except ValueError:
        return None
