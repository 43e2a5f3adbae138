"""The method's criterion, judged on decimals as they were read."""

from __future__ import annotations

from decimal import Decimal

import numpy as np
import pytest

from isohume.bench.reading.settling.criterion import read_criterion, settled_at
from isohume.bench.reading.settling.criterion_so_far import CriterionSoFar
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
    assert settled_at(every_ten_seconds("0.6200", "0.6200"), read_criterion("0.0005/20")) is None
    assert settled_at(every_ten_seconds("0.6200", "0.6200", "0.6200"), read_criterion("0.0005/20")) == 2


def test_readings_coarser_than_the_criterion_cannot_show_that_it_was_met() -> None:
    """0.62 stands for 0.615 to 0.625: three of them that are alike may have moved by a hundredth."""
    alike = every_ten_seconds("0.62", "0.62", "0.62")
    assert settled_at(alike, read_criterion("0.0005/20")) is None
    assert settled_at(alike, read_criterion("0.009999/20")) is None
    assert settled_at(alike, read_criterion("0.01/20")) == 2  # alike: moved by no more than the last digit
    thousandths = every_ten_seconds("0.620", "0.620", "0.620")
    assert settled_at(thousandths, read_criterion("0.0005/20")) is None
    assert settled_at(thousandths, read_criterion("0.001/20")) == 2


def test_the_finest_digit_read_is_the_last_one_unless_a_coarser_one_is_said() -> None:
    """Spreadsheets and some instruments leave trailing zeros away; what is said of an instrument may be coarser."""
    some_without = every_ten_seconds("0.6", "0.6198", "0.62", "0.62", "0.62")
    assert settled_at(some_without, read_criterion("0.0005/20")) == 3
    assert settled_at(some_without, read_criterion("0.0005/20"), Decimal("0.0005")) == 3
    assert settled_at(some_without, read_criterion("0.0005/20"), Decimal("0.001")) is None
    coarse = every_ten_seconds("0.62", "0.62", "0.62")
    assert settled_at(coarse, read_criterion("0.0005/20"), Decimal("0.0001")) is None  # saying so makes no digits


def test_one_by_one_what_was_alike_counts_once_its_digits_are_known_to_be_fine_enough() -> None:
    so_far, found = CriterionSoFar(read_criterion("0.0005/20")), []
    for place, typed in enumerate(("0.62", "0.62", "0.62", "0.62", "0.6203", "0.7")):
        so_far.take(10.0 * place, Decimal(typed))
        found.append((so_far.found, so_far.is_too_coarse))
    assert found == [(None, True)] * 4 + [(2, False)] * 2


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
