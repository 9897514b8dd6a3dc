"""What one state's scans show of a neck: sentences, cautions and pictures."""

from __future__ import annotations

import numpy as np

from analysis.instrument import FloatArray, Instrument
from daq.daemon.jobs.answers import FoundAnswer, PictureAnswer, picture_answer
from daq.figures.boardmap import cell_map
from daq.figures.chord import off_chord_um, off_neighbours_um
from daq.figures.layers import Layer, heights
from daq.figures.picture import Picture
from daq.figures.planmap import plan_map
from daq.figures.wearmap import wear_layer
from daq.reading.job import job_shape
from daq.reading.measured import Measured, measured
from daq.reading.neck import rig_of
from daq.reading.probe import tip_of
from daq.reading.reader import JobReader
from daq.text.across import across_sentences
from daq.text.along import along_sentences
from daq.text.heights import height_sentence
from daq.text.repeats import combined_line, repeat_sentences
from daq.text.summary import relief_sentence
from daq.text.wear import loose_sentences, wear_sentences


def found(reader: JobReader, state: str) -> FoundAnswer:
    """Of the latest scan of a state and those that it repeats. Raises InputError where there is
    none, or none that can be read."""
    shape, read = job_shape(reader, state)
    it = measured(reader.job.instrument().record, shape, read)
    return FoundAnswer(
        state=state, sentences=_sentences(it), cautions=_cautions(it), pictures=_pictures(it)
    )


def _sentences(it: Measured) -> list[str]:
    shape, read = it.shape, it.read
    said = [relief_sentence(shape), height_sentence(shape)]
    if it.wear is not None:
        said += wear_sentences(it.wear, tip_of(rig_of(read.scan), read.calibrations.probe))
    said += along_sentences(it.along, shape, it.instrument)
    said += across_sentences(it.across, shape, it.instrument)
    return said + list(filter(None, [combined_line(read.repeats)]))


def _cautions(it: Measured) -> list[str]:
    """What does not hold for sure, and why."""
    name = it.read.scan.path.name
    said = [f"{name}: {remark}." for remark in it.read.remarks]
    said += [it.shape.remark] if it.shape.remark else []
    return said + loose_sentences(it.loose) + repeat_sentences(it.read.repeats)


def _pictures(it: Measured) -> list[PictureAnswer]:
    shape, joint = it.shape, it.instrument.body_joint_fret
    off = (
        f"How far each top stands above (pointing up) or below (pointing down) the straight line "
        f"from fret 1 to fret {joint} under its string. Across is drawn larger than along."
    )
    rocks = (
        "Each top over the straight line through the frets before and behind it: what a fret "
        "rocker feels."
    )
    pictures = [
        _over("Off the chord", off, "the chord", off_chord_um(shape, joint), it.instrument),
        _over("Off its neighbours", rocks, "the neighbours", off_neighbours_um(shape),
              it.instrument),
        _still(heights(shape)),
    ]  # fmt: skip
    pictures += [] if it.wear is None else [_still(wear_layer(it.wear))]
    return [picture_answer(one) for one in pictures]


def _over(title: str, words: str, over: str, um: FloatArray, it: Instrument) -> Picture:
    known = um[np.isfinite(um)]
    most = float(np.max(np.abs(known))) if known.size else 0.0
    return Picture(title, words, plan_map(title, words, over, um, it, most, named=False))


def _still(layer: Layer) -> Picture:
    """A map of the board that nobody points at."""
    drawn = cell_map(layer.title, layer.words, layer.names, layer.cells, layer.legend, layer.corner)
    return Picture(layer.title, layer.words, drawn)
