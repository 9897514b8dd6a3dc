"""The rig's time against the host's, and where it waits for a machine that is busy."""

from __future__ import annotations

import pytest

from sim.bench import Bench
from sim.device import parked_carriage
from sim.faults import Faults
from sim.pace import Pace
from sim.rigspec import RigSpec


@pytest.fixture
def host(monkeypatch: pytest.MonkeyPatch) -> list[float]:
    """The host's seconds, to be set."""
    now = [100.0]
    monkeypatch.setattr("sim.pace.time.monotonic", lambda: now[0])
    return now


@pytest.mark.parametrize(("waits", "after_s"), [(True, 20 * (0.03 + 0.05)), (False, 20 * 2.03)])
def test_a_long_turn_is_no_time_of_a_rig_that_waits(
    host: list[float], waits: bool, after_s: float
) -> None:
    pace = Pace(20.0, waits=waits, every_s=0.001)
    for host[0] in (100.01, 100.02, 100.03):
        pace.turn()
    assert pace.now_s == pytest.approx(20 * 0.03)
    host[0] += 2.0
    pace.turn()
    assert pace.now_s == pytest.approx(after_s)
    host[0] += 0.01
    pace.turn()
    assert pace.now_s == pytest.approx(after_s + 0.2)


def test_a_carriage_that_has_arrived_is_over_a_point() -> None:
    """The surface under a whole move need not be known to read where it ended."""
    carriage = parked_carriage(Bench(3, Faults.none(), RigSpec()))
    carriage.start(0.0, (5.0, -15.0), 25.0)
    under_way = carriage.line_from(carriage.end_s - 0.01)
    assert (under_way.y0_mm, under_way.y1_mm) == (0.0, -15.0)
    arrived = carriage.line_from(carriage.end_s)
    assert arrived.x0_mm == arrived.x1_mm == under_way.x1_mm
    assert arrived.y0_mm == arrived.y1_mm == -15.0
