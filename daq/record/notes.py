"""The notes between the bytes: what scan, which pass, how it ended."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from daq.errors import FileError

Point = tuple[float, float | None]


@dataclass(frozen=True, slots=True)
class ScanBegin:
    """A scan begins.

    purpose: scan, rail, lag or check. state: strung, unstrung or None.
    label, job: empty where there is none. started: ISO 8601 with offset.
    program: name and version. The texts are the files' own, as they were used. rod_turns: how
    far the truss rod stands from where it stood when the job was opened, tightening positive.
    """

    id: str
    purpose: str
    state: str | None
    label: str
    job: str
    started: str
    program: str
    rig_text: str
    instrument_text: str | None
    calibration_texts: Mapping[str, str]
    rod_turns: float = 0.0

    def as_note(self) -> dict[str, object]:
        """The note to write into the journal."""
        return {
            "note": "scan_begin",
            "id": self.id,
            "purpose": self.purpose,
            "state": self.state,
            "label": self.label,
            "job": self.job,
            "started": self.started,
            "program": self.program,
            "texts": {
                "rig": self.rig_text,
                "instrument": self.instrument_text,
                "calibrations": dict(self.calibration_texts),
            },
            "rod_turns": self.rod_turns,
        }


@dataclass(frozen=True, slots=True)
class Links:
    """The rig has two links. names: by number, the sensor's and then the carriage's."""

    names: tuple[str, ...]

    def as_note(self) -> dict[str, object]:
        """The note to write into the journal."""
        return {"note": "links", "names": list(self.names)}


@dataclass(frozen=True, slots=True)
class Dialects:
    """How the devices on the links speak; where this note is missing all speak the line protocol.

    links: for each, by number, its protocol's name and what that is set to.
    """

    links: tuple[tuple[str, Mapping[str, Any]], ...]

    def as_note(self) -> dict[str, object]:
        """The note to write into the journal."""
        links = [{"protocol": protocol, **settings} for protocol, settings in self.links]
        return {"note": "dialects", "links": links}


@dataclass(frozen=True, slots=True)
class Reconnected:
    """A link was lost and is there again: the bytes from here on begin anew."""

    link: int

    def as_note(self) -> dict[str, object]:
        """The note to write into the journal."""
        return {"note": "reconnected", "link": self.link}


@dataclass(frozen=True, slots=True)
class PassBegin:
    """A pass begins.

    string: NaN where the lane has nothing to do with strings. direction: +1 or -1.
    from_mm, to_mm: carriage x and y; y is None where no slide is driven across.
    y_mm: where the cross slide was set by hand, None where it counts by itself.
    attempt: 1 for the first try of this pass.
    """

    number: int
    lane: int
    string: float
    direction: int
    speed_mm_s: float
    from_mm: Point
    to_mm: Point
    y_mm: float | None
    attempt: int

    def as_note(self) -> dict[str, object]:
        """The note to write into the journal."""
        return {
            "note": "pass_begin",
            "pass": self.number,
            "lane": self.lane,
            "string": None if self.string != self.string else self.string,
            "direction": self.direction,
            "speed_mm_s": self.speed_mm_s,
            "from_mm": list(self.from_mm),
            "to_mm": list(self.to_mm),
            "y_mm": self.y_mm,
            "attempt": self.attempt,
        }


@dataclass(frozen=True, slots=True)
class PassEnd:
    """A pass is over. why: the gates it failed, empty where it is good."""

    number: int
    good: bool
    why: tuple[str, ...]

    def as_note(self) -> dict[str, object]:
        """The note to write into the journal."""
        return {"note": "pass_end", "pass": self.number, "good": self.good, "why": list(self.why)}


@dataclass(frozen=True, slots=True)
class ScanEnd:
    """A scan is over. end: done, interrupted or failed."""

    end: str
    why: str

    def as_note(self) -> dict[str, object]:
        """The note to write into the journal."""
        return {"note": "scan_end", "end": self.end, "why": self.why}


Note = ScanBegin | Links | Dialects | Reconnected | PassBegin | PassEnd | ScanEnd


def parse_note(payload: bytes) -> Note | None:
    """The note in a record, or None where it is of a kind that this program does not use.

    FileError: it is no JSON object, or a key is missing or of the wrong kind.
    """
    try:
        note = json.loads(payload)
        read = _READERS.get(note["note"])
        return read(note) if read else None
    except (ValueError, TypeError, KeyError, AttributeError) as error:
        start = payload[:60].decode(errors="replace")
        raise FileError(
            f"a note cannot be understood ({type(error).__name__}: {error}): {start!r}"
        ) from error


def _scan_begin(note: Mapping[str, Any]) -> ScanBegin:
    texts = note["texts"]
    calibrations = texts.get("calibrations") or {}
    instrument = texts.get("instrument")
    return ScanBegin(
        id=str(note["id"]),
        purpose=str(note["purpose"]),
        state=None if note.get("state") is None else str(note["state"]),
        label=str(note.get("label") or ""),
        job=str(note.get("job") or ""),
        started=str(note["started"]),
        program=str(note["program"]),
        rig_text=str(texts["rig"]),
        instrument_text=None if instrument is None else str(instrument),
        calibration_texts={str(k): str(v) for k, v in calibrations.items() if v is not None},
        rod_turns=float(note.get("rod_turns") or 0.0),
    )


def _links(note: Mapping[str, Any]) -> Links:
    return Links(tuple(map(str, note["names"])))


def _dialects(note: Mapping[str, Any]) -> Dialects:
    links = [dict(link) for link in note["links"]]
    return Dialects(tuple((str(link.pop("protocol")), link) for link in links))


def _reconnected(note: Mapping[str, Any]) -> Reconnected:
    return Reconnected(int(note["link"]))


def _pass_begin(note: Mapping[str, Any]) -> PassBegin:
    string, y_mm = note.get("string"), note.get("y_mm")
    return PassBegin(
        number=int(note["pass"]),
        lane=int(note["lane"]),
        string=float("nan") if string is None else float(string),
        direction=int(note["direction"]),
        speed_mm_s=float(note["speed_mm_s"]),
        from_mm=_point(note["from_mm"]),
        to_mm=_point(note["to_mm"]),
        y_mm=None if y_mm is None else float(y_mm),
        attempt=int(note["attempt"]),
    )


def _point(value: Any) -> Point:
    x_mm, y_mm = value
    return float(x_mm), None if y_mm is None else float(y_mm)


def _pass_end(note: Mapping[str, Any]) -> PassEnd:
    return PassEnd(int(note["pass"]), bool(note["good"]), tuple(map(str, note["why"])))


def _scan_end(note: Mapping[str, Any]) -> ScanEnd:
    return ScanEnd(str(note["end"]), str(note["why"]))


_READERS: dict[str, Callable[[Mapping[str, Any]], Note]] = {
    "scan_begin": _scan_begin,
    "links": _links,
    "dialects": _dialects,
    "reconnected": _reconnected,
    "pass_begin": _pass_begin,
    "pass_end": _pass_end,
    "scan_end": _scan_end,
}
