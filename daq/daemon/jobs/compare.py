"""One string compared: strung and unstrung, or what was planned and what came off."""

from __future__ import annotations

from typing import Any, Literal

from analysis.after.laid import laid_over
from analysis.form.along import along_of
from daq.daemon.jobs.answers import CompareAnswer, picture_answer
from daq.documents.movement import relief_changes
from daq.documents.stored_check import stored_cuts, stored_law
from daq.documents.stored_plan import planned_um
from daq.errors import InputError, NeckformError
from daq.figures.afterfigures import achieved_picture
from daq.figures.compare import filed_picture
from daq.figures.curves import curves_of, reach_of
from daq.figures.filedlines import filed_lines
from daq.figures.picture import Picture
from daq.figures.profiles import profile
from daq.reading.job import both_states
from daq.reading.reader import JobReader
from daq.steps.law import U_MEANT_UM
from daq.text.compare import change_sentence, movement_warnings
from daq.text.verify import verdict_counts
from daq.text.words import fixed, signed
from daq.workshop.job import shown
from daq.workshop.store import read_group


def compared(reader: JobReader, what: Literal["states", "filed"], string: int) -> CompareAnswer:
    """Raises InputError for a string that the instrument has not, and where there is nothing to
    compare yet."""
    strings = len(reader.job.instrument().record.strings)
    if not 1 <= string <= strings:
        raise InputError(f"string: found {string}; allowed 1 to {strings}")
    return _states(reader, string) if what == "states" else _filed(reader, string)


def _states(reader: JobReader, string: int) -> CompareAnswer:
    both = both_states(reader)
    it, shapes = both.instrument, (both.strung_then, both.paired)
    changes = relief_changes(*shapes, both.field, it.body_joint_fret)
    one = changes[string - 1]
    sentences = [
        f"Under string {string} the strings' pull changes relief by {signed(one.change_mm, 3)} "
        f"± {fixed(2.0 * one.u_change_mm, 3)} mm: {fixed(one.unstrung_mm, 3)} mm unstrung, "
        f"{fixed(one.strung_mm, 3)} mm strung.",
        change_sentence([c.change_mm for c in changes]),
        *movement_warnings(both.field, both.findings, len(it.strings)),
    ]
    along = {shape.state: along_of(shape, it) for shape in shapes}
    curves = curves_of(shapes, along, it.body_joint_fret)
    drawn = profile(string, curves[string - 1], reach_of(curves), it.body_joint_fret, named=False)
    words = (
        f"Zero is the straight line from fret 1 to fret {it.body_joint_fret}. Filled dots: strung; "
        "open dots: unstrung. Bars: twice the standard uncertainty."
    )
    picture = Picture(f"String {string}, strung over unstrung", words, drawn)
    return CompareAnswer(sentences=sentences, pictures=[picture_answer(picture)])


def _filed(reader: JobReader, string: int) -> CompareAnswer:
    """By the latest verification."""
    job, said = reader.job, []
    path = job.latest_check()
    if path is None:
        raise InputError(
            f"job {job.name}: found nothing verified yet; file, scan unstrung, then: "
            f"neckform verify {shown(job.name)}"
        )
    document = read_group(path)
    cuts = stored_cuts(document)
    mine = [cut for cut in cuts if cut.string == string]
    sentences = [
        f"Fret {cut.fret}: {fixed(cut.planned_um, 1)} µm planned, {fixed(cut.achieved_um, 1)} "
        f"± {fixed(2.0 * cut.u_achieved_um, 1)} µm came off: {cut.verdict}."
        for cut in mine
    ] or [f"Nothing was to come off under string {string}."]
    lines = None
    try:
        lines = _lines(reader, document, string)
    except (NeckformError, ValueError) as error:
        said = [f"The tops before and after are not drawn: {error}"]
    pictures = [
        lines,
        filed_picture(string, mine, job.instrument().record.frets),
        achieved_picture(mine, stored_law(document), U_MEANT_UM),
    ]
    return CompareAnswer(
        sentences=[*sentences, *said, f"All strings: {verdict_counts(cuts)}"],
        pictures=[picture_answer(one) for one in pictures if one is not None],
    )


def _lines(reader: JobReader, document: dict[str, Any], string: int) -> Picture | None:
    """The tops before and after, by the scans that were verified; None where nothing was cut, a
    scan has no lane there, or the check does not say which they were. Raises where a scan or the
    plan is gone or cannot be read."""
    job, named = reader.job, document.get("scans")
    names = [named.get(when) if isinstance(named, dict) else None for when in ("before", "after")]
    if None in [*names, document.get("plan")]:
        return None
    it = job.instrument().record
    planned = planned_um(read_group(job.folder / "plans" / str(document["plan"])), it)
    before, after = (reader.whole(job.scans_folder / str(name), "unstrung").neck for name in names)
    laid = laid_over(before, after, planned, it, string)
    return None if laid is None else filed_lines(string, laid, it.body_joint_fret)
