"""The register's forms in the browser's terms: what is posted becomes a change, an error keeps what was typed."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse
from tests.outlets.site import make

from isohume.outlets.site.ledger.trail import trail_of
from isohume.outlets.site.people.models import Person
from isohume.outlets.site.people.roles import MANAGER
from isohume.outlets.site.register.models import (
    Bottle,
    Instrument,
    Method,
    MethodVersion,
    Product,
    SolutionLot,
    SpecificationVersion,
)
from isohume.outlets.site.register.models.products import SCOPE_FLAGS

BACKEND = "django.contrib.auth.backends.ModelBackend"


@pytest.fixture
def manager(client: Client) -> Person:
    person = make.make_person(make.make_site(), MANAGER, username="imoss")
    client.force_login(person, BACKEND)
    return person


def _post(client: Client, url: str, **fields: object) -> str:
    """Post a form that is meant to succeed; returns where it leads."""
    answer = client.post(url, fields)
    assert answer.status_code == 302, answer.content.decode()
    return str(answer["Location"])


def test_an_instrument_from_adding_to_returning(client: Client, manager: Person) -> None:
    given = {"called": "OW-1", "serial": "DP-1", "principle": "dew-point measurement", "warm_up_min": "30"}
    more = {"measures_surface_temperature": "yes", "check_limit": "0.005", "u_instrument": "0.0015", "location": "left"}
    page = _post(client, reverse("instrument_new"), **given, **more)
    instrument = Instrument.objects.get()
    assert page == instrument.get_absolute_url()
    change = {"serial": "DP-1", "location": "right", "warm_up_min": "30", "check_limit": "0.005"}
    url = reverse("instrument_act", args=[instrument.pk, "change"])
    _post(client, url, **change, u_instrument="0.0015", calibration_due="2027-01-10", reason="moved")
    _post(client, reverse("instrument_act", args=[instrument.pk, "withdraw"]), reason="dropped")
    assert "out of use" in client.get(page).content.decode()
    _post(client, reverse("instrument_act", args=[instrument.pk, "return"]), reason="repaired")
    instrument.refresh_from_db()
    assert (instrument.location, instrument.in_use) == ("right", True)
    assert [line.kind for line in trail_of(instrument.ref)] == [
        "instrument_added",
        "instrument_changed",
        "instrument_withdrawn",
        "instrument_returned",
    ]


def test_a_method_a_version_and_a_budget(client: Client, manager: Person) -> None:
    asks = {"temperature_c": "25.0", "temperature_tolerance_c": "0.5", "check_interval_h": "24", "portions": "2"}
    waits = {"open_limit_min": "10", "lidded_limit_h": "4", "film_limit_h": "48"}
    _post(client, reverse("method_new"), called="BM-12", version="1", **asks, **waits)
    method = Method.objects.get()
    url = reverse("method_act", args=[method.pk, "version"])
    page = _post(client, url, version="2", **{**asks, "portions": "3"}, **waits, reason="triplicate")
    second = MethodVersion.objects.get(version="2")
    assert (page, second.portions, method.current) == (second.get_absolute_url(), 3, second)
    url = reverse("methodversion_act", args=[second.pk, "budget"])
    _post(client, url, basis="own data", u_other="0.0030", s_r="0.002", source="spring data", reason="more data")
    assert second.budget is not None
    assert second.budget.u_other == "0.0030"
    assert "0.0030" in client.get(page).content.decode()


def test_a_reference_lot_its_weighing_and_its_bottle(client: Client, manager: Person) -> None:
    days = {"made_on": "2026-04-02", "expires_on": "2099-04-02"}
    page = _post(client, reverse("solution_new"), code="N-1", solution="nacl", made_by=str(manager.pk), **days)
    lot = SolutionLot.objects.get()
    assert (lot.solution, lot.made_by) == ("NaCl", manager)
    weighed = {"balance": "B-2", "salt_g": "40", "water_g": "100", "check_nominal_g": "100", "check_read_g": "100.01"}
    url = reverse("solutionlot_act", args=[lot.pk, "weighing"])
    _post(client, url, **weighed, check_limit_g="0.02", weighed_at="2026-04-02T08:00")
    assert lot.weighings.get().weighed_by == manager
    place = _post(client, reverse("solutionlot_act", args=[lot.pk, "bottle"]), code="A")
    bottle = Bottle.objects.get()
    assert place == bottle.get_absolute_url()
    url = reverse("bottle_act", args=[bottle.pk, "open"])
    _post(client, url, opened_at="2026-04-03T07:00", discard_on="2099-01-01")
    assert "It may be read today." in client.get(place).content.decode()
    _post(client, reverse("bottle_act", args=[bottle.pk, "discard"]), reason="cloudy")
    assert "discarded: cloudy" in client.get(place).content.decode()
    _post(client, reverse("solutionlot_act", args=[lot.pk, "withdraw"]), reason="doubtful")
    assert "is withdrawn: doubtful" in client.get(page).content.decode()


def test_a_product_and_its_specification(client: Client, manager: Person) -> None:
    method = make.make_method(manager.site).method
    given = {"called": "Fruit bar", "form": "soft or filled pieces", "method": str(method.pk)}
    page = _post(client, reverse("product_new"), **given, components="filling, base", scope_flags=["volatile"])
    product = Product.objects.get()
    assert (product.components, product.scope_flags) == (["filling", "base"], ["volatile"])
    limits = {"upper": "0.65", "upper_operator": "<", "lower_operator": ">=", "kind": "safety"}
    url = reverse("product_act", args=[product.pk, "specification"])
    assert _post(client, url, version="1", component="base", temperature_c="25", source="plan 7", **limits) == page
    spec = SpecificationVersion.objects.get()
    assert (spec.upper, spec.upper_operator, spec.guard) == ("0.65", "<", "2")
    form = client.get(url).content.decode()
    assert 'name="reason"' in form
    assert "make another product for the other component" in form
    assert ("base" in form, "filling" in form) == (True, False)
    refused = client.post(
        url, {**limits, "version": "2", "component": "base", "temperature_c": "25", "source": "plan 8"}
    )
    assert "what changed, and why" in refused.content.decode()
    _post(client, url, version="2", component="base", temperature_c="25", source="plan 8", reason="new plan", **limits)
    assert product.specifications.count() == 2


def test_an_error_stands_at_its_field_and_keeps_what_was_typed(client: Client, manager: Person) -> None:
    url = reverse("solution_new")
    answer = client.post(url, {"code": "N-1", "solution": "sodum", "made_on": "2026-04-02", "expires_on": "2027-04-02"})
    said = answer.content.decode()
    assert answer.status_code == 422
    assert "nearest:" in said
    assert 'value="sodum"' in said
    assert 'aria-invalid="true"' in said
    assert not SolutionLot.objects.exists()


def test_ticked_boxes_stay_ticked_after_an_error(client: Client, manager: Person) -> None:
    answer = client.post(reverse("product_new"), {"called": "", "scope_flags": ["frozen", "volatile"]})
    said = answer.content.decode()
    assert answer.status_code == 422
    assert [flag for flag in SCOPE_FLAGS if f'value="{flag}" checked' in said] == ["frozen", "volatile"]


@pytest.mark.parametrize("pk", ["999", "x", "1; drop", "²"])
def test_a_person_or_method_of_nobody_is_refused(client: Client, manager: Person, pk: str) -> None:
    days = {"made_on": "2026-04-02", "expires_on": "2027-04-02"}
    answer = client.post(reverse("solution_new"), {"code": "N", "solution": "NaCl", **days, "made_by": pk})
    assert answer.status_code == 422
    assert "a person of this plant" in answer.content.decode()
    answer = client.post(reverse("product_new"), {"called": "Bar", "form": "hard pieces", "method": pk})
    assert answer.status_code == 422
    assert not Product.objects.exists()


def test_another_plants_person_and_method_are_nobodys(client: Client, manager: Person) -> None:
    other = make.make_site("other")
    stranger, version = make.make_person(other, MANAGER), make.make_method(other)
    days = {"made_on": "2026-04-02", "expires_on": "2027-04-02"}
    client.post(reverse("solution_new"), {"code": "N", "solution": "NaCl", **days, "made_by": str(stranger.pk)})
    method = str(version.method_id)
    client.post(reverse("product_new"), {"called": "Bar", "form": "hard pieces", "method": method})
    assert (SolutionLot.objects.count(), Product.objects.count()) == (0, 0)


def test_an_act_that_is_not_possible_now_says_why_before_anything_is_typed(client: Client, manager: Person) -> None:
    bottle = make.make_bottle(manager.site)
    said = client.get(reverse("bottle_act", args=[bottle.pk, "open"])).content.decode()
    assert "is open since 20" in said
    assert 'name="opened_at"' not in said


def test_without_the_sites_own_token_nothing_is_changed(manager: Person) -> None:
    strict = Client(enforce_csrf_checks=True)
    strict.force_login(manager, BACKEND)
    instrument = make.make_instrument(manager.site)
    answer = strict.post(reverse("instrument_act", args=[instrument.pk, "withdraw"]), {"reason": "elsewhere"})
    assert answer.status_code == 403
    instrument.refresh_from_db()
    assert instrument.in_use
