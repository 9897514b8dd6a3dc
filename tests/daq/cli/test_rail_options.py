"""Which options of `calibrate rail` go together, each fault named."""

from __future__ import annotations

from pathlib import Path

import pytest

from daq.cli.rail_options import RailOptions, chosen_measure, numbers
from daq.errors import InputError

WALNUT = Path(__file__).parents[3] / "rig_configs" / "walnut-parlour.yaml"


@pytest.mark.parametrize(
    ("reference", "given", "says"),
    [
        ("ruler", {}, "--reference: found 'ruler'; allowed straightedge, reversed, offsets or str"),
        ("straightedge", {"turn": "over"}, "--turn: found with --reference straightedge; it belo"),
        ("offsets", {"straightedge_um": 1.0}, "belongs to straightedge or reversed: leave it out"),
        ("reversed", {}, r"--turn: found nothing; allowed over \(about its long axis"),
        ("reversed", {"turn": "round"}, "--turn: found 'round'; allowed over"),
        ("straightedge", {"straightedge_um": -1.0}, "--straightedge-um: found -1; allowed 0 to 1"),
        ("straightedge", {"straightedge_um": float("nan")}, "--straightedge-um: found nan"),
        ("straightedge", {"rows": "0"}, "--rows: found 1 in '0'; allowed 2 to 9, such as"),
        ("straightedge", {"rows": "0,x"}, "--rows: found '0,x'; allowed numbers with commas"),
        ("straightedge", {"rows": "0,200"}, "--rows: found 200; allowed -100 to 100 mm"),
        ("straightedge", {"rows": "0,inf"}, "--rows: found inf"),
        ("offsets", {"placements": 2}, "--placements: found 2; allowed 3 to 12: with fewer"),
        ("strings", {}, "--instrument: found nothing; allowed the file of the neck"),
        ("strings", {"instrument": WALNUT, "strings": "1.5"}, "found 1.5; allowed whole numbers"),
        ("strings", {"instrument": WALNUT, "strings": "inf"}, "--strings: found inf"),
        ("strings", {"instrument": WALNUT, "thickness_um": 60.0}, "--thickness-um: found 60"),
    ],
)
def test_refused(reference: str, given: dict[str, object], says: str) -> None:
    with pytest.raises(InputError, match=says):
        chosen_measure(reference, RailOptions(**given))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("reference", "given"),
    [
        ("straightedge", {}),
        ("straightedge", {"straightedge_um": 0.0, "rows": "-20,0,20"}),
        ("reversed", {"turn": "ends"}),
        ("offsets", {"placements": 12}),
        ("strings", {"instrument": WALNUT, "strings": "1,2", "thickness_um": 0.0}),
    ],
)
def test_allowed(reference: str, given: dict[str, object]) -> None:
    assert callable(chosen_measure(reference, RailOptions(**given)))  # type: ignore[arg-type]


def test_numbers() -> None:
    assert numbers("--rows", "-20, 0,1e1") == (-20.0, 0.0, 10.0)
