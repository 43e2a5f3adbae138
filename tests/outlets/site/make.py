"""Makes the objects that tests need, one `make_x` each; the least that is valid, from the invented plant A."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import Any

from isohume.outlets.site.people.models import Competence, Person, Site
from isohume.outlets.site.people.roles import Role
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

NOW = datetime(2026, 9, 16, 9, 0, tzinfo=UTC)
PASSWORD = "four calm oat bars"


def make_site(key: str = "harrow-lane", **more: Any) -> Site:
    """A plant."""
    given = {"name": "Harrow Lane Oat Works", "laboratory": "Bench room 2", "time_zone": "Europe/London", **more}
    return Site.objects.create(key=key, **given)


def make_person(site: Site, *roles: Role, username: str = "", **more: Any) -> Person:
    """A person with roles; the password is PASSWORD."""
    name = username or f"person{Person.objects.count() + 1}"
    person = Person(site=site, username=name, printed_name=name.title(), roles=list(roles), **more)
    person.set_password(PASSWORD)
    person.save()
    return person


def make_method(site: Site, name: str = "Water activity of cut bars, BM-12", **more: Any) -> MethodVersion:
    """A method with one version and its budget from own data."""
    method = Method.objects.create(site=site, name=name)
    version = MethodVersion.objects.create(method=method, version="3", since=NOW - timedelta(days=100), **more)
    Budget.objects.create(
        method_version=version,
        basis="own data",
        u_other="0.0032",
        s_r="0.0020",
        source="Own check and duplicate data of the plant",
        since=NOW - timedelta(days=100),
    )
    return version


def make_competent(person: Person, version: MethodVersion, until: date = date(2027, 6, 30)) -> Competence:
    """Competence of a person in a method."""
    return Competence.objects.create(
        person=person, method=version.method, shown_on=date(2026, 1, 10), lapses_on=until, evidence="blind reference"
    )


def make_instrument(site: Site, name: str = "OW-1", **more: Any) -> Instrument:
    """A dew-point instrument that measures the sample's surface temperature."""
    given = {
        "serial": f"{name}-0417",
        "principle": "dew-point measurement",
        "measures_surface_temperature": True,
        "calibration_due": date(2027, 1, 15),
        **more,
    }
    return Instrument.objects.create(site=site, name=name, **given)


def make_bottle(site: Site, solution: str = "NaCl", molality: str = "", code: str = "1") -> Bottle:
    """An opened bottle of a lot of its own."""
    lot, _ = SolutionLot.objects.get_or_create(
        site=site,
        code=f"{solution}-26-04",
        defaults={
            "solution": solution,
            "molality": molality,
            "made_on": date(2026, 4, 2),
            "expires_on": date(2027, 4, 2),
            "made_from": "salt of known purity and distilled water",
        },
    )
    return Bottle.objects.create(solution_lot=lot, code=code, opened_at=NOW - timedelta(days=20))


def make_product(method: MethodVersion, name: str = "Soft oat bar", **specification: Any) -> Product:
    """A product with one specification version: at most 0.650, a quality limit, at 25 degC."""
    product = Product.objects.create(
        site=method.method.site, name=name, form="soft or filled pieces", components=["whole bar"], method=method.method
    )
    given = {
        "version": "4",
        "component": "whole bar",
        "temperature_c": "25.0",
        "upper": "0.650",
        "upper_operator": "<=",
        "kind": "quality",
        "guard": "1.64",
        "expected_a_w": "0.632",
        "source": "Product specification SB-4 of the plant: soft until day 7",
        "since": NOW - timedelta(days=100),
        **specification,
    }
    SpecificationVersion.objects.create(product=product, **given)
    return product
