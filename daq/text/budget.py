"""Where an uncertainty comes from, in words."""

from __future__ import annotations

from rich.console import Console

from analysis.neck.budgets import Budgets
from calibration.uncertainty.budget import Budget
from daq.text.console import bullets, heading, say
from daq.text.grid import plain_table
from daq.text.words import fixed

SOURCES = {
    "noise": "noise of the readings under a crown",
    "drift": "drift between the pads",
    "crown": "crown: a flat too small to see",
    "tip": "tip on the slope across",
    "spot": "width of the light spot",
    "rail": "rail's error map",
    "sensor": "sensor's curve",
    "place": "the nut's place on the rail",
    "ways": "passes both ways that disagree",
    "unseen": "wear no lane passed over",
    "movement": "movement between the states",
    "laid": "laying two scans over one another",
    "deepest": "choosing the deepest of noisy tops",
    "repeat": "scans scatter by more than that",
    "clamping": "clamping the neck anew",
    "scans": "scans that disagree about a top",
}
HEADERS = ["source", "top, µm", "share, %", "relief, µm", "share, %"]


def budget_rows(budgets: Budgets) -> list[list[str]]:
    """Source, then contribution and share for a top and for relief; the largest first."""
    tops, reliefs = _by_name(budgets.top), _by_name(budgets.relief)
    rows = [
        [SOURCES[name], *_cells(tops.get(name)), *_cells(reliefs.get(name))]
        for name in {**tops, **reliefs}
    ]
    whole = [
        ("-", "-") if b is None else (fixed(1e3 * b.u, 2), "100")
        for b in (budgets.top, budgets.relief)
    ]
    return [*rows, ["together", *whole[0], *whole[1]]]


def budget_sentences(budgets: Budgets) -> list[str]:
    """The largest terms, what the whole comes to, and what is not in the table, and why."""
    said = []
    for what, budget in (
        ("A typical fret top", budgets.top),
        ("A typical relief", budgets.relief),
    ):
        if budget is not None:
            said.append(
                f"{what} is known to ± {fixed(1e3 * budget.expanded, 1)} µm (95 %, k = "
                f"{fixed(budget.k95, 2)}); the largest part is {SOURCES[budget.largest.name]}."
            )
    terms = () if budgets.top is None else (term.name for term in budgets.top.terms)
    if "rail" not in terms:
        said.append("The rail has no error map, and its own bow is not in the table.")
    return [
        *said,
        "Lag, backlash, jitter of the clock and the lead screw shift readings along the neck: "
        "each pass finds its own tops, and there the crown is level, so they cost nothing.",
        f"The datum, a plane through the board's ends known to ± "
        f"{fixed(2e3 * budgets.u_datum_mm, 1)} µm, is not in it: no chord, margin or cut depends "
        "on it.",
    ]


def print_budget(console: Console, budgets: Budgets) -> None:
    """The table and what it means."""
    heading(console, "Where the uncertainty comes from")
    table = plain_table(HEADERS)
    table.columns[0].justify = "left"
    for row in budget_rows(budgets):
        table.add_row(*row)
    console.print(table)
    say(console, "standard uncertainties, typical over the neck; shares of the variance", "dim")
    bullets(console, budget_sentences(budgets))


def _by_name(budget: Budget | None) -> dict[str, tuple[float, float]]:
    if budget is None:
        return {}
    pairs = zip(budget.terms, budget.shares, strict=True)
    return {term.name: (1e3 * term.contribution, 100.0 * share) for term, share in pairs}


def _cells(found: tuple[float, float] | None) -> list[str]:
    if found is None:
        return ["-", "-"]
    u, share = found
    return [fixed(u, 2), fixed(share, 0)]
