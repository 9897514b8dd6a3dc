"""A small neck with known values, for what documents, texts and reports say about one."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

import numpy as np
import pytest

from analysis.after.law import Law
from analysis.after.verify import Cut
from analysis.bench.sheet import Bench, Tools, bench_of
from analysis.instrument import Instrument, StringSpec
from analysis.movement.bending import Basis
from analysis.movement.movement import Field
from analysis.neck.relief import reliefs_by_terms
from analysis.neck.shape import Shape
from analysis.neck.terms import Terms
from analysis.plan.clearances import Clearance
from analysis.plan.cure import Cure
from analysis.plan.plan import Plan
from analysis.plan.refret import Refret
from analysis.plan.target import Target
from analysis.rod.rod import default_rod
from analysis.strings.pitch import note_frequency_hz
from analysis.strings.playing import built_in_profile
from analysis.strings.strings import string_loads

from ..planned import make_plan

GAUGES_IN = {"E4": 0.010, "B3": 0.013, "G3": 0.017, "D3": 0.026, "A2": 0.036, "E2": 0.046}
Bumps = Mapping[tuple[int, int], float]


def _specs(notes: list[str]) -> tuple[StringSpec, ...]:
    return tuple(
        StringSpec(
            note, note_frequency_hz(note), 25.4 * GAUGES_IN[note], note in ("D3", "A2", "E2")
        )
        for note in notes
    )


@pytest.fixture
def six() -> Instrument:
    """The contract's walnut parlour."""
    action = np.interp(range(6), [0, 5], [1.4, 1.9])
    gap = np.interp(range(6), [0, 5], [0.4, 0.5])
    return Instrument(
        "walnut parlour", 641.0, 641.0, 0, 22, 16, (241.0, 355.0), (42.8, 56.4), 61.0,
        _specs(list(GAUGES_IN)), (7.1, 10.4), tuple(action), tuple(gap),
    )  # fmt: skip


@pytest.fixture
def twelve(six: Instrument) -> Instrument:
    """Twelve strings, closer together."""
    return replace(
        six,
        strings=tuple(spec for spec in six.strings for _ in range(2)),
        spacing_mm=(3.5, 5.2),
        action_mm=tuple(np.repeat(six.action_mm, 2)),
        nut_gap_mm=tuple(np.repeat(six.nut_gap_mm, 2)),
    )


def _top(instrument: Instrument, string: np.ndarray, relief_mm: float) -> np.ndarray:
    frets = np.arange(1.0, instrument.frets + 1)[:, None]
    x = instrument.fret_x_mm(frets, string[None, :])
    y = instrument.string_y_mm(string[None, :], x)
    end = x[instrument.body_joint_fret - 1]
    bow = -4.0 * relief_mm * (x - x[0]) * (end - x) / (end - x[0]) ** 2
    return np.where(x <= end, bow, 0.0) + 1.05 - 0.5 * y**2 / 300.0


def _shape(
    instrument: Instrument, state: str, relief_mm: float, bumps: Bumps, u_mm: float
) -> Shape:
    strings = instrument.string_numbers
    x = instrument.fret_x_mm(np.arange(1.0, instrument.frets + 1)[:, None], strings[None, :])
    y = instrument.string_y_mm(strings[None, :], x)
    top = _top(instrument, strings, relief_mm)
    height = np.full(top.shape, 1.05)
    for (fret, string), bump in bumps.items():
        top[fret - 1, string - 1] += bump
        height[fret - 1, string - 1] += bump
    between = _top(instrument, strings[:-1] + 0.5, relief_mm)
    u = np.full(top.shape, u_mm)
    status = "inferred" if state == "strung" else "ok"
    flat = np.full(top.shape, np.nan if state == "strung" else 0.0)
    terms = Terms({"noise": 0.8 * u, "rail": 0.6 * u})
    return Shape(
        state, x, y, top, u, height, np.full(top.shape, 0.004), flat, between, u[:, 1:],
        np.full(top.shape, status, dtype="<U40"),
        reliefs_by_terms(x, top, terms, instrument.body_joint_fret, None), 2.1, 0.2,
        (239.0, 357.0), terms, 0.0014, 0.17,
    )  # fmt: skip


PlainShape = Callable[..., Shape]


@pytest.fixture
def plain_shape() -> PlainShape:
    """plain_shape(instrument, state="unstrung", relief_mm=0.03, bumps={}, u_mm=0.001)."""

    def make(
        instrument: Instrument,
        state: str = "unstrung",
        relief_mm: float = 0.03,
        bumps: Bumps | None = None,
        u_mm: float = 0.001,
    ) -> Shape:
        return _shape(instrument, state, relief_mm, bumps or {}, u_mm)

    return make


@pytest.fixture
def unstrung(six: Instrument, plain_shape: PlainShape) -> Shape:
    """Relief 0.03 mm, fret 9 high under strings 3 and 4."""
    return plain_shape(six, bumps={(9, 3): 0.04, (9, 4): 0.03})


@pytest.fixture
def strung(six: Instrument, plain_shape: PlainShape) -> Shape:
    """The same neck with 0.15 mm of relief."""
    return plain_shape(six, "strung", 0.15, {(9, 3): 0.04, (9, 4): 0.03}, 0.002)


@pytest.fixture
def field() -> Field:
    """A movement of -1e-6 (x - 30)(x - 390) mm along the middle, no turn.

    In the free polynomial's t = (x - 240) / 100: (210 + 100 t)(-150 + 100 t). How far it is
    bent is uncertain, 0.6 µm in t^2.
    """
    basis = Basis.over(np.array([1.0, 479.0]), np.array([-25.0, 25.0]), 380.0)
    coefficients = np.zeros(sum(basis.groups))
    coefficients[:3] = 1e-6 * np.array([-31500.0, 6000.0, 10000.0])
    odd = np.zeros((22, 5), dtype=bool)
    u = np.full(coefficients.size, 1e-6)
    u[2] = 6e-4
    return Field(basis, coefficients, np.diag(u**2), u**-2.0, odd, 1.0)


@pytest.fixture
def solved(strung: Shape, six: Instrument) -> Plan:
    """A plan by the programme itself, for this neck."""
    return make_plan(strung, six, built_in_profile("everyday", 6), Target())


def _clearances(after: bool) -> tuple[Clearance, ...]:
    out = []
    for bend in (False, True):
        for string in range(1, 7):
            for fretted in range(1 if bend else 0, 22):
                out.append(_clearance(string, fretted, bend, after))
    return tuple(out)


def _clearance(string: int, fretted: int, bend: bool, after: bool) -> Clearance:
    spare = 0.06 + 0.01 * string - 0.001 * fretted
    if not after and not bend and string in (3, 4) and fretted in (7, 8):
        spare = -0.031 if string == 3 else 0.012
    verdict = "clear" if spare > 0.04 else "buzzes" if spare < -0.02 else "undecided"
    return Clearance(
        string, fretted, min(fretted + 1, 22), bend, 0.12 + spare, 0.1, 0.02, 0.011, verdict
    )


@pytest.fixture
def plan(six: Instrument, strung: Shape) -> Plan:
    """A plan written by hand, so that what is said about it can be pinned."""
    remove = np.zeros((22, 6))
    remove[8, 2:4] = 0.03104, 0.0283
    remove[15, :3] = 0.0041, 0.00718, 0.0026
    return Plan(
        built_in_profile("everyday", 6), Target(frozenset({"nut"})), string_loads(six),
        default_rod(six, strung.x_mm), True, remove,
        np.full((22, 6), 0.002), strung.height_mm - remove,
        np.array([0.118, 0.118, 0.0, 0.0, -0.0523, 0.001]), np.array([0, 0.05, 0, 0, 0, -0.02]),
        0.1, -0.25, _clearances(False), _clearances(True), (),
        np.zeros(6), np.zeros((22, 6)), (), (),
        float(remove.sum()), 3.11,
    )  # fmt: skip


@pytest.fixture
def failing(plan: Plan) -> Plan:
    """No plan: short in margins and in action, a fret to replace, two cures."""
    short = Clearance(1, 2, 3, False, 0.05, 0.07, 0.01, 0.01, "buzzes")
    return replace(
        plan,
        feasible=False,
        remove_mm=np.zeros((22, 6)),
        saddle_mm=np.zeros(6),
        nut_mm=np.zeros(6),
        relief_change_mm=0.0,
        turns=-0.0,
        after=plan.now,
        short=(short, replace(short, worst_at=4, clearance_mm=0.06), replace(short, bend=True)),
        action_short_mm=np.array([0.12, 0, 0, 0, 0, 0]),
        refret=(Refret(2, "0.52 mm high under string 1, the player needs 0.60 mm"),),
        cures=(
            Cure("free", 0.212, free=("nut",)),
            Cure("action", 0.4005, raise_mm=(0.12, 0.12, 0.0, 0, 0, 0.03)),
        ),
    )


@pytest.fixture
def bench(strung: Shape, unstrung: Shape, six: Instrument, plan: Plan) -> Bench:
    """The plan's work with a full beam and a hand that takes seven eighths of what it means."""
    tools = Tools(None, False, lambda wanted: (1.1 * wanted, 0.9625 * wanted), 3.0)
    return bench_of(strung, unstrung, six, plan, tools)


@pytest.fixture
def cuts() -> tuple[Cut, ...]:
    """One of each verdict, one not seen."""
    return (
        Cut(9, 3, 31.1, 28.4, 1.9, "undecided"),
        Cut(9, 4, 28.3, 27.9, 0.6, "within"),
        Cut(16, 1, 4.1, 0.2, 0.3, "under"),
        Cut(16, 2, 7.2, 14.6, 0.5, "over"),
        Cut(16, 3, 2.6, float("nan"), float("nan"), "undecided"),
    )


@pytest.fixture
def law() -> Law:
    """A hand that takes a little less than it means to."""
    return Law(0.93, 0.02, -0.4, 0.2, 1.2, 34)
