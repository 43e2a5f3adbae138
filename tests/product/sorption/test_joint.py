"""All temperatures together: the form that made the points wins, AICc by hand, pasta, refusals."""

import math

import numpy as np
import pytest

from isohume.foundation.quantity.errors import InputError, UnknownNameError
from isohume.product.sorption import Points
from isohume.product.sorption.heat import isosteric_heat
from isohume.product.sorption.joint import SEPARATE, fit_joint

A_W = np.linspace(0.1, 0.9, 12)
FORMS = ("modified_oswin", "modified_henderson", "modified_chung_pfost", "modified_halsey")
TEMPERATURES = (15.0, 25.0, 35.0)


def chickpea(noise=0.01, seed=0, temperatures=TEMPERATURES, a_w=A_W):
    """Modified Oswin of chickpea (Armstrong et al. 2017, reference id I0312), with noise."""
    draw = np.random.default_rng(seed)
    t, a = np.repeat(temperatures, a_w.size), np.tile(a_w, len(temperatures))
    x = (11.2175 - 0.0615631 * t) / 100 * (a / (1 - a)) ** 0.49142
    return Points(a, x * (1 + noise * draw.normal(size=a.size)), temperature_c=t)


def test_the_form_that_made_the_points_wins():
    found = fit_joint(chickpea(), FORMS)
    assert found.recommended == "modified_oswin"
    assert found.weights["modified_oswin"] > 0.99
    assert math.fsum(found.weights.values()) == pytest.approx(1.0)
    assert found["Modified Oswin"] is found.best[0]
    assert "least AICc" in found.reasons[0]


def test_aicc_of_the_separate_fits_by_hand():
    points = chickpea()
    found = fit_joint(points, FORMS, separate="oswin")
    misses = [one.points.moisture_db - one.moisture(one.points.a_w) for one in found.separate.values()]
    sse = float((np.concatenate(misses) ** 2).sum())
    n, k = 36, 3 * 2 + 1
    by_hand = n * math.log(sse / n) + 2 * k + 2 * k * (k + 1) / (n - k - 1)
    assert found.aicc[SEPARATE] == pytest.approx(by_hand, rel=1e-9)
    one = found["modified_oswin"]
    k = 3 + 1
    assert found.aicc["modified_oswin"] == pytest.approx(
        n * math.log(one.sse / n) + 2 * k + 2 * k * (k + 1) / (n - k - 1), rel=1e-9
    )


def test_separate_isotherms_win_where_no_form_follows_the_temperature():
    # the middle temperature lies above both others: no form in use bends that way
    points = chickpea(noise=0.002)
    bent = np.where(points.temperature_c == 25.0, 1.15, 1.0) * points.moisture_db
    found = fit_joint(Points(points.a_w, bent, temperature_c=points.temperature_c), FORMS, separate="oswin")
    assert found.recommended == SEPARATE
    assert set(found.separate) == set(TEMPERATURES)
    assert any("no form with temperature" in each for each in found.reasons)
    assert len(isosteric_heat(found.best).rows) == 15


def test_what_is_recommended_gives_the_heat():
    heat = isosteric_heat(fit_joint(chickpea(), FORMS).best, [0.0968], between_c=(15.0, 35.0))
    row = heat.rows[0]
    assert row.low < 4.7738 < row.high  # reference id I0326


def test_pasta_of_two_temperatures():
    # curves of durum wheat pasta by the GAB constants refitted to the points of Andrieu et al. 1985 (ids PR001, PR003)
    a = np.linspace(0.05, 0.85, 9)
    rows = []
    for t, (m, c, k) in {40.0: (0.0636, 35.5, 0.858), 60.0: (0.0531, 8.33, 0.897)}.items():
        rows.append((np.full(9, t), m * c * k * a / ((1 - k * a) * (1 - k * a + c * k * a))))
    t, x = (np.concatenate(each) for each in zip(*rows, strict=True))
    points = Points(np.tile(a, 2), x, temperature_c=t)
    found = fit_joint(points, ["gab_arrhenius", "modified_oswin"])
    assert found["gab_arrhenius"].sse < 1e-12  # two temperatures fix every heat of it: no residual is left
    heat = isosteric_heat(found["gab_arrhenius"], [0.06, 0.1]).rows
    assert heat[0].value_kj_mol > heat[1].value_kj_mol > 0.0


def test_too_few_points_at_a_temperature_leave_no_separate_fits():
    found = fit_joint(chickpea(a_w=np.array([0.3, 0.5, 0.7])), FORMS)
    assert found.separate == {}
    assert math.isnan(found.aicc[SEPARATE])
    assert found.recommended == "modified_oswin"
    assert any("too few points" in each for each in found.reasons)


def test_without_names_every_form_with_enough_points_is_tried():
    found = fit_joint(chickpea())
    assert {each.model.key for each in found.fits} >= set(FORMS)
    assert all(each.model.needs_temperature for each in found.fits)


@pytest.mark.parametrize(
    ("make", "said"),
    [
        (lambda: fit_joint(chickpea(temperatures=(25.0,))), "two temperatures"),
        (lambda: fit_joint(chickpea(), ["gab"]), "forms with temperature"),
        (lambda: fit_joint(chickpea(), FORMS, separate="modified_oswin"), "plain isotherm"),
        (
            lambda: fit_joint(Points(A_W, A_W / 5, temperature_c=[15.0, 35.0] * 6,
                                     direction=["adsorption"] * 6 + ["desorption"] * 6)),
            "never mixed",
        ),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused(make, said):
    with pytest.raises(InputError, match=said):
        make()


def test_a_form_that_was_not_fitted_is_not_found():
    with pytest.raises(UnknownNameError):
        fit_joint(chickpea(), ["modified_oswin"])["gab"]
