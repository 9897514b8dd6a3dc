"""What to expect: where it may still buzz, how long the frets last, what this holds for."""

from __future__ import annotations

import numpy as np

from daq.figures.html import Html, bullet_list, joined, tag
from daq.figures.metal import life_figure
from daq.report.plain import expect_sentences
from daq.report.record import ReportInput
from daq.report.stage import Stage, stage_of
from daq.text.expect import listen_sentences
from daq.text.words import fixed

HOLDS_FOR = (
    "This holds for the playing named above and these strings at this pitch. Harder playing, other "
    "strings, another pitch or another season's humidity ask for another look."
)


def expect_section(given: ReportInput) -> Html:
    """Nothing without a plan that is one."""
    plan = given.plan
    if plan is None or not plan.feasible:
        return Html("")
    said = [*expect_sentences(given, plan), *_listen(given), *_lowest(given), HOLDS_FOR]
    life = None if given.weighed is None else given.weighed.life
    return joined(
        tag("h2", "What to expect"),
        bullet_list(said),
        Html("") if life is None else life_figure(life),
    )


def _listen(given: ReportInput) -> list[str]:
    if given.bench is None or stage_of(given) is not Stage.PLANNED:
        return []
    return listen_sentences(given.bench.expected)


def _lowest(given: ReportInput) -> list[str]:
    assert given.plan is not None
    height = given.plan.height_after_mm
    if given.filed is not None and stage_of(given) in (Stage.FILED, Stage.ENDED):
        height = given.filed.height_mm
    if not np.isfinite(height).any():
        return []
    fret, string = np.unravel_index(int(np.nanargmin(height)), height.shape)
    return [
        f"The lowest fret left is fret {fret + 1} under string {string + 1}: "
        f"{fixed(float(height[fret, string]), 2)} mm."
    ]
