"""The latest plan verified, and what that came to in sentences."""

from __future__ import annotations

from daq.daemon.jobs.answers import CheckKept
from daq.steps.verifying import Verified, verify_job
from daq.text.after import heights_sentence, standing_sentence, strung_sentences
from daq.text.repeats import repeat_sentences
from daq.text.verify import law_sentence, verdict_counts
from daq.workshop.job import Job
from daq.workshop.place import Workshop


def check_job(workshop: Workshop, job: Job) -> CheckKept:
    """As `neckform verify`; raises as that does."""
    done = verify_job(workshop, job)
    return CheckKept(document=done.document, file=done.path.name, sentences=_sentences(done))


def _sentences(done: Verified) -> list[str]:
    """What to do first, then what came off, what the hand has taught, how the neck stands."""
    said = [done.next_words]
    if done.cuts:
        said += [verdict_counts(done.cuts), law_sentence(done.known.law)]
    if done.strung is None:
        said.append(standing_sentence(done.standing))
    else:
        said += strung_sentences(done.strung.check)
        said.append(standing_sentence(done.strung.standing))
        said.append(heights_sentence(done.strung.heights))
    for one in done.repeats.values():
        said += repeat_sentences(one)
    return said
