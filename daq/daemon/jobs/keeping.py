"""The plan for what is asked, kept in the job as the command keeps it."""

from __future__ import annotations

import shlex
from pathlib import Path

from daq.daemon.jobs.answers import PlanKept
from daq.daemon.jobs.desks import Desk
from daq.daemon.jobs.requests import KeepPlan
from daq.errors import InputError
from daq.steps.bench import AtHand, at_hand
from daq.steps.law import Hand
from daq.steps.planning import plan_job
from daq.workshop.place import Workshop
from daq.workshop.store import atomic_write_text, json_text


def keep_plan(workshop: Workshop, desk: Desk, wanted: KeepPlan) -> PlanKept:
    """Feasible or not; and beside it the target file it was made by, for the same in a terminal.

    Raises as `plan_job`.
    """
    has, job = _at_hand(wanted), desk.job
    now, _, _ = desk.bench.now()
    hand = Hand(wanted.tool, wanted.metal)
    done = plan_job(workshop, job, now.playing, now.target, hand, has)
    target = job.folder / "targets" / done.path.name
    atomic_write_text(target, json_text(now.asked))
    return PlanKept(
        document=done.document,
        file=done.path.name,
        command=_command(workshop, job.name, target, wanted),
    )


def _at_hand(wanted: KeepPlan) -> AtHand:
    try:
        return at_hand(wanted.beam_mm, wanted.prop)
    except InputError as error:
        raise InputError(str(error).removeprefix("--")) from None


def _command(workshop: Workshop, name: str, target: Path, wanted: KeepPlan) -> str:
    words = ["neckform", "--workshop", str(workshop.root.resolve()), "plan", name]
    words += ["--target", str(target.resolve()), "--tool", wanted.tool, "--metal", wanted.metal]
    words += [] if wanted.beam_mm is None else ["--beam", f"{wanted.beam_mm:g}"]
    words += ["--prop"] if wanted.prop else []
    return shlex.join(words)
