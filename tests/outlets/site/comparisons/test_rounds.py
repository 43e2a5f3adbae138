"""Proficiency rounds: z of 3.1 opens a deviation, and what else follows from a score."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from tests.outlets.site.browse import sign_in
from tests.outlets.site.lots.bench_day import NOW, Bench

from isohume.foundation.quantity import InputError
from isohume.outlets.site.comparisons.actions.explain_round import ExplainRound
from isohume.outlets.site.comparisons.actions.record_round import RecordRound
from isohume.outlets.site.comparisons.due import due_items
from isohume.outlets.site.comparisons.models import ProficiencyRound
from isohume.outlets.site.ledger.actions import By, Refused, perform
from isohume.outlets.site.lots.models import Deviation


def record(bench: Bench, result: str, **more: str) -> ProficiencyRound:
    """A round with the assigned value 0.650 and sigma_pt 0.005."""
    given = {
        "scheme": "Baked goods",
        "round": "2026-1",
        "item": "Crackers",
        "assigned": "0.6500",
        "sigma_pt": "0.005",
        "result": result,
        "reported_on": "2026-09-01",
        **more,
    }
    return perform(RecordRound(bench.site, **given), By(bench.manager, NOW))


# z by hand: (result - 0.650)/0.005
@pytest.mark.parametrize(
    ("result", "z", "word", "opened"),
    [
        ("0.6520", 0.4, "acceptable", 0),
        ("0.6615", 2.3, "warning", 0),
        ("0.6600", 2.0, "warning", 0),
        ("0.6655", 3.1, "action", 1),
        ("0.6345", -3.1, "action", 1),
    ],
)
def test_what_a_score_opens(bench: Bench, result: str, z: float, word: str, opened: int) -> None:
    found = record(bench, result)
    assert found.z == pytest.approx(z, abs=1e-9)
    assert found.word == word
    assert [(one.kind, one.about) for one in Deviation.objects.all()] == [("proficiency round", found.ref)] * opened


def test_the_deviation_stands_on_its_page_and_on_the_round(bench: Bench, client: Client) -> None:
    found = record(bench, "0.6655")
    sign_in(client, bench.manager)
    assert "asks for action" in client.get(reverse("deviations")).content.decode()
    page = client.get(found.get_absolute_url()).content.decode()
    assert "z = 3.10: action needed" in page
    assert Deviation.objects.get().get_absolute_url() in page


def test_e_n_acts_only_where_the_laboratory_chose_so(bench: Bench) -> None:
    # by hand: 0.004/sqrt(0.003^2 + 0.002^2) = 1.109 with U = 2u; z = 0.8; zeta twice E_n
    u = {"u_result": "0.0015", "u_assigned": "0.0010"}
    found = record(bench, "0.6540", **u)
    assert (found.z, found.zeta, found.e_n) == pytest.approx((0.8, 2.2188, 1.1094), abs=1e-4)
    assert found.word == "warning"  # |zeta| is read as |z| is: job.md D5 (ISO 13528, clause from memory)
    chosen = record(bench, "0.6540", **u, item="Jam", e_n_counts="yes")
    assert chosen.word == "action"
    assert "|E_n| = 1.11" in Deviation.objects.get().what
    with pytest.raises(InputError, match="u_result"):
        record(bench, "0.6540", item="Raisins", e_n_counts="yes")


def test_zeta_asks_for_action_where_z_hides_it_in_a_wide_sigma(bench: Bench) -> None:
    # by hand: 0.004/sqrt(0.0005^2 + 0.0005^2) = 5.66; z = 0.004/0.005 = 0.8
    found = record(bench, "0.6540", u_result="0.0005", u_assigned="0.0005")
    assert (found.z, found.zeta) == pytest.approx((0.8, 5.6569), abs=1e-4)
    assert found.word == "action"
    assert "|zeta| = 5.66" in Deviation.objects.get().what


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("result", "65.4"),
        ("sigma_pt", "0"),
        ("sigma_pt", "-0.005"),
        ("reported_on", "2027-01-01"),
        ("next_on", "2020-01-01"),
        ("scheme", " "),
        ("instrument", "999"),
        ("u_result", "nan"),
    ],
)
def test_bad_fields_are_named(bench: Bench, field: str, value: str) -> None:
    with pytest.raises(InputError) as caught:
        record(bench, **{"result": "0.652", field: value})
    assert caught.value.field == field
    assert not ProficiencyRound.objects.exists()


def test_an_item_comes_once_a_round(bench: Bench) -> None:
    record(bench, "0.652")
    with pytest.raises(InputError, match="not recorded yet"):
        record(bench, "0.653")


def test_an_analyst_records_no_round(bench: Bench) -> None:
    with pytest.raises(Refused, match="this is for manager"):
        perform(RecordRound(bench.site, "S", "1", "I", "0.65", "0.005", "0.65", "2026-09-01"), By(bench.analyst, NOW))


def test_cause_and_action_keep_the_old_words_in_the_trail(bench: Bench, client: Client) -> None:
    found = record(bench, "0.6655")
    for cause in ("Cups filled warm", "Cups filled warm, and lids left off"):
        perform(ExplainRound(found, cause, "Rest portions an hour"), By(bench.manager, NOW))
    sign_in(client, bench.auditor)
    trail = client.get(reverse("trail", args=["proficiencyround", found.pk])).content.decode()
    assert trail.count("Cups filled warm") >= 3  # old and new of the second word, new of the first
    with pytest.raises(InputError):
        perform(ExplainRound(found, "", "x"), By(bench.manager, NOW))


def test_the_last_round_of_a_scheme_says_when_the_next_is_due(bench: Bench) -> None:
    late, soon = (NOW.date() + timedelta(days=days) for days in (90, 20))
    record(bench, "0.652", next_on=late.isoformat())
    record(bench, "0.651", round="2026-2", reported_on="2026-09-10", next_on=soon.isoformat())
    (due,) = due_items(bench.site, NOW)
    assert (due.due_on, due.what) == (soon, "Proficiency round of Baked goods")


def test_rounds_as_a_picture_with_its_table(bench: Bench, client: Client) -> None:
    more: list[dict[str, Any]] = [
        {"round": f"2026-{i}", "result": r} for i, r in enumerate(("0.656", "0.657", "0.6555"))
    ]
    for one in more:
        record(bench, **one)
    sign_in(client, bench.auditor)
    page = client.get(reverse("rounds")).content.decode()
    assert "The same as a table" in page
    # by hand: (1.2 + 1.4 + 1.1)/sqrt(3) = 2.136: a warning, though each round is acceptable
    assert "+2.14" in page
    assert "Together they lean to one side" in page
