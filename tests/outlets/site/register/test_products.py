"""Products and their specifications: what may stand in a field is what a lot file may say."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from tests.outlets.site import make

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.ledger.actions import By, Refused, perform
from isohume.outlets.site.ledger.trail import trail_of
from isohume.outlets.site.people.models import Person
from isohume.outlets.site.people.roles import ADMINISTRATOR, ANALYST, AUDITOR, DEVELOPER, MANAGER, RELEASE_OFFICER
from isohume.outlets.site.register.actions.add_product import AddProduct
from isohume.outlets.site.register.actions.add_specification import AddSpecification
from isohume.outlets.site.register.models import Method, Product, SpecificationVersion

BAR = {"called": "Fruit bar", "form": "soft or filled pieces"}
SPEC = {
    "version": "5",
    "temperature_c": "25.0",
    "kind": "quality",
    "source": "Product specification FB-1: soft until day 30",
    "component": "filling",
    "upper": "0.650",
    "guard": "1.64",
    "expected_a_w": "0.61",
}


@pytest.fixture
def developer(site_db: Path) -> Person:
    return make.make_person(make.make_site(), DEVELOPER, username="ktran")


@pytest.fixture
def by(developer: Person) -> By:
    return By(developer, make.NOW)


@pytest.fixture
def product(developer: Person, by: By) -> Product:
    method = make.make_method(developer.site).method
    return perform(AddProduct(developer.site, **BAR, method=method, components=["filling", "base"]), by)


def test_a_product_keeps_its_components_and_its_scope(developer: Person, by: By) -> None:
    method = make.make_method(developer.site).method
    made = perform(
        AddProduct(
            developer.site, "Chilli oil", "syrup or sauce", method, ["oil", " ", "solids"], ["volatile"], "air, 1 g"
        ),
        by,
    )
    kept = Product.objects.get(pk=made.pk)
    assert (kept.components, kept.scope_flags, kept.method) == (["oil", "solids"], ["volatile"], method)
    assert kept.specification is None
    (line,) = trail_of(kept.ref)
    assert line.details["form"] == "syrup or sauce"
    assert "may have to be adapted" in line.details["scope"]
    assert trail_of(method.ref) == [line]


def test_a_product_outside_the_methods_scope_is_registered_and_said_to_be(developer: Person, by: By) -> None:
    method = make.make_method(developer.site).method
    made = perform(AddProduct(developer.site, **BAR, method=method, scope_flags=["frozen"]), by)
    assert "ISO 18787 excludes frozen products." in trail_of(made.ref)[0].details["scope"]


@pytest.mark.parametrize(
    ("field", "given", "allowed"),
    [
        ("called", {"called": ""}, "the product's name"),
        ("called", {"called": "FRUIT BAR"}, "no other has"),
        ("form", {"called": "Other", "form": "lumps"}, "powder or flakes"),
        ("scope_flags", {"called": "Other", "scope_flags": ["hot"]}, "frozen"),
        ("components", {"called": "Other", "components": ["base", "Base"]}, "each component once"),
        ("components", {"called": "Other", "components": [str(i) for i in range(21)]}, "at most 20"),
        ("components", {"called": "Other", "components": ["x" * 61]}, "at most 60"),
    ],
)
def test_a_bad_product_is_refused(product: Product, by: By, field: str, given: dict[str, Any], allowed: str) -> None:
    with pytest.raises(InputError) as refused:
        perform(AddProduct(product.site, **{**BAR, **given}, method=product.method), by)
    assert refused.value.field == field
    assert allowed in refused.value.allowed
    assert Product.objects.count() == 1


def test_a_specification_keeps_its_digits_and_its_operator(product: Product, by: By) -> None:
    made = perform(AddSpecification(product, **{**SPEC, "component": "FILLING"}, upper_operator="<"), by)
    kept = SpecificationVersion.objects.get(pk=made.pk)
    assert (kept.upper, kept.upper_operator, kept.lower, kept.lower_operator) == ("0.650", "<", "", "")
    assert (kept.component, kept.temperature_c, kept.guard, kept.expected_a_w) == ("filling", "25.0", "1.64", "0.61")
    assert product.specification == kept
    assert [line.kind for line in trail_of(kept.ref)] == ["specification_added"]


def test_another_version_says_old_and_new(product: Product, by: By) -> None:
    first = perform(AddSpecification(product, **SPEC), by)
    second = perform(AddSpecification(product, **{**SPEC, "version": "6", "upper": "0,64"}, reason="Shelf test 9"), by)
    assert (product.specification, first.upper, second.upper) == (second, "0.650", "0.64")
    line = trail_of(second.ref)[-1]
    assert line.details["upper"] == ["0.650", "0.64"]
    assert line.details["version"] == ["5", "6"]
    assert line.reason == "Shelf test 9"
    assert line in trail_of(first.ref)
    assert line in trail_of(product.ref)


def test_another_components_limit_never_replaces_the_one_in_force(product: Product, by: By) -> None:
    """A safety limit of the filling would be put out of force by a quality limit of the base."""
    safety = perform(AddSpecification(product, **{**SPEC, "kind": "safety", "guard": "2"}), by)
    other = {**SPEC, "version": "6", "component": "base", "upper": "0.700", "reason": "crisp"}
    with pytest.raises(InputError, match="make another product for the other component"):
        perform(AddSpecification(product, **other), by)
    assert Product.objects.get(pk=product.pk).specification == safety
    same = perform(AddSpecification(product, **{**other, "component": "FILLING"}), by)
    assert same.component == "filling"


def test_the_default_guard_is_the_careful_one(product: Product, by: By) -> None:
    assert perform(AddSpecification(product, **{**SPEC, "guard": ""}), by).guard == "2"


def test_a_range_and_a_conditional_pass_for_quality(product: Product, by: By) -> None:
    made = perform(AddSpecification(product, **SPEC, lower="0.580", lower_operator=">", allow_conditional="yes"), by)
    assert (made.lower, made.lower_operator, made.allow_conditional) == ("0.580", ">", True)


@pytest.mark.parametrize(
    ("field", "given", "allowed"),
    [
        ("temperature_c", {"temperature_c": ""}, "the temperature the limit is stated at"),
        ("temperature_c", {"temperature_c": "20"}, "documented heat of sorption"),
        ("temperature_c", {"temperature_c": "77"}, "degF meant"),
        ("upper", {"upper": ""}, "a minimum, a maximum or both"),
        ("upper", {"upper": "65"}, "ERH in percent"),
        ("upper", {"upper": "1.2"}, "at most 1"),
        ("lower", {"lower": "0.7"}, "below the maximum"),
        ("lower", {"lower": "dry"}, "a fraction"),
        ("upper_operator", {"upper_operator": ">"}, "<= or <"),
        ("lower_operator", {"lower": "0.5", "lower_operator": "="}, ">= or >"),
        ("component", {"component": ""}, "which of filling, base"),
        ("component", {"component": "crumb"}, "filling, base"),
        ("kind", {"kind": ""}, ""),
        ("kind", {"kind": "legal"}, "safety or quality"),
        ("guard", {"guard": "-1"}, "zero or more"),
        ("guard", {"guard": "wide"}, "a number"),
        ("allow_conditional", {"kind": "safety", "allow_conditional": "yes"}, "only with a quality limit"),
        ("allow_conditional", {"allow_conditional": "perhaps"}, "yes or no"),
        ("source", {"source": ""}, "required"),
        ("version", {"version": " "}, "required"),
        ("version", {"version": "4"}, "no other has"),
        ("reason", {"reason": " "}, "what changed, and why"),
        ("component", {"component": "base"}, "filling: one product, one component's specification"),
        ("expected_a_w", {"expected_a_w": "61"}, "ERH in percent"),
    ],
)
def test_a_bad_specification_is_refused(
    product: Product, by: By, field: str, given: dict[str, str], allowed: str
) -> None:
    perform(AddSpecification(product, **{**SPEC, "version": "4"}), by)
    with pytest.raises(InputError) as refused:
        perform(AddSpecification(product, **{**SPEC, "reason": "Shelf test 9", **given}), by)
    assert refused.value.field == field
    assert allowed in refused.value.allowed
    assert str(refused.value).startswith(f"{field}: read ")
    assert SpecificationVersion.objects.count() == 1


def test_a_product_of_one_piece_needs_no_component(developer: Person, by: By) -> None:
    method = make.make_method(developer.site).method
    product = perform(AddProduct(developer.site, **BAR, method=method), by)
    assert perform(AddSpecification(product, **{**SPEC, "component": ""}), by).component == ""


def test_a_method_without_a_version_judges_nothing(developer: Person, by: By) -> None:
    method = Method.objects.create(site=developer.site, name="BM-99")
    product = perform(AddProduct(developer.site, **BAR, method=method, components=["filling"]), by)
    with pytest.raises(Refused, match="BM-99 has no version yet"):
        perform(AddSpecification(product, **SPEC), by)


@pytest.mark.parametrize("role", [ANALYST, RELEASE_OFFICER, AUDITOR, ADMINISTRATOR])
def test_only_manager_and_developer(product: Product, role: str) -> None:
    other = By(make.make_person(product.site, role), make.NOW)
    for action in (
        AddProduct(product.site, "Other", BAR["form"], product.method),
        AddSpecification(product, **SPEC),
    ):
        with pytest.raises(Refused, match="this is for developer, manager"):
            perform(action, other)
    manager = By(make.make_person(product.site, MANAGER), make.NOW)
    assert perform(AddSpecification(product, **SPEC), manager).version == "5"


def test_not_in_another_plant(developer: Person, by: By) -> None:
    other = make.make_site("other")
    version = make.make_method(other)
    theirs = make.make_product(version)
    for action in (
        AddProduct(other, **BAR, method=version.method),
        AddProduct(developer.site, **BAR, method=version.method),
        AddSpecification(theirs, **{**SPEC, "component": "whole bar"}),
    ):
        with pytest.raises(Refused, match="another plant"):
            perform(action, by)
