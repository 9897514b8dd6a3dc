"""neckform plan, verify, report: what to do, what was done, the record of it."""

from __future__ import annotations

from typing import Annotated

import typer

from analysis.plan.limits import KEEPABLE
from daq.cli.desk import AsJson, JobName, desk
from daq.errors import InputError
from daq.files.playing import load_playing
from daq.steps.bench import at_hand
from daq.steps.law import Hand
from daq.steps.planning import plan_job
from daq.steps.reporting import write_report
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
    app.command("report")(report)


def plan(
    context: typer.Context,
    name: JobName,
    playing: Annotated[
        str, typer.Option("--playing", help="gentle, everyday, hard, or a playing file.")
    ] = "everyday",
    keep: Annotated[
        list[str] | None, typer.Option("--keep", help="rod, nut or saddles: not to be touched.")
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
    kept = frozenset(keep or ())
    for unknown in sorted(kept.difference(KEEPABLE)):
        raise InputError(f"--keep: found {unknown!r}; allowed {', '.join(KEEPABLE)}")
    has = at_hand(beam, prop)
    profile = load_playing(playing, job.instrument().record)
    done = plan_job(at.workshop, job, profile, kept, Hand(tool, metal), has)
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


def report(context: typer.Context, name: JobName, as_json: AsJson = False) -> None:
    """The job's report: one HTML file that needs no network."""
    at = desk(context, as_json=as_json)
    path = write_report(at.workshop, at.workshop.job(name))
    say(at.out, f"The report is {path}; open it in a browser, or print it.")
    at.answer({"job": name, "report": str(path)})
