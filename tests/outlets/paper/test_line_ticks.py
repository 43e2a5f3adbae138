"""Ticks: few, inside the window, and each saying exactly where it stands."""

from __future__ import annotations

from decimal import Decimal
from itertools import pairwise

from hypothesis import given, settings
from hypothesis import strategies as st

from isohume.outlets.paper.line_spec import NARROWEST, Window
from isohume.outlets.paper.line_ticks import ticks


@settings(derandomize=True)
@given(low=st.floats(0, 1.1), width=st.floats(NARROWEST, 1.2))
def test_every_window_has_a_few_exact_ticks(low: float, width: float) -> None:
    window = Window(low, min(1.2, low + width))
    marks = ticks(window)
    labelled = [tick for tick in marks if tick.text]
    assert 2 <= len(labelled) <= 9
    assert all(low - 1e-12 <= tick.a_w <= window.high + 1e-12 for tick in marks)
    assert all(abs(Decimal(tick.text) - Decimal(tick.a_w)) < Decimal("1e-12") for tick in labelled)
    steps = {Decimal(b.text) - Decimal(a.text) for a, b in pairwise(labelled)}
    assert len(steps) == 1
    assert [tick.a_w for tick in marks] == sorted(tick.a_w for tick in marks)


def test_a_window_of_a_few_hundredths_counts_in_half_hundredths() -> None:
    labelled = [tick.text for tick in ticks(Window(0.6223, 0.6527)) if tick.text]
    assert labelled == ["0.625", "0.630", "0.635", "0.640", "0.645", "0.650"]
