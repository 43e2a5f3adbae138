"""Signing in, the lock-out, the idle lock, and who may see a page."""

from __future__ import annotations

import time
from datetime import timedelta
from pathlib import Path

from django.test import Client
from tests.outlets.site import make

from isohume.outlets.site.ledger.notes import moments_of, note_rarely
from isohume.outlets.site.ledger.trail import last_line, trail_of
from isohume.outlets.site.people.models import Person
from isohume.outlets.site.people.roles import ADMINISTRATOR, ANALYST, Role
from isohume.outlets.site.people.setup import setup_link


def test_nobody_sees_a_page_without_signing_in(client: Client) -> None:
    answer = client.get("/people/")
    assert answer.status_code == 302
    assert answer["Location"] == "/sign-in/?next=%2Fpeople%2F"


def test_signing_in_leads_to_where_one_was_going(client: Client) -> None:
    person = make.make_person(make.make_site(), ANALYST, username="rhale")
    answer = client.post("/sign-in/", {"username": " RHale ", "password": make.PASSWORD, "next": "/people/"})
    assert (answer.status_code, answer["Location"]) == (302, "/people/")
    assert [line.kind for line in trail_of(person.ref)] == ["signed_in"]


def test_a_wrong_next_never_leads_away(client: Client) -> None:
    make.make_person(make.make_site(), ANALYST, username="rhale")
    for wanted in ("https://elsewhere.example/", "//elsewhere.example/", "javascript:alert(1)"):
        answer = client.post("/sign-in/", {"username": "rhale", "password": make.PASSWORD, "next": wanted})
        assert answer["Location"] == "/"


def test_five_bad_tries_lock_the_account_and_say_so_in_the_ledger(client: Client) -> None:
    person = make.make_person(make.make_site(), ANALYST, username="rhale")
    for _ in range(5):
        assert client.post("/sign-in/", {"username": "rhale", "password": "wrong"}).status_code in (403, 429)
    answer = client.post("/sign-in/", {"username": "rhale", "password": make.PASSWORD})
    assert answer.status_code in (403, 429)
    assert "this account is locked for 15 minutes, or until an administrator unlocks it" in answer.content.decode()
    assert 'name="username"' in answer.content.decode(), "the page of signing in, not a bare line"
    for _ in range(6):
        client.post("/sign-in/", {"username": "rhale", "password": "wrong"})
    lines = [(line.kind, line.by) for line in trail_of(person.ref)]
    assert lines == [("sign_in_failed", "somebody"), ("locked_out", "somebody")], (
        "whoever tries does not fill the ledger"
    )


def test_a_failed_attempt_a_minute_later_is_another_line(site_db: Path) -> None:
    person = make.make_person(make.make_site(), ANALYST, username="rhale")
    for seconds in (0, 59, 61, 90, 121):
        at = make.NOW + timedelta(seconds=seconds)
        note_rarely("sign_in_failed", person.ref, at, "somebody", timedelta(minutes=1))
        note_rarely("sign_in_failed", "person:0", at, "somebody", timedelta(minutes=1), known=False)
    assert [at - make.NOW for at in moments_of("sign_in_failed", person.ref)] == [
        timedelta(0), timedelta(seconds=61), timedelta(seconds=121)
    ]  # fmt: skip
    assert last_line() == 3, "nothing is written of an unknown name"


def test_locking_unlocking_and_signing_out_leave_their_lines(client: Client) -> None:
    person = make.make_person(make.make_site(), ANALYST, username="rhale")
    client.post("/sign-in/", {"username": "rhale", "password": make.PASSWORD})
    for _ in range(2):
        client.post("/lock/", {"next": "/people/"})
    client.post("/lock/", {"password": make.PASSWORD, "next": "/people/"})
    client.post("/sign-out/")
    assert client.get("/people/").status_code == 302
    said = [(line.kind, line.by) for line in trail_of(person.ref)]
    assert said == [(kind, "Rhale") for kind in ("signed_in", "locked", "unlocked_screen", "signed_out")]


def test_signing_in_again_ends_the_lock(client: Client) -> None:
    make.make_person(make.make_site(), ANALYST, username="rhale")
    given = {"username": "rhale", "password": make.PASSWORD}
    client.post("/sign-in/", given)
    client.post("/lock/", {"next": "/people/"})
    assert client.get("/people/")["Location"].startswith("/lock/")
    client.post("/sign-in/", given)
    assert client.get("/people/").status_code == 200


def test_a_form_without_its_token_is_answered_by_a_page_of_ours(site_db: Path) -> None:
    answer = Client(enforce_csrf_checks=True).post("/sign-in/", {"username": "rhale"})
    text = answer.content.decode()
    assert answer.status_code == 403
    assert "this form did not come from a page that is open now" in text
    assert "<style" not in text
    assert "style=" not in text


def test_a_wrong_old_password_stands_at_its_field(client: Client) -> None:
    person = make.make_person(make.make_site(), ANALYST, username="rhale")
    client.force_login(person, "django.contrib.auth.backends.ModelBackend")
    words = {"password": "wrong", "new_password": "nine calm hay barns", "again": "nine calm hay barns"}
    answer = client.post("/password/", words)
    assert answer.status_code == 422
    assert 'id="password-error"' in answer.content.decode()
    person.refresh_from_db()
    assert person.check_password(make.PASSWORD)


def test_an_unknown_name_and_a_wrong_password_get_the_same_words(client: Client) -> None:
    make.make_person(make.make_site(), ANALYST, username="rhale")
    said = [
        client.post("/sign-in/", {"username": name, "password": "wrong"}).content.decode().split("<form")[0]
        for name in ("rhale", "nobody")
    ]
    assert said[0] == said[1]


def test_an_idle_session_is_locked_until_its_own_password(client: Client) -> None:
    site = make.make_site()
    make.make_person(site, ANALYST, username="rhale")
    client.post("/sign-in/", {"username": "rhale", "password": make.PASSWORD})
    session = client.session
    session["seen"] = int(time.time()) - 60 * site.idle_minutes - 1
    session.save()
    assert client.get("/people/")["Location"].startswith("/lock/")
    assert client.post("/people/", {"username": "x"})["Location"].startswith("/lock/"), "a form does not get round it"
    assert client.post("/lock/", {"password": "wrong"}).status_code == 403
    assert client.get("/people/").status_code == 302
    person = Person.objects.get()
    assert [line.details for line in trail_of(person.ref) if line.kind == "locked"] == [{"idle_minutes": 15}]
    assert client.post("/lock/", {"password": make.PASSWORD, "next": "/people/"})["Location"] == "/people/"
    assert client.get("/people/").status_code == 200


def test_a_deactivated_person_is_out_at_the_next_request(client: Client) -> None:
    person = make.make_person(make.make_site(), ANALYST, username="rhale")
    client.post("/sign-in/", {"username": "rhale", "password": make.PASSWORD})
    Person.objects.filter(pk=person.pk).update(is_active=False)
    assert client.get("/people/").status_code == 302


def test_the_set_up_link_works_once(client: Client, site_db: Path) -> None:
    link = setup_link("http://127.0.0.1:8765")
    assert link is not None
    path = link.removeprefix("http://127.0.0.1:8765")
    form = {
        "name": "Harrow Lane Oat Works", "time_zone": "Europe/London", "printed_name": "Kit Moorcroft-Ede",
        "username": "kmoor", "roles": ["manager"], "new_password": "seven quiet oat mills",
        "again": "seven quiet oat mills",
    }  # fmt: skip
    refused = client.post(path, {**form, "new_password": "short", "again": "short"})
    assert refused.status_code == 422
    assert b"12 characters" in refused.content
    assert b"Harrow Lane" in refused.content, "what was typed is kept"
    assert client.post(path, form)["Location"] == "/"
    person = Person.objects.get()
    assert (person.username, person.roles, person.site.key) == (
        "kmoor",
        ["manager", "administrator"],
        "harrow-lane-oat-works",
    )
    assert Client().get(path).status_code == 410
    assert setup_link("http://127.0.0.1:8765") is None


def test_no_shared_account_and_no_name_twice(client: Client) -> None:
    site = make.make_site()
    client.force_login(
        make.make_person(site, ADMINISTRATOR, username="kmoor"), "django.contrib.auth.backends.ModelBackend"
    )
    for name, why in (
        ("guest", "not shared"),
        ("lab2", "not shared"),
        ("KMoor", "never given again"),
        ("x", "3 to 60"),
    ):
        answer = client.post("/people/", {"username": name, "printed_name": "Ada Vance", "roles": ["auditor"]})
        assert answer.status_code == 422
        assert why in answer.content.decode()
    assert Person.objects.count() == 1


def test_an_invited_person_sets_the_password_with_the_link(client: Client) -> None:
    site = make.make_site()
    client.force_login(
        make.make_person(site, ADMINISTRATOR, username="kmoor"), "django.contrib.auth.backends.ModelBackend"
    )
    answer = client.post("/people/", {"username": "avance", "printed_name": "Ada Vance-Tolliver", "roles": ["auditor"]})
    token = answer.content.decode().split("/set-up/")[1].split("/")[0]
    browser = Client()
    words = {"new_password": "nine calm hay barns", "again": "nine calm hay barns"}
    assert browser.post(f"/set-up/{token}/", words)["Location"] == "/"
    assert browser.get("/people/").status_code == 200
    assert Client().post(f"/set-up/{token}/", words).status_code == 410
    kinds = [line.kind for line in trail_of(Person.objects.get(username="avance").ref)]
    assert kinds == ["person_invited", "password_set"]


def test_only_an_administrator_invites(client: Client) -> None:
    site = make.make_site()
    everybody_else = [role for role in Role if role != ADMINISTRATOR]
    client.force_login(make.make_person(site, *everybody_else), "django.contrib.auth.backends.ModelBackend")
    answer = client.post("/people/", {"username": "avance", "printed_name": "Ada Vance", "roles": ["auditor"]})
    assert answer.status_code == 422
    assert "this is for administrator" in answer.content.decode()
