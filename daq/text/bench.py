"""On the bench: what a straight beam does of the plan, and what is left for the file."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from rich.console import Console

from analysis.bench.beam import BeamSetting
from analysis.instrument import FloatArray
from analysis.plan.plan import Plan
from daq.text.cautions import caution_before_cut
from daq.text.console import bullets, heading, say
from daq.text.cuts import removals_um
from daq.text.words import fixed, named, signed, turn_words

#: Less than this is not worth a stroke of the file, µm (own choice).
WORTH_UM = 2.0
#: So many frets are told one by one.
TOLD = 12


@dataclass(frozen=True, slots=True)
class BeamWork:
    """file_um: [frets, strings], left of the plan for the file, µm.

    share: of the planned metal, what the beam takes by itself.
    """

    file_um: FloatArray
    share: float


def beam_work(beam: BeamSetting, removal_um: FloatArray) -> BeamWork:
    """What a beam that comes down to its straight lines takes of a plan.

    It takes a top down to the line, so the planned removal less what it leaves standing, and
    nothing where the line passes over the top.
    """
    left = np.where(np.isfinite(beam.left_um), beam.left_um, removal_um)
    done = np.clip(removal_um - left, 0.0, None)
    total = float(removal_um.sum())
    share = float(done.sum()) / total if total > 0 else 0.0
    return BeamWork(removal_um - done, share)


def bench_sentences(beam: BeamSetting, removal_um: FloatArray) -> list[str]:
    """Rod for the beam, its share of the plan, what is left for the file."""
    if not removal_um.any():
        return ["Nothing is planned to come off: no beam is needed."]
    work = beam_work(beam, removal_um)
    share = f"a straight beam does {100 * work.share:.0f} % of the plan"
    return [
        f"{_rod(beam)}; there {share}.",
        *_by_fret("Left for the file", work.file_um),
        "Bring the rod back afterwards, string up, and measure before playing it in.",
    ]


def print_bench(console: Console, beam: BeamSetting, plan: Plan) -> None:
    """The bench's section."""
    heading(console, "On the bench, neck unstrung")
    bullets(console, bench_sentences(beam, removals_um(plan)))
    say(console, caution_before_cut(), "dim")


def _rod(beam: BeamSetting) -> str:
    if abs(beam.relief_change_mm) < 1e-3:
        return "On the unstrung neck leave the rod as it was in the unstrung scan"
    way = "tighten" if beam.turns > 0 else "loosen"
    words = turn_words(beam.turns)
    how = f"by {words}" if words.startswith("less") else words
    return (
        f"On the unstrung neck {way} the rod {how} from its setting in the unstrung scan "
        f"({signed(beam.relief_change_mm, 2)} mm of relief, by the default effect of a rod)"
    )


def _by_fret(what: str, um: FloatArray) -> list[str]:
    """The frets with the most first."""
    frets = np.flatnonzero((um >= WORTH_UM).any(axis=1))
    order = frets[np.argsort(-um[frets].max(axis=1), kind="stable")]
    spots = [_spot(int(fret), um[fret]) for fret in order[:TOLD]]
    if order.size > TOLD:
        spots.append(f"and {order.size - TOLD} more frets")
    return [f"{what}: {'; '.join(spots)}."] if spots else []


def _spot(fret: int, row_um: FloatArray) -> str:
    strings = np.flatnonzero(row_um >= WORTH_UM)
    most = fixed(float(row_um.max()), 0)
    return f"fret {fret + 1} under {named('string', (strings + 1).tolist())}, up to {most} µm"
