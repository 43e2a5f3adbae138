"""Every row of sampling.csv is a check that holds; slightly wrong plans fail their rows."""

from __future__ import annotations

import math
import re

import pytest

from isohume.outlets.validate import sampling_checks
from isohume.outlets.validate.check import Check, read_table

FOUND = list(sampling_checks.checks())
PLACE = re.compile(r"https?:|www\.|github|\b[\w-]+\.(com|org|net|gov|edu|io|pl)\b", re.IGNORECASE)


@pytest.mark.parametrize("check", FOUND, ids=[check.id for check in FOUND])
def test_holds(check: Check) -> None:
    assert check.holds, f"{check.what}: {check.expected} printed, {check.computed} computed, +-{check.tolerance}"


def test_every_row_is_named_once_and_from_memory_only_with_a_second_opinion() -> None:
    rows = read_table("sampling")
    ids = [row["id"] for row in rows]
    assert len(ids) == len(set(ids)) == 47
    assert [check.id for check in FOUND] == ids
    assert not list(sampling_checks.left_out())
    assert all(row["how"] == "looked-up" or row["check"] for row in rows)
    assert not [cell for row in rows for cell in row.values() if PLACE.search(cell)]


def failed() -> set[str]:
    return {check.id for check in sampling_checks.checks() if not check.holds}


def test_a_known_sigma_in_place_of_an_unknown_one_is_not_accepted(monkeypatch: pytest.MonkeyPatch) -> None:
    # with sigma known P_a = Phi(sqrt(n) (z - k)): the risks printed for small n are then far off
    from isohume.foundation.metrology import normal_cdf, normal_quantile

    def known(fraction: float, n: int, k: float) -> float:
        return float(normal_cdf(math.sqrt(n) * (-normal_quantile(fraction) - k)))

    monkeypatch.setattr(sampling_checks.metrology, "variables_acceptance", known, raising=False)
    assert len(failed()) >= 4


def test_one_portion_less_is_not_accepted(monkeypatch: pytest.MonkeyPatch) -> None:
    real = sampling_checks.metrology.portions_to_see
    monkeypatch.setattr(sampling_checks.metrology, "portions_to_see", lambda f, p: real(f, p) - 1, raising=False)
    assert len(failed()) == 3
