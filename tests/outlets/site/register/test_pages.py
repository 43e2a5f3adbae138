"""The register's pages: the answer first, who may change what, nothing of another plant, nothing unescaped."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from tests.outlets.site import make
from tests.outlets.site.register.making import make_check

from isohume.outlets.site.checks.models import Cleaning
from isohume.outlets.site.ledger.actions import By, perform
from isohume.outlets.site.people.models import Person, Site
from isohume.outlets.site.people.roles import (
    ADMINISTRATOR,
    ANALYST,
    AUDITOR,
    DEVELOPER,
    MANAGER,
    RELEASE_OFFICER,
    Role,
)
from isohume.outlets.site.register.actions.record_weighing import RecordWeighing
from isohume.outlets.site.register.models import (
    Bottle,
    Budget,
    Instrument,
    Method,
    MethodVersion,
    Product,
    SolutionLot,
    SpecificationVersion,
)

SCRIPT = "<script>alert(1)</script>"
BACKEND = "django.contrib.auth.backends.ModelBackend"
OF_ONE = ("instrument", "method", "methodversion", "solutionlot", "bottle", "product", "specificationversion")
LISTS = ("register", "due", "instruments", "methods", "solutions", "products")
NEW = ("instrument_new", "method_new", "solution_new", "product_new")
ACTS = (
    ("instrument_act", "change"),
    ("instrument_act", "withdraw"),
    ("method_act", "version"),
    ("methodversion_act", "budget"),
    ("solutionlot_act", "bottle"),
    ("solutionlot_act", "weighing"),
    ("solutionlot_act", "withdraw"),
    ("bottle_act", "discard"),
    ("product_act", "specification"),
)


@pytest.fixture
def site(client: Client) -> Site:
    return make.make_site()


def _signed_in(client: Client, site: Site, *roles: Role) -> Person:
    person = make.make_person(site, *roles)
    client.force_login(person, BACKEND)
    return person


def _furnish(site: Site) -> None:
    """One of everything."""
    version = make.make_method(site)
    make.make_product(version)
    make.make_bottle(site)
    make.make_instrument(site)


def _urls() -> list[str]:
    """Every page of the furnished plant."""
    ones = [reverse(name, args=[1]) for name in OF_ONE]
    return [*map(reverse, (*LISTS, *NEW)), *ones, *(reverse(name, args=[1, act]) for name, act in ACTS)]


def _text(client: Client, url: str) -> str:
    answer = client.get(url)
    assert answer.status_code == 200, url
    return answer.content.decode()


@pytest.mark.parametrize("role", list(Role))
def test_everyone_sees_every_page(client: Client, site: Site, role: Role) -> None:
    _signed_in(client, site, role)
    _furnish(site)
    for url in _urls():
        _text(client, url)


def test_nobody_sees_a_page_without_signing_in(client: Client, site: Site) -> None:
    _furnish(site)
    for url in _urls():
        assert client.get(url).status_code == 302, url


def test_another_plants_objects_are_not_found(client: Client, site: Site) -> None:
    _furnish(make.make_site("other"))
    _signed_in(client, site, MANAGER)
    for name in OF_ONE:
        for pk in (1, 999, 10**30):
            assert client.get(reverse(name, args=[pk])).status_code == 404, name
    for name, act in ACTS:
        url = reverse(name, args=[1, act])
        assert client.get(url).status_code == 404, url
        assert client.post(url, {"reason": "mine"}).status_code == 404, url
    for name in LISTS:
        assert "OW-1" not in _text(client, reverse(name))


def test_an_empty_register_says_what_to_add_first(client: Client, site: Site) -> None:
    _signed_in(client, site, MANAGER)
    said = _text(client, reverse("register"))
    for name in NEW:
        assert reverse(name) in said
    assert "No instrument yet." in _text(client, reverse("instruments"))
    assert "No reference lot yet." in _text(client, reverse("solutions"))
    assert "No method yet." in _text(client, reverse("methods"))
    assert "No product yet." in _text(client, reverse("products"))
    assert "Nothing is due." in _text(client, reverse("due"))


def test_the_register_counts_what_is_owned_and_what_is_due(client: Client, site: Site) -> None:
    _signed_in(client, site, AUDITOR)
    _furnish(site)
    Instrument.objects.update(calibration_due=timezone.localdate() - timedelta(days=2))
    said = _text(client, reverse("register"))
    assert "2 overdue, 3 due within 30 days" in said
    assert "Calibration of OW-1" in said
    assert "overdue by 2 days" in said
    assert "Add first" not in said
    assert "2 overdue, 3 in all" in _text(client, reverse("due"))


def test_an_act_not_of_ones_role_is_named_with_whose_it_is(client: Client, site: Site) -> None:
    _furnish(site)
    _signed_in(client, site, ANALYST)
    said = _text(client, reverse("instrument", args=[1]))
    assert "Change instrument: this is for manager." in said
    assert reverse("instrument_act", args=[1, "change"]) not in said
    form = _text(client, reverse("instrument_act", args=[1, "change"]))
    assert "Changed an instrument: this is for manager." in form
    assert 'name="reason"' not in form


@pytest.mark.parametrize("role", [ANALYST, RELEASE_OFFICER, AUDITOR, ADMINISTRATOR, DEVELOPER])
def test_a_post_not_of_ones_role_changes_nothing(client: Client, site: Site, role: Role) -> None:
    _furnish(site)
    _signed_in(client, site, role)
    for name, act in ACTS:
        if role is ANALYST and act in ("weighing", "open", "discard"):
            continue  # these are an analyst's too
        if role is DEVELOPER and name == "product_act":
            continue
        answer = client.post(reverse(name, args=[1, act]), {"reason": "because", "code": "9", "version": "9"})
        assert answer.status_code == 422
        assert "this is for" in answer.content.decode()
    assert (Bottle.objects.count(), MethodVersion.objects.count(), SpecificationVersion.objects.count()) == (1, 1, 1)
    assert Instrument.objects.get().in_use


def test_an_instrument_says_standing_drift_and_what_was_done_to_it(client: Client, site: Site) -> None:
    _furnish(site)
    manager = _signed_in(client, site, MANAGER)
    instrument, version, now = Instrument.objects.get(), MethodVersion.objects.get(), timezone.now()
    bottles = {Bottle.objects.get(): 0.0004, make.make_bottle(site, "MgCl2"): 0.0}
    for day in range(9, -1, -1):
        make_check(instrument, version, manager, bottles, now - timedelta(days=day, hours=1))
    Cleaning.objects.create(instrument=instrument, what="rim wiped", at=now - timedelta(hours=2), by=manager)
    said = _text(client, instrument.get_absolute_url())
    assert "No drift of OW-1 to be seen in 60 days." in said
    assert "may measure" in said
    assert "Deviations of NaCl, limit ± 0.005" in said
    assert "rim wiped" in said
    assert f"iso:i:{instrument.pk}" in said
    assert "NaCl saturated, bottle 1" in said
    assert reverse("trail", args=["instrument", instrument.pk]) in said
    assert "How do we know" in said
    assert "1 of 1 may measure now" in _text(client, reverse("instruments"))


def test_the_lots_stand_on_the_line_with_how_they_last_read(client: Client, site: Site) -> None:
    _furnish(site)
    manager = _signed_in(client, site, MANAGER)
    assert "NaCl 0.7530, not read yet" in _text(client, reverse("solutions"))
    bottles = {Bottle.objects.get(): 0.0014}
    make_check(Instrument.objects.get(), MethodVersion.objects.get(), manager, bottles, timezone.now())
    assert "NaCl 0.7530, read 0.7544" in _text(client, reverse("solutions"))


def test_a_lot_leads_to_its_balance_record(client: Client, site: Site) -> None:
    _furnish(site)
    manager = _signed_in(client, site, MANAGER)
    lot = SolutionLot.objects.get()
    weighed = RecordWeighing(lot, "B-2", "35.06", "100.00", "100.00", "100.05", "0.02")
    perform(weighed, By(manager, timezone.now()))
    said = _text(client, lot.get_absolute_url())
    assert "check weight 100.00 g read 100.05 g, beyond 0.02 g" in said
    assert "balance check failed: the lot may not be used" in said
    assert "a_w 0.75298 (u 0.00060) at 25 degC" in said
    assert "0 of 1 lots may be used today" in _text(client, reverse("solutions"))
    assert "It may not be read." in _text(client, reverse("bottle", args=[1]))
    trail = _text(client, reverse("trail", args=["balancerecord", lot.weighings.get().pk]))
    assert "Recorded a weighing" in trail
    assert lot.get_absolute_url() in trail


def test_a_product_says_its_limits_on_the_line_and_how_it_is_prepared(client: Client, site: Site) -> None:
    _furnish(site)
    Product.objects.update(form="soft or filled pieces", scope_flags=["frozen"])
    _signed_in(client, site, DEVELOPER)
    said = _text(client, reverse("product", args=[1]))
    assert "a_w at most 0.650 at 25.0 degC" in said
    assert "at most 0.6443" in said
    assert "press it gently flat" in said
    assert "outside ISO 18787 scope" in said
    assert "common practice (no source)" in said
    assert reverse("product_act", args=[1, "specification"]) in said
    assert "outside ISO 18787 scope" in _text(client, reverse("products"))


def test_a_product_without_a_specification_says_so(client: Client, site: Site) -> None:
    version = make.make_method(site)
    Product.objects.create(site=site, name="New bar", form="hard pieces", method=version.method)
    _signed_in(client, site, MANAGER)
    assert "it has no specification" in _text(client, reverse("product", args=[1]))
    assert "no specification yet" in _text(client, reverse("products"))


def test_a_method_names_who_is_competent(client: Client, site: Site) -> None:
    _furnish(site)
    person = _signed_in(client, site, MANAGER)
    method = Method.objects.get()
    assert "Nobody yet" in _text(client, method.get_absolute_url())
    make.make_competent(person, MethodVersion.objects.get(), until=timezone.localdate() + timedelta(days=3))
    said = _text(client, method.get_absolute_url())
    assert person.printed_name in said
    assert "holds" in said
    assert "u = 0.0035 for the mean of 2 portions" in said


def test_every_free_text_is_escaped(client: Client, site: Site) -> None:
    version = make.make_method(site, name=f"M {SCRIPT}", document=SCRIPT, equilibrium_criterion=SCRIPT)
    product = make.make_product(version, name=f"P {SCRIPT}", source=SCRIPT, component=SCRIPT)
    product.components, product.pack_atmosphere, product.form = [SCRIPT], SCRIPT, SCRIPT
    product.save()
    Budget.objects.update(source=SCRIPT)
    bottle = make.make_bottle(site, code=SCRIPT)
    SolutionLot.objects.update(code=SCRIPT, made_from=SCRIPT, certificate=SCRIPT, withdrawn_reason=SCRIPT)
    Bottle.objects.update(discarded_reason=SCRIPT, discarded_at=timezone.now())
    instrument = make.make_instrument(site, name=SCRIPT, location=SCRIPT, out_of_use_reason=SCRIPT, in_use=False)
    person = _signed_in(client, site, MANAGER)
    Person.objects.update(printed_name=SCRIPT)
    make.make_competent(person, version)
    make_check(instrument, version, person, {bottle: 0.0}, timezone.now() - timedelta(hours=1))
    Cleaning.objects.create(instrument=instrument, what=SCRIPT, at=timezone.now(), by=person)
    perform(
        RecordWeighing(SolutionLot.objects.get(), SCRIPT, "1", "1", "1", "1", "1", purity=SCRIPT),
        By(person, timezone.now()),
    )
    for url in _urls():
        said = client.get(url).content.decode()
        assert SCRIPT not in said, url
        assert "alert(1)" not in said or "&lt;script&gt;alert(1)" in said, url
