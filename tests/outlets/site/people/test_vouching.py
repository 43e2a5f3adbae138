"""Who vouches for whom: the witness of a lost password, and who says that somebody is competent."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest
from django.test import Client
from tests.outlets.site import make
from tests.outlets.site.browse import sign_in

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.ledger.actions import By, Refused, perform
from isohume.outlets.site.ledger.notes import note
from isohume.outlets.site.people.actions.accounts import InviteAgain
from isohume.outlets.site.people.actions.show_competence import ShowCompetence
from isohume.outlets.site.people.models import Competence, Person, Site
from isohume.outlets.site.people.proof import prove_by_password
from isohume.outlets.site.people.roles import ADMINISTRATOR, ANALYST, AUDITOR, MANAGER, RELEASE_OFFICER, Role


@pytest.fixture
def site(site_db: Path) -> Site:
    return make.make_site()


def witness(site: Site, *roles: Role, hours: float | None = 30) -> Person:
    """Somebody who signed in for the first time so long ago, or never."""
    person = make.make_person(site, *roles)
    if hours is not None:
        note("signed_in", person.ref, make.NOW - timedelta(hours=hours), person.printed_name)
    note("signed_in", person.ref, make.NOW, person.printed_name)
    return person


def give_a_link(lost: Person, second: Person) -> str:
    proof = prove_by_password(second, make.PASSWORD, make.NOW)
    administrator = make.make_person(lost.site, ADMINISTRATOR)
    return perform(InviteAgain(lost, second, proof, "The password was lost"), By(administrator, make.NOW))


@pytest.mark.parametrize("role", [MANAGER, RELEASE_OFFICER])
def test_a_manager_or_release_officer_of_more_than_a_day_vouches(site: Site, role: Role) -> None:
    lost = make.make_person(site, RELEASE_OFFICER)
    assert give_a_link(lost, witness(site, role))
    lost.refresh_from_db()
    assert not lost.has_usable_password()


@pytest.mark.parametrize(
    ("roles", "hours", "why"),
    [
        ((AUDITOR,), 30, "is a manager or a release officer"),
        ((ANALYST, ADMINISTRATOR), 30, "is a manager or a release officer"),
        ((MANAGER,), None, "at least a day ago"),
        ((MANAGER,), 23, "at least a day ago"),
    ],
)
def test_a_witness_made_up_on_the_spot_is_refused(site: Site, roles: tuple[Role, ...], hours: float, why: str) -> None:
    lost = make.make_person(site, RELEASE_OFFICER)
    with pytest.raises(Refused, match=why):
        give_a_link(lost, witness(site, *roles, hours=hours))
    lost.refresh_from_db()
    assert lost.check_password(make.PASSWORD)


def test_nobody_records_the_own_competence(site: Site) -> None:
    method = make.make_method(site).method
    manager, other = make.make_person(site, MANAGER), make.make_person(site, MANAGER)
    asked = ShowCompetence(manager, method, "2026-09-01", "2027-09-01", "blind reference")
    with pytest.raises(Refused, match="Nobody records the own competence"):
        perform(asked, By(manager, make.NOW))
    assert perform(asked, By(other, make.NOW)).person == manager


def test_a_competence_holds_three_years_ahead_at_most(site: Site) -> None:
    method = make.make_method(site).method
    analyst, by = make.make_person(site, ANALYST), By(make.make_person(site, MANAGER), make.NOW)
    for lapses in ("9999-01-01", "2029-09-21"):
        with pytest.raises(InputError, match="at most three years ahead") as refused:
            perform(ShowCompetence(analyst, method, "2026-09-01", lapses, "blind reference"), by)
        assert refused.value.field == "lapses_on"
    assert perform(ShowCompetence(analyst, method, "2026-09-01", "2029-09-16", "blind reference"), by).pk


@pytest.mark.parametrize("method", ["", "abc", "9" * 5000, "²", "99999"])
def test_a_competence_in_no_method_is_refused_at_its_field(site: Site, method: str) -> None:
    client, analyst = Client(), make.make_person(site, ANALYST)
    sign_in(client, make.make_person(site, MANAGER))
    answer = client.post(f"/people/{analyst.pk}/competence/", {"method": method})
    assert answer.status_code == 422
    assert "a method of the register" in answer.content.decode()
    assert not Competence.objects.exists()


def test_the_witness_password_is_kept_out_of_any_report(site: Site) -> None:
    client, analyst = Client(), make.make_person(site, ANALYST)
    sign_in(client, make.make_person(site, ADMINISTRATOR))
    answer = client.post(
        f"/people/{analyst.pk}/invite-again/", {"reason": "lost", "witness": "x", "password": "secret"}
    )
    assert "A second person must give name and password." in answer.content.decode()
    assert answer.wsgi_request.sensitive_post_parameters == ("password",)
    assert "secret" not in answer.content.decode()
