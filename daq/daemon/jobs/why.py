"""Why what is asked cannot be had, and what would cure it: the whole plan, made for once."""

from __future__ import annotations

from analysis.plan.plan import plan_with
from analysis.plan.planner import planner_for
from daq.daemon.jobs.answers import WhyAnswer
from daq.daemon.jobs.checked import Checked
from daq.errors import InputError
from daq.steps.trying import BenchNeck
from daq.text.cures import cure_sentences, in_the_way_sentences
from daq.text.plan import verdict_sentence


def why(neck: BenchNeck, asked: Checked) -> WhyAnswer:
    """By a planner of its own, for it takes up to a few seconds that no moved control waits for.

    Raises InputError as the plan does.
    """
    playing = asked.playing
    try:
        planner = planner_for(neck.shape, neck.instrument, playing, neck.rod)
    except ValueError as error:
        raise InputError(str(error)) from error
    plan = plan_with(planner, playing, asked.target)
    sentences = in_the_way_sentences(plan)
    if plan.feasible:
        return WhyAnswer(sentences=[verdict_sentence(plan), *sentences], cures=[])
    return WhyAnswer(sentences=sentences, cures=cure_sentences(plan))
