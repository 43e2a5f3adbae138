"""Computed figures of the register: each is right, and says how it was found."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from tests.outlets.site import make

from isohume.outlets.site.people.models import Site
from isohume.outlets.site.register.figures import as_weighed, budget_of, uncertainty_of, value_of
from isohume.outlets.site.register.models import BalanceRecord, Budget, SolutionLot
from isohume.outlets.site.register.pictures import scan_mark, specification_line
from isohume.outlets.site.register.rules import limit_words, rule_facts, rules_that_apply


@pytest.fixture
def site(site_db: Path) -> Site:
    return make.make_site()


def _lot(site: Site, solution: str, molality: str = "") -> SolutionLot:
    days = {"made_on": date(2026, 4, 2), "expires_on": date(2027, 4, 2)}
    return SolutionLot.objects.create(
        site=site, code=f"{solution}{molality}", solution=solution, molality=molality, **days
    )


def test_a_saturated_lot_reads_its_published_value(site: Site) -> None:
    figure = value_of(_lot(site, "NaCl"))
    assert figure.number == pytest.approx(0.7529, abs=0.0002)  # Greenspan1977, 25 degC
    assert figure.words == "0.75298 (u 0.00060) at 25 degC"
    assert figure.how["source"].startswith("Greenspan1977")
    assert figure.how["range"] == "0 to 80 degC"


def test_a_lot_by_molality_says_its_recipe(site: Site) -> None:
    figure = value_of(_lot(site, "NaCl", "6.0"))
    assert figure.number == pytest.approx(0.7600, abs=0.001)  # RobinsonStokes1959, 6.0 mol/kg
    assert dict(pair[:2] for pair in figure.how["inputs"])["As weighed"].startswith("35.06")  # 6 x 58.44 g/kg


def test_the_weights_give_a_molality_beside_the_lots_own(site: Site) -> None:
    lot = _lot(site, "NaCl", "6.0")
    checked = {"check_nominal_g": "100", "check_read_g": "100", "check_limit_g": "0.01", "check_passed": True}
    person = make.make_person(site)
    weighed = {"balance": "B-2", "weighed_at": make.NOW, "weighed_by": person, "solution_lot": lot, **checked}
    figure = as_weighed(lot, BalanceRecord(salt_g="35.065", water_g="100.00", **weighed))
    assert figure is not None
    # 35.065 g / 58.443 g/mol in 0.1 kg of water
    assert figure.words.startswith("5.9999 mol/kg (a_w 0.7")
    assert "kept as 6.0 mol/kg" in figure.words
    unknown = as_weighed(lot, BalanceRecord(salt_g="350", water_g="100.00", **weighed))
    assert unknown is not None
    assert "beyond what its value is known for, 0 to 6 mol/kg" in unknown.words
    assert as_weighed(_lot(site, "NaCl"), BalanceRecord(salt_g="40", water_g="100", **weighed)) is None


def test_beyond_its_range_nothing_is_made_up(site: Site) -> None:
    figure = value_of(_lot(site, "NaCl"), 95.0)
    assert figure.number is None
    assert figure.words == "not known at 95 degC"


def test_the_uncertainty_of_own_data(site: Site) -> None:
    figure = uncertainty_of(make.make_method(site))
    assert figure.number == pytest.approx((0.0032**2 + 0.0020**2 / 2) ** 0.5)
    assert figure.words == "u = 0.0035 for the mean of 2 portions"
    assert figure.how["depends"] == "everything but repeatability"


def test_without_a_budget_the_starter_budget_decides(site: Site) -> None:
    version = make.make_method(site)
    Budget.objects.all().delete()
    figure = uncertainty_of(version)
    assert figure.number == pytest.approx(0.009)  # published collaborative studies: s_R 0.008 to 0.010
    assert "starter budget" in figure.cautions[0]


def test_a_collaborative_study_keeps_its_two_parts(site: Site) -> None:
    version = make.make_method(site)
    figures = {"s_reproducibility": "0.008", "s_r": "0.003", "source": "round robin 2025"}
    Budget.objects.create(method_version=version, basis="collaborative study", since=make.NOW, **figures)
    assert budget_of(version).u == pytest.approx((0.008**2 - 0.003**2 + 0.003**2 / 2) ** 0.5)


def test_acceptance_limits_are_moved_inwards_by_the_guard_band(site: Site) -> None:
    spec = make.make_product(make.make_method(site), lower="0.580", lower_operator=">").specification
    assert spec is not None
    assert limit_words(spec) == "above 0.580 and at most 0.650"
    accepted = next(fact for fact in rule_facts(spec) if fact[0] == "Accepted on a pass")
    # u = 0.003493, guard 1.64: w = 0.005728
    assert accepted[1] == "above 0.5857 and at most 0.6443, guard factor 1.64"
    line = specification_line(spec)
    assert [mark.acceptance_typed for mark in line.limits] == ["0.5857", "0.6443"]
    assert [value.kind for value in line.values] == ["expected"]


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"kind": "safety", "guard": "2"}, "released on a pass only"),
        ({"kind": "quality", "allow_conditional": True}, "a conditional pass may be released"),
        ({"kind": "quality"}, "a conditional pass is not released"),
        ({"guard": "0"}, "beyond it in half of all cases"),
        ({}, "It holds for the whole bar"),
        ({}, "never a kill step"),
    ],
)
def test_the_rules_are_said_in_words(site: Site, given: dict[str, object], said: str) -> None:
    spec = make.make_product(make.make_method(site), **given).specification
    assert spec is not None
    assert any(said in rule for rule in rules_that_apply(spec))


def test_a_scan_code_stands_on_white_paper_and_has_a_name() -> None:
    picture = str(scan_mark("iso:b:12"))
    assert 'aria-label="Scan code iso:b:12"' in picture
    assert picture.index('fill="#ffffff"') < picture.index("<path")
    assert picture.count(' width="132" height="132"') == 1
