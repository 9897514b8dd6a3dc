"""What a moved control is answered with: numbers, sentences and two pictures, made at once."""

from __future__ import annotations

import json
import time
from typing import Any

from pydantic import BaseModel

from analysis.plan.room import Room
from daq.daemon.jobs.answers import PictureAnswer
from daq.daemon.jobs.bench import Stands
from daq.daemon.jobs.requests import Show
from daq.documents.tried import tried_document
from daq.figures.neckmap import MapView, neck_map
from daq.figures.picture import Picture
from daq.figures.section import section_picture
from daq.reading.doubts import Doubts
from daq.text.tried import least_words, tried_sentences


class RodTried(BaseModel):
    """direction: tighten, loosen or none."""

    turns: float
    direction: str
    relief_change_mm: float


class Tally(BaseModel):
    """Positions of strings, by the worse of straight and bent."""

    clear: int
    undecided: int
    buzzes: int


class Least(BaseModel):
    """The place with least room to spare."""

    string: int
    fretted: int
    at: int
    bend: bool
    spare_mm: float
    verdict: str
    words: str


class Short(BaseModel):
    """A position that would stay short, guard included."""

    string: int
    fretted: int
    at: int
    bend: bool
    short_mm: float


class TriedAnswer(BaseModel):
    """The plan for what is asked, as `neckform plan` would make it; nothing is kept.

    metal_um: summed over all places; level_um: what levelling would take. saddles, nut: changes
    by string, up positive; action: string heights over fret 12 once it is done. shape_short: where
    the asked-for shape is out of reach. A plan that is not feasible changes nothing.
    """

    asked: dict[str, Any]
    revision: int
    tab: str
    took_ms: float
    feasible: bool
    metal_um: float
    level_um: float
    rod: RodTried
    saddles: list[dict[str, float]]
    nut: list[dict[str, float]]
    action: list[dict[str, float]]
    tally: Tally
    least: Least | None
    short: list[Short]
    shape_short: list[dict[str, float]]
    sentences: list[str]
    map: PictureAnswer
    section: PictureAnswer


def tried_bytes(stands: Stands, tab: str, show: Show, began_s: float) -> bytes:
    """The whole answer as JSON; a model would take as long to check it as it took to make.

    began_s: when it was asked, by `time.perf_counter`.
    """
    tried = stands.tried
    room = tried.room
    document = tried_document(tried, room, stands.level_mm)
    least = document["least"]
    answer = {
        "asked": stands.asked,
        "revision": stands.revision,
        "tab": tab,
        **document,
        "least": least and {**least, "words": least_words(least)},
        "sentences": [*stands.said, *tried_sentences(tried, document)],
        "map": _picture(neck_map(show.layer, _view(stands, room, show))),
        "section": _picture(_section(stands, show)),
    }
    answer["took_ms"] = round(1e3 * (time.perf_counter() - began_s), 1)
    return json.dumps(answer, ensure_ascii=False, allow_nan=False, separators=(",", ":")).encode()


def _view(stands: Stands, room: Room, show: Show) -> MapView:
    tried = stands.tried
    return MapView(
        instrument=tried.bench.instrument,
        shape=tried.bench.shape,
        wear=tried.bench.measured.wear,
        remove_mm=tried.changes.remove_mm,
        room=room,
        held=tried.target.held,
        string=show.string,
        # only what is cut shows them
        doubts=tried.doubts if show.layer == "cut" else Doubts(),
        fretted=show.fretted,
    )


def _section(stands: Stands, show: Show) -> Picture:
    tried = stands.tried
    return section_picture(
        tried.section(show.string, show.fretted),
        tried.bench.instrument.body_joint_fret,
        near=show.near,
        frets=show.frets,
    )


def _picture(picture: Picture) -> dict[str, str]:
    return {"title": picture.title, "words": picture.words, "svg": picture.svg}
