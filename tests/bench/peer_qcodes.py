"""Recording as a QCoDeS script does: a measurement of three parameters."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np
from qcodes.dataset import Measurement, initialise_or_create_database_at, new_experiment
from qcodes.parameters import ManualParameter


def record(path: Path, columns: Sequence[np.ndarray]) -> None:
    """t, x and raw, a row each, into a database of its own."""
    initialise_or_create_database_at(path.with_suffix(".db"))
    experiment = new_experiment("bench", "neck")
    t, x, raw = (ManualParameter(name) for name in ("t", "x", "raw"))
    measurement = Measurement(exp=experiment)
    measurement.register_parameter(t)
    measurement.register_parameter(x)
    measurement.register_parameter(raw, setpoints=(t, x))
    with measurement.run() as saver:
        for row in zip(*(column.tolist() for column in columns), strict=True):
            saver.add_result((t, row[0]), (x, row[1]), (raw, row[2]))
    experiment.conn.close()
