"""neckform plan, verify: what to do, what was done."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from analysis.instrument import Instrument
from analysis.plan.target import KEEPABLE, Target
from analysis.strings.playing import PlayingProfile
from daq.cli.desk import AsJson, JobName, desk
from daq.errors import InputError
from daq.files.playing import load_playing
from daq.files.target import load_target
from daq.steps.bench import at_hand
from daq.steps.law import Hand
from daq.steps.planning import plan_job
from daq.steps.verifying import verify_job
from daq.text.after import print_after, print_strung
from daq.text.bench import print_bench
from daq.text.console import say
from daq.text.law import known_sentence
from daq.text.plan import print_plan
from daq.text.repeats import print_repeats
from daq.text.rod_words import since_plan_sentence
from daq.text.verify import print_verify
from daq.text.weighed import print_weighed

Tool = Annotated[str, typer.Option("--tool", help="What cuts; each has its own removal law.")]
Metal = Annotated[str, typer.Option("--metal", help="What the frets are made of.")]

Beam = Annotated[
    float | None,
    typer.Option("--beam", help="Length of the straight beam, mm; else as long as the frets."),
]
Prop = Annotated[bool, typer.Option("--prop", help="The neck may be propped on the bench.")]


def register(app: typer.Typer) -> None:
    """Adds these commands to the program."""
    app.command("plan")(plan)
    app.command("verify")(verify)


def plan(
    context: typer.Context,
    name: JobName,
    playing: Annotated[
        str | None,
        typer.Option("--playing", help="gentle, everyday (else), hard, or a playing file."),
    ] = None,
    keep: Annotated[
        list[str] | None, typer.Option("--keep", help="rod, nut or saddles: not to be touched.")
    ] = None,
    target: Annotated[
        Path | None,
        typer.Option(
            "--target",
            metavar="FILE",
            help="A target file: the player, what is kept, set or held back, the asked-for shape.",
        ),
    ] = None,
    tool: Tool = "file",
    metal: Metal = "nickel silver",
    beam: Beam = None,
    prop: Prop = False,
    details: Annotated[
        bool, typer.Option("--details", help="Every margin, and all that each step buys.")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """The setup and the cut plan: the least metal for this player."""
    at = desk(context, as_json=as_json)
    job = at.workshop.job(name)
    has = at_hand(beam, prop)
    profile, asked = _asked(job.instrument().record, playing, keep, target)
    done = plan_job(at.workshop, job, profile, asked, Hand(tool, metal), has)
    for caution in filter(None, (done.both.strung_scan.caution, done.both.unstrung_scan.caution)):
        at.warn(caution)
    print_repeats(at.out, done.both.repeats)
    for doubt in done.rod_doubts:
        at.warn(doubt)
    if done.since is not None:
        say(at.out, since_plan_sentence(done.since))
    print_plan(at.out, done.plan, done.both.instrument, done.known.law, done.doubts, details)
    if done.plan.feasible:
        print_bench(at.out, done.bench, done.plan)
        say(at.out, known_sentence(done.known))
    print_weighed(at.out, done.weighed, done.plan.feasible, details)
    if not details:
        say(at.out, f"Every margin and figure: --details, or neckform report {name}.", "dim")
    say(at.out, f"Kept as {done.path}.", "dim")
    at.answer(done.document)
    if not done.plan.feasible:
        raise typer.Exit(1)


def _asked(
    instrument: Instrument, playing: str | None, keep: list[str] | None, target: Path | None
) -> tuple[PlayingProfile, Target]:
    if target is not None:
        if playing is not None or keep:
            raise InputError(
                "--target: found --playing or --keep beside it; allowed the file alone, which says "
                "both"
            )
        return load_target(target, instrument)
    for unknown in sorted(set(keep or ()).difference(KEEPABLE)):
        raise InputError(f"--keep: found {unknown!r}; allowed {', '.join(KEEPABLE)}")
    return load_playing(playing or "everyday", instrument), Target(frozenset(keep or ()))


def verify(context: typer.Context, name: JobName, as_json: AsJson = False) -> None:
    """After the cut: planned against achieved, what is left, and the strung neck at the end."""
    at = desk(context, as_json=as_json)
    done = verify_job(at.workshop, at.workshop.job(name))
    print_repeats(at.out, done.repeats)
    if done.cuts:
        print_verify(at.out, done.cuts, done.known.law)
    if done.strung is None:
        print_after(at.out, done.standing, done.left)
    else:
        print_strung(at.out, done.strung.check, done.strung.standing, done.strung.heights)
    say(at.out, done.next_words, "bold")
    say(at.out, f"Kept as {done.path}.", "dim")
    at.answer(done.document)
    if not done.good:
        raise typer.Exit(1)
