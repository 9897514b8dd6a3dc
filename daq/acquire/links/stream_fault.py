"""What can be wrong with a stream, and when it began and ended."""

from __future__ import annotations

import re
from dataclasses import dataclass

_BEFORE_CURE = re.compile(r"[:;] ")


@dataclass(frozen=True, slots=True)
class StreamFault:
    """Something that is wrong now.

    kind: one word for programs. text: a whole line, with the cure. ends_pass: no pass can be
    good with it.
    """

    kind: str
    text: str
    ends_pass: bool = False

    @property
    def over(self) -> str:
        """What is said once it is no longer so: a sentence, without the cure."""
        return f"no longer so: {_BEFORE_CURE.split(self.text, maxsplit=1)[0]}"


def firmware_fault(kind: str, text: str, *, ends_pass: bool = False) -> StreamFault:
    """One that only the device's program can make."""
    cure = "switch it off and on, and look for its firmware's fault if that is no cure"
    return StreamFault(kind, f"{text}; {cure}", ends_pass)


class Changes:
    """Which faults of which link began, and which are over; `present` holds those there are."""

    def __init__(self) -> None:
        self.present: dict[tuple[int, str], StreamFault] = {}

    def of(
        self, link: int, faults: tuple[StreamFault, ...]
    ) -> tuple[tuple[StreamFault, ...], tuple[StreamFault, ...]]:
        """(begun, over) since the last time this link was told of."""
        if not (faults or self.present):
            return (), ()
        now = {(link, fault.kind): fault for fault in faults}
        begun = tuple(fault for key, fault in now.items() if key not in self.present)
        gone = [key for key in self.present if key[0] == link and key not in now]
        over = tuple(self.present.pop(key) for key in gone)
        self.present.update({key: now[key] for key in now if key not in self.present})
        return begun, over
