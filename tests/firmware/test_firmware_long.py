"""Long runs of the simulated chip: a million samples, and its clock's own wrap."""

import numpy as np
import pytest


@pytest.mark.campaign
def test_no_sample_of_a_million_is_lost(homed, columns):
    """The carriage going to and fro all the while: 42 minutes of the chip's time."""
    homed.say("G,400")
    count, last, target = 0, -1.0, 120_000
    while count < 1_000_000:
        homed.tell(f"M,{target},,5000")
        target = 120_000 - target
        seen = columns(homed.run(24.5))
        assert not np.isnan(seen).any()
        assert np.all(np.diff(seen[:, 0], prepend=last if last >= 0 else seen[0, 0] - 1) == 1)
        count, last = count + len(seen), seen[-1, 0]
        homed.moved()


@pytest.mark.campaign
def test_the_clock_wraps_by_itself(homed, columns):
    homed.run(4280.0 - 15.0)
    homed.say("G,10")
    t_us = columns(homed.run(60.0))[:, 1]
    assert np.all(np.abs(np.diff(t_us) % 2**32 - 100_000) <= 20)
    assert t_us[-1] < t_us[0]
