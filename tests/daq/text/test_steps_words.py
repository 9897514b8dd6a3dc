"""Every kind of saving has words, in a sentence and beside a bar."""

from __future__ import annotations

from typing import get_args

import pytest

from analysis.plan.price import Saving, UncertaintyPrice, What
from daq.text.price import price_sentences
from daq.text.steps import saving_words


@pytest.mark.parametrize("what", get_args(What))
def test_each_has_its_own(what: What) -> None:
    saving, everything = Saving(what, 0.05, True, 0.01), Saving("everything", 0.2, True)
    others = () if what == "everything" else (saving,)
    price = UncertaintyPrice(0.4, True, 0.02, (*others, everything))
    assert saving_words(saving, price)
    said = " ".join(price_sentences(price))
    assert "costs 200 µm" in said
    if what not in ("everything", "both again"):
        assert "would save 50 µm" in said
