"""How old a calibration is, and when that is too old."""

from __future__ import annotations

from datetime import datetime

#: A homemade rig is worth looking at again after so many days (common practice, no source).
OLD_DAYS = 90


def age_days(made: datetime, then: datetime) -> int:
    """Whole days from when it was made until then; negative where it was made later."""
    return round((then - made).total_seconds() / 86_400.0)


def age_words(days: int, then: str = "the scan") -> str:
    """43 days before the scan; on the day of the scan."""
    if days == 0:
        return f"on the day of {then}"
    size = f"{abs(days)} day{'' if abs(days) == 1 else 's'}"
    return f"{size} {'before' if days > 0 else 'after'} {then}"


def is_old(days: int) -> bool:
    """Either way: a rail may have changed between a scan and a much later calibration as well."""
    return abs(days) > OLD_DAYS
