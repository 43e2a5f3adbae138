"""Every computed figure opens to formula, inputs, source and valid range; the inputs reproduce the figure."""

from __future__ import annotations

from decimal import Decimal

import pytest
from scipy.stats import norm

from isohume.bench.assurance import CheckReading, judge_check
from isohume.bench.assurance.how import how_checked
from isohume.bench.decision import Specification, decide, undecided
from isohume.bench.decision.how import how_decided
from isohume.foundation.quantity import Limit
from isohume.foundation.quantity.sources import sources

RULE = Specification(None, Limit(Decimal("0.85"), "<="))


def test_the_shown_inputs_reproduce_the_probability() -> None:
    decision = decide(Decimal("0.846"), 0.004, RULE)
    band, probability = how_decided(decision)
    shown = probability.inputs
    assert norm.cdf((float(shown["limits"]["<="]) - shown["y"]) / shown["u"]) == pytest.approx(
        decision.probability_of_conformity, rel=1e-12
    )
    assert float(band.inputs["r"]) * band.inputs["u"] == pytest.approx(band.inputs["w"])


def test_nothing_computed_nothing_explained() -> None:
    assert how_decided(undecided(RULE, "no verdict", ("why",))) == ()


def test_a_check_explains_what_it_expected() -> None:
    check = judge_check([CheckReading("NaCl", 4.0, 25.0, 0.8515), CheckReading("NaCl", None, 25.0, 0.753)])
    figures = {how.figure: how for how in how_checked(check, 0.0015)}
    assert set(figures["expected value of a reference solution"].inputs) == {"NaCl 4 mol/kg", "NaCl"}
    assert figures["offset and slope"].inputs == {"references": 2}
    for how in figures.values():
        assert all(key in sources() for key in how.source.split(", "))
