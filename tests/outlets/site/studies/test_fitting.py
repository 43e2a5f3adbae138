"""The worker fits a study: the result agrees with the library called directly, is kept as evidence, and noted."""

from __future__ import annotations

import hashlib
import json

import numpy as np
import pytest
from django.test import Client
from tests.outlets.site.studies import bench as b
from tests.outlets.site.studies.bench import Bench

from isohume.bench.record.canonical_form import canonical
from isohume.outlets.site.ledger.actions import Refused, perform
from isohume.outlets.site.ledger.trail import trail_of
from isohume.outlets.site.lots.frozen import questions
from isohume.outlets.site.studies.actions.fit_again import FitAgain
from isohume.outlets.site.studies.answers import moisture_at, moisture_limit, water_activity_at
from isohume.outlets.site.work.worker import do_next
from isohume.product import sorption


def directly() -> sorption.Panel:
    """The same points fitted without the site."""
    points = sorption.Points(list(b.A_W), [m / 100 for m in b.ADSORBED], temperature_c=[25.0])
    return sorption.fit_panel(points)


def test_the_result_says_what_the_library_says(bench: Bench) -> None:
    study, panel = bench.fitted(), directly()
    (one,) = study.sets
    assert (one["direction"], one["temperature_c"], one["n"]) == ("adsorption", "25.0", 10)
    assert [model["key"] for model in one["models"]] == [fit.model.key for fit in panel.fits]
    for model, fit in zip(one["models"], panel.fits, strict=True):
        found = {p["name"]: p["value"] for p in model["parameters"]}
        assert found == pytest.approx(fit.parameters, rel=1e-6)
        assert model["aicc"] == (pytest.approx(fit.aicc) if np.isfinite(fit.aicc) else None)
    assert one["recommended"] == panel[str(sorption.choose(panel).recommended)].model.key
    assert one["reasons"]


def test_answers_between_the_saved_places_are_those_of_the_library(bench: Bench) -> None:
    """A page reads a saved grid: between its places it differs by less than a hundred-thousandth of kg/kg."""
    (one,) = bench.fitted().sets
    panel = directly()
    choice, fit = sorption.choose(panel), panel[one["recommended"]]
    spread = sorption.form_spread(panel, choice, 0.63)[0]
    for a_w in (0.1131, 0.2, 0.3337, 0.5, 0.6501, 0.8429):
        asked = sorption.moisture_at_chosen(panel, choice, a_w, 0.95)
        found = moisture_at(one, a_w, "95")
        assert (found.value, found.low, found.high) == pytest.approx((asked.value, asked.low, asked.high), abs=5e-6)
        form = sorption.form_spread(panel, choice, a_w)[0]
        back = sorption.water_activity_at(fit, asked.value, 0.95, u_moisture=form)
        across = water_activity_at(one, asked.value, "95")
        assert (across.value, across.low, across.high) == pytest.approx((back.value, back.low, back.high), abs=1e-5)
    u = float(np.hypot(0.002 * (1 + fit.moisture(0.63)) ** 2, spread))
    limit = sorption.moisture_limit(fit, 0.65, 0.95, u_moisture=u, guard=0.02)
    mine = moisture_limit(one, 0.65, "95", 0.02, 0.002)
    assert mine.keep == pytest.approx(limit.low, abs=5e-6)


def test_the_bootstrap_band_stands_beside_the_interval(bench: Bench) -> None:
    (one,) = bench.fitted().sets
    low, high = one["curve"]["bands"]["95"]
    limit = moisture_limit(one, 0.6, "95")
    assert limit.resampled.low < limit.moisture.value < limit.resampled.high
    wide = np.subtract(high, low)
    assert 0.3 < (limit.resampled.high - limit.resampled.low) / (limit.moisture.high - limit.moisture.low) < 3
    assert (wide > 0).all()


def test_the_result_is_evidence_with_its_digest(bench: Bench) -> None:
    study = bench.fitted()
    body = questions().file(study.result_sha256)
    assert body is not None
    assert json.loads(body) == study.result
    assert hashlib.sha256(canonical(study.result)).hexdigest() == study.result_sha256
    assert study.result["input_sha256"] == study.file_sha256
    fitted = trail_of(study.ref)[-1]
    assert (fitted.kind, fitted.details["result"], fitted.by) == ("study_fitted", study.result_sha256, "Dev")


def test_adsorption_and_desorption_are_kept_apart(bench: Bench) -> None:
    adsorbed, desorbed = bench.both().sets
    assert (adsorbed["direction"], desorbed["direction"]) == ("adsorption", "desorption")
    assert adsorbed["n"] == desorbed["n"] == 10
    assert moisture_at(desorbed, 0.4, "95").low > moisture_at(adsorbed, 0.4, "95").high


def test_several_temperatures_are_several_sets(bench: Bench) -> None:
    rows = [
        f"{a},{m},{t}"
        for t, by in ((15, 1.05), (25, 1.0))
        for a, m in zip(b.A_W, np.array(b.ADSORBED) * by, strict=True)
    ]
    content = "\n".join(["aw,moisture db %,temp", *rows, ""]).encode()
    study = bench.fitted(content, columns={**b.COLUMNS, "temperature_c": "temp"}, temperature_c="")
    assert [one["temperature_c"] for one in study.sets] == ["15.0", "25.0"]


def test_a_step_has_no_model_and_says_why(bench: Bench, client: Client) -> None:
    study = bench.fitted(b.steps_csv())
    (one,) = study.sets
    assert one["recommended"] is None
    assert one["curve"] is None
    assert one["reasons"]
    said = bench.client(client).get(study.get_absolute_url()).content.decode()
    assert "No model describes these points" in said
    assert "Keep at or below" not in said
    assert "Monolayer by" not in said  # what a wrong model says of it is not told
    assert "Keep as the product" not in said


def test_too_few_points_are_an_answer_not_a_fault(bench: Bench, client: Client) -> None:
    study = bench.fitted(b.points_csv(b.ADSORBED[:2], b.A_W[:2]))
    assert study.sets[0]["recommended"] is None
    assert bench.client(client).get(study.get_absolute_url()).status_code == 200


def test_fitting_again_needs_the_first_to_be_over_and_gives_the_same(bench: Bench) -> None:
    study = perform(bench.adding(), bench.by())
    with pytest.raises(Refused, match="is being fitted"):
        perform(FitAgain(study), bench.by())
    do_next()
    study.refresh_from_db()
    before = study.result_sha256
    perform(FitAgain(study), bench.by("boss"))
    do_next()
    study.refresh_from_db()
    assert study.result_sha256 == before  # the same points, the same seed, the same bytes
    with pytest.raises(Refused, match="this is for developer, manager"):
        perform(FitAgain(study), bench.by("hand"))
