"""A fitted set is kept as the product's isotherm: signed, versioned, frozen."""

from __future__ import annotations

import hashlib
from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from tests.outlets.site.make import PASSWORD
from tests.outlets.site.studies import bench as b
from tests.outlets.site.studies.bench import Bench

from isohume.bench.record.canonical_form import canonical
from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.ledger.actions import Refused, perform
from isohume.outlets.site.ledger.trail import trail_of
from isohume.outlets.site.lots.frozen import questions
from isohume.outlets.site.people.proof import Proof
from isohume.outlets.site.studies.models import Isotherm, Study
from isohume.outlets.site.studies.queries import in_force


def test_it_is_frozen_whole_and_signed(bench: Bench) -> None:
    study = bench.fitted()
    kept = bench.kept(study)
    assert (kept.version, kept.direction, kept.temperature_c, kept.formula_version) == (1, "adsorption", "25.0", "7")
    assert kept.content == study.sets[0]
    assert kept.digest == hashlib.sha256(canonical(kept.content)).hexdigest()
    assert questions().file(kept.digest) == canonical(kept.content)
    (line,) = trail_of(kept.ref)
    assert (line.kind, line.by, line.reason) == ("isotherm_kept", "Dev", "First isotherm of this recipe")
    assert line.details["meaning"] == "kept"
    assert line.details["sha256"] == kept.digest
    assert "isotherm_kept" in [one.kind for one in trail_of(bench.product.ref)]


@pytest.mark.parametrize("fault", ["none", "old", "another"])
def test_without_a_fresh_proof_of_one_s_own_nothing_is_kept(bench: Bench, fault: str) -> None:
    study, by = bench.fitted(), bench.by()
    proofs = {
        "none": None,
        "old": Proof(by.person.pk, by.at - timedelta(minutes=2)),
        "another": Proof(bench.people["boss"].pk, by.at),
    }
    with pytest.raises(Refused, match="password was not given again"):
        perform(bench.keeping(study, proof=proofs[fault]), bench.by())
    assert Isotherm.objects.count() == 0


def test_an_analyst_keeps_nothing(bench: Bench) -> None:
    with pytest.raises(Refused, match="this is for developer, manager"):
        perform(bench.keeping(bench.fitted(), "hand"), bench.by("hand"))


@pytest.mark.parametrize(
    ("given", "field"),
    [({"reason": " "}, "reason"), ({"direction": "desorption"}, "direction"), ({"temperature_c": "30.0"}, "direction")],
)
def test_bad_fields(bench: Bench, given: dict[str, Any], field: str) -> None:
    with pytest.raises(InputError) as raised:
        perform(bench.keeping(bench.fitted(), **given), bench.by())
    assert raised.value.field == field


def test_what_is_not_fitted_or_has_no_model_is_not_kept(bench: Bench) -> None:
    waiting = perform(bench.adding(), bench.by())
    with pytest.raises(Refused, match="is not fitted yet"):
        bench.kept(waiting)
    step = bench.fitted(b.steps_csv())
    with pytest.raises(Refused, match="No model describes these points"):
        bench.kept(step)


def test_another_result_than_the_one_looked_at_is_not_kept(bench: Bench) -> None:
    study = bench.fitted()
    with pytest.raises(Refused, match="fitted again since this page was opened"):
        bench.kept(study, result_sha256="0" * 64)


def test_a_result_changed_in_the_database_is_not_kept(bench: Bench) -> None:
    study = bench.fitted()
    changed = {**study.result}
    changed["sets"][0]["curve"]["moisture"][5] += 0.01
    Study.objects.filter(pk=study.pk).update(result=changed)
    with pytest.raises(Refused, match="its digest differs"):
        bench.kept(study)


def test_the_same_set_is_kept_once(bench: Bench) -> None:
    study = bench.fitted()
    bench.kept(study)
    with pytest.raises(Refused, match="This is version 1"):
        bench.kept(study)


def test_old_versions_stay_and_the_newest_of_a_kind_is_in_force(bench: Bench) -> None:
    both = bench.both()
    adsorbed = bench.kept(both)
    desorbed = bench.kept(both, direction="desorption", reason="The other way")
    assert in_force(bench.product) == [adsorbed, desorbed]
    newer = bench.kept(bench.fitted(), reason="Measured again")
    assert newer.version == 3
    assert in_force(bench.product) == [newer, desorbed]
    assert "isotherm_kept" in [line.kind for line in trail_of(adsorbed.ref)[1:]]  # it is told that it was replaced
    other = b.points_csv(tuple(m + 0.4 for m in b.ADSORBED))
    of_recipe_8 = bench.kept(bench.fitted(other, formula_version="8"), reason="New recipe")
    assert in_force(bench.product) == [of_recipe_8]
    assert Isotherm.objects.count() == 4


def test_kept_through_its_page_and_shown_at_the_product(bench: Bench, client: Client) -> None:
    study = bench.fitted()
    dev = bench.client(client)
    before = dev.get(bench.product.get_absolute_url()).content.decode()
    assert "No isotherm was kept yet" in before
    place = reverse("study_keep", args=[study.pk])
    assert "adsorption at 25.0 degC" in dev.get(place).content.decode()
    fields = {"set": "adsorption 25.0", "result": study.result_sha256, "reason": "First", "password": "wrong"}
    refused = dev.post(place, fields)
    assert refused.status_code == 422
    assert "password was not given again" in refused.content.decode()
    done = dev.post(place, {**fields, "password": PASSWORD})
    kept = Isotherm.objects.get()
    assert done["Location"] == kept.get_absolute_url()
    said = dev.get(kept.get_absolute_url()).content.decode()
    assert "Isotherm 1:" in said
    assert "In force since" in said
    after = dev.get(bench.product.get_absolute_url()).content.decode()
    assert kept.get_absolute_url() in after
    assert "adsorption at 25.0" in after


def test_the_page_says_what_stands_against_it_before_anything_is_typed(bench: Bench, client: Client) -> None:
    said = bench.client(client).get(reverse("study_keep", args=[bench.fitted(b.steps_csv()).pk])).content.decode()
    assert "There is nothing to keep" in said
    hand = bench.client(client, "hand").get(reverse("study_keep", args=[bench.fitted().pk])).content.decode()
    assert "this is for developer, manager" in hand
