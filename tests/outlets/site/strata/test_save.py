"""Position maps and sampling plans: what is read, what is refused, and who may."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.outlets.site.strata.cart import NOW, POINTS, SEEING, developer_of, make_cart, save_map, save_plan

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.ledger.actions import By, Refused, perform
from isohume.outlets.site.strata.actions.save_map import SavePositionMap
from isohume.outlets.site.strata.actions.save_plan import SaveSamplingPlan
from isohume.outlets.site.strata.names import read_names
from isohume.outlets.site.strata.queries import map_of, plan_of


def test_a_map_names_its_places_the_worst_ones_first(site_db: Path) -> None:
    bench = make_cart()
    found = save_map(bench, developer_of(bench))
    assert len(found.places) == 36
    assert found.worst == ["rack 12 bottom front", "rack 12 top rear", "rack 12 middle"]
    assert found.places[:4] == [*found.worst, "rack 1 top rear"]
    assert map_of(bench.product) == found


def test_a_series_is_written_in_short() -> None:
    assert read_names("tray 1 to 3, end", "rows") == ["tray 1", "tray 2", "tray 3", "end"]
    assert read_names("7-9", "rows") == ["7", "8", "9"]
    assert read_names(" , ", "rows") == []


@pytest.mark.parametrize(
    ("field", "given"),
    [
        ("rows", {"rows": ""}),
        ("rows", {"rows": "rack 1"}),
        ("rows", {"rows": "rack 1, Rack  1"}),
        ("rows", {"rows": "rack 9 to 2"}),
        ("rows", {"rows": "x" * 41}),
        ("columns", {"rows": "rack 1 to 60", "columns": "zone 1 to 60"}),
        ("worst", {"rows": "rack 1 to 3", "worst": "rack 4"}),
        ("reason", {"rows": "rack 1 to 3", "reason": " "}),
    ],
)
def test_a_map_that_means_nothing_is_refused(site_db: Path, field: str, given: dict[str, str]) -> None:
    bench = make_cart()
    action = SavePositionMap(bench.product, **{"columns": "", "worst": "", "reason": "why", **given})
    with pytest.raises(InputError) as refused:
        perform(action, By(bench.manager, NOW))
    assert refused.value.field == field


def test_a_plan_is_found_anew_when_it_is_saved(site_db: Path) -> None:
    bench = make_cart()
    developer = developer_of(bench)
    first = save_plan(bench, developer)
    assert (first.n, first.c, first.k, first.version) == (29, 0, "", 1)  # job description, row 29
    second = save_plan(bench, developer, **{**SEEING, "lot_size": "36"})
    assert second.n == 19
    by_variables = save_plan(bench, developer, kind="variables", **POINTS)
    assert (by_variables.n, by_variables.c) == (42, None)
    assert float(by_variables.k) == pytest.approx(1.90, abs=0.02)
    assert plan_of(bench.product) == by_variables
    assert by_variables.version == 3


@pytest.mark.parametrize(
    ("field", "typed"),
    [
        ("kind", {"kind": "guess"}),
        ("fraction_percent", {**SEEING, "fraction_percent": "0"}),
        ("confidence_percent", {**SEEING, "confidence_percent": "100"}),
        ("lot_size", {**SEEING, "lot_size": "1.5"}),
        ("lq_percent", {"kind": "attributes", **POINTS, "lq_percent": "1"}),
        ("lq_percent", {"kind": "variables", **POINTS, "aql_percent": "5.9999"}),
        ("aql_percent", {"kind": "attributes", **POINTS, "aql_percent": ""}),
        ("consumer_risk_percent", {"kind": "attributes", **POINTS, "consumer_risk_percent": "97"}),
    ],
)
def test_a_plan_that_cannot_be_is_refused_by_the_name_of_its_field(
    site_db: Path, field: str, typed: dict[str, str]
) -> None:
    bench = make_cart()
    with pytest.raises(InputError) as refused:
        perform(SaveSamplingPlan(bench.product, typed, "why"), By(bench.manager, NOW))
    assert refused.value.field == field


def test_an_analyst_saves_neither(site_db: Path) -> None:
    bench = make_cart()
    for action in (
        SavePositionMap(bench.product, "a, b", reason="why"),
        SaveSamplingPlan(bench.product, SEEING, "why"),
    ):
        with pytest.raises(Refused, match="developer, manager"):
            perform(action, By(bench.analyst, NOW))
