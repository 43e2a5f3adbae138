"""The method's criterion, judged on decimals as they were read."""

from __future__ import annotations

from decimal import Decimal

import numpy as np
import pytest

from isohume.bench.reading.settling.criterion import read_criterion, settled_at
from isohume.bench.reading.settling.trace import Trace, trace_of
from isohume.foundation.quantity.errors import InputError


def every_ten_seconds(*readings: str) -> Trace:
    return trace_of(10.0 * np.arange(len(readings)), [Decimal(one) for one in readings])


def test_a_change_of_exactly_the_criterion_is_settled_and_a_digit_more_is_not() -> None:
    criterion = read_criterion("0.0005/20")
    assert settled_at(every_ten_seconds("0.6200", "0.6203", "0.6205"), criterion) == 2
    assert settled_at(every_ten_seconds("0.6200", "0.6203", "0.62051"), criterion) is None
    # 0.7005 - 0.7 is more than 0.0005 in binary floating point, and is not in decimals
    assert 0.7005 - 0.7 > 0.0005
    assert settled_at(every_ten_seconds("0.7000", "0.7000", "0.7005"), criterion) == 2


def test_nothing_is_settled_before_a_whole_window() -> None:
    assert settled_at(every_ten_seconds("0.62", "0.62"), read_criterion("0.0005/20")) is None
    assert settled_at(every_ten_seconds("0.62", "0.62", "0.62"), read_criterion("0.0005/20")) == 2


def test_the_top_of_an_overshoot_is_not_rest() -> None:
    turning = every_ten_seconds("0.6000", "0.6300", "0.6000", "0.5800", "0.5700")
    assert settled_at(turning, read_criterion("0.0005/20")) is None


@pytest.mark.parametrize("text", ["0.0005", "0/60", "0.0005/0", "-0.1/60", "0.5/60", "0.0005/7200", "a/b", ""])
def test_another_form_is_refused_with_what_is_allowed(text: str) -> None:
    with pytest.raises(InputError, match="criterion"):
        read_criterion(text)


def test_time_that_stands_still_is_refused() -> None:
    with pytest.raises(InputError, match=r"elapsed_s: read 0\.0; allowed: more than 0"):
        trace_of([0.0, 0.0], [0.5, 0.5])
    with pytest.raises(InputError, match="finite"):
        trace_of([0.0, 1.0], [0.5, float("nan")])
