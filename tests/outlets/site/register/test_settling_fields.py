"""How a method says when a trace has settled, whether estimates may release, whether a verdict is said early."""

from __future__ import annotations

from pathlib import Path

import pytest
from django.test import Client
from django.urls import reverse
from tests.outlets.site import make

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.captures.judged import criterion_of
from isohume.outlets.site.ledger.actions import By, perform
from isohume.outlets.site.people.roles import Role
from isohume.outlets.site.register.actions.add_method import AddMethod
from isohume.outlets.site.register.actions.method_fields import Asks
from isohume.outlets.site.register.models import MethodVersion


def added(**asks: str) -> MethodVersion:
    site = make.make_site()
    by = By(make.make_person(site, Role.MANAGER), make.NOW)
    return perform(AddMethod(site, "BM-12", Asks(version="3", **asks)), by)


def test_a_method_states_its_criterion_and_it_judges(site_db: Path) -> None:
    version = added(settled_change="0.0005", settled_window_s="120", estimates_validated="VR-7", early_verdicts="yes")
    assert criterion_of(version).words == "change of at most 0.0005 in 120 s"
    assert (version.estimates_validated, version.early_verdicts) == ("VR-7", True)


def test_a_method_that_says_nothing_is_judged_by_the_usual_words(site_db: Path) -> None:
    version = added()
    assert (version.settled_change, version.settled_window_s, version.early_verdicts) == ("", "", False)
    assert criterion_of(version).words == "change of at most 0.0005 in 60 s"


@pytest.mark.parametrize(
    ("field", "asks"),
    [
        ("settled_change", {"settled_change": "0.06", "settled_window_s": "60"}),
        ("settled_change", {"settled_change": "0", "settled_window_s": "60"}),
        ("settled_change", {"settled_change": "5 %", "settled_window_s": "60"}),
        ("settled_change", {"settled_window_s": "60"}),
        ("settled_window_s", {"settled_change": "0.0005"}),
        ("settled_window_s", {"settled_change": "0.0005", "settled_window_s": "3601"}),
        ("settled_window_s", {"settled_change": "0.0005", "settled_window_s": "0.5"}),
        ("early_verdicts", {"early_verdicts": "perhaps"}),
    ],
)
def test_what_is_out_of_range_stands_at_its_field(site_db: Path, field: str, asks: dict[str, str]) -> None:
    with pytest.raises(InputError) as refused:
        added(**asks)
    assert refused.value.field == field


def test_the_form_carries_the_version_before_over(client: Client) -> None:
    version = added(settled_change="0.0005", settled_window_s="120", early_verdicts="yes")
    client.force_login(version.method.site.people.get(), "django.contrib.auth.backends.ModelBackend")
    page = client.get(reverse("method_act", args=[version.method.pk, "version"])).content.decode()
    assert 'name="settled_window_s" type="text" value="120"' in page
    assert 'name="early_verdicts" value="yes" checked' in page
    assert "it changes by at most 0.0005 in 120 s" in client.get(version.get_absolute_url()).content.decode()
