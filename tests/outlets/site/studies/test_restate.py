"""A lot restated on its page: from the product's own isotherms or a cited heat, refused without, never a release."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from tests.outlets.site import make
from tests.outlets.site.lots import bench_day
from tests.outlets.site.studies import bench as b

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.bench.models import Lot, Run
from isohume.outlets.site.ledger.actions import Refused, perform
from isohume.outlets.site.ledger.trail import trail_of
from isohume.outlets.site.lots.models import MoistureDetermination
from isohume.outlets.site.people.roles import DEVELOPER
from isohume.outlets.site.register.models import SpecificationVersion
from isohume.outlets.site.studies.actions.keep_heat import KeepHeat
from isohume.outlets.site.studies.models import KeptHeat
from isohume.outlets.site.studies.restate import page_of

CITED = {
    "value_kj_mol": "3",
    "u_kj_mol": "0.5",
    "low_c": "15",
    "high_c": "35",
    "low_a_w": "0.55",
    "high_a_w": "0.90",
    "formula_version": "7",
    "source": "A handbook of sorption, table 4",
    "reason": "The same oats and syrup",
}


class Kitchen:
    """A judged lot of a product, and a developer."""

    def __init__(self) -> None:
        self.day = bench_day.make_bench(upper="0.850", temperature_c="25.0", kind="quality")
        self.dev = make.make_person(self.day.site, DEVELOPER, username="dev")
        self.bench = b.Bench(self.day.site, self.day.product, {"dev": self.dev, "hand": self.day.analyst})

    def lot(self, *read: str) -> Lot:
        """A lot that was judged, read in a block of 25.0 degC."""
        found = bench_day.make_lot(self.day, "SB-0916-01", *read)
        Run.objects.filter(portion__sample__lot=found).update(block_temperature_c="25.0")
        bench_day.judge(self.day, found)
        return Lot.objects.get(pk=found.pk)

    def heat(self, who: str = "dev", **more: str) -> KeptHeat:
        """A cited heat kept for the product."""
        return perform(KeepHeat(self.day.product, **{**CITED, **more}), self.bench.by(who))

    def isotherms(self) -> None:
        """Isotherms at 15 and 35 degC, kept; the warmer holds less."""
        for temperature, share, name in (("15.0", 1.06, "cold.csv"), ("35.0", 0.94, "warm.csv")):
            rows = tuple(round(share * one, 3) for one in b.ADSORBED)
            study = self.bench.fitted(b.points_csv(rows), temperature_c=temperature, file_name=name)
            self.bench.kept(study, temperature_c=temperature)


@pytest.fixture
def kitchen(site_db: Path) -> Kitchen:
    """The plant."""
    return Kitchen()


def test_25_to_30_degc_raises_0_850_to_0_867(kitchen: Kitchen) -> None:
    """Row 22 of the job: q = 3 kJ/mol; u as shifted_measured: 0.850 with its own u, q's u of 0.5."""
    kitchen.heat(low_a_w="0.55")
    said = page_of(kitchen.lot("0.8500", "0.8500"), {"to_c": "30"})
    assert said.found is not None
    assert said.found.value == pytest.approx(0.8671, abs=5e-5)
    assert said.found.u is not None
    u_q = 0.8671 * 0.5 / 8.31446261815324e-3 * (1 / 298.15 - 1 / 303.15)
    assert said.found.u > u_q
    assert said.answer.startswith("0.867")
    facts = {fact[0]: fact[1] for fact in said.facts}
    assert facts["Probability of conformity, as read"] == "0.500"
    assert facts["Probability of conformity, restated"] == "below 0.001"


def test_without_a_heat_there_is_no_number(kitchen: Kitchen) -> None:
    said = page_of(kitchen.lot("0.8400", "0.8410"), {"to_c": "30"})
    assert (said.found.value if said.found else 1.0) is None
    assert said.answer == "Nothing is restated"
    assert any("there is no default" in reason for reason in said.reasons)
    assert "No isotherm of the product is kept." in said.reasons


def test_moisture_outside_the_heat_s_range_is_refused_in_words(kitchen: Kitchen) -> None:
    kitchen.heat(low_a_w="", high_a_w="", low_moisture="20", high_moisture="30")
    lot = kitchen.lot("0.8400", "0.8410")
    assert any("give the sample's moisture" in reason for reason in page_of(lot, {"to_c": "30"}).reasons)
    weighed: dict[str, Any] = {"dish_g": "20", "with_sample_g": "25", "with_dry_g": "24.5"}  # 10 % wb, 11.1 % db
    check = {"check_nominal_g": "20", "check_read_g": "20", "check_limit_g": "0.01"}
    given = {"basis": "wet", "method": "Oven", "dishes": [weighed], "at": make.NOW, "by": kitchen.day.analyst, **check}
    MoistureDetermination.objects.create(lot=lot, **given)
    said = page_of(lot, {"to_c": "30"})
    assert said.answer == "Nothing is restated"
    assert any("moisture 0.111111 (dry basis) lies outside 0.2 to 0.3" in reason for reason in said.reasons)


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ({"to_c": "40"}, "40 degC of the specification lies outside 15 to 35 degC"),
        ({"to_c": "30", "formula_version": "8"}, "the heat is of recipe 7, the reading of 8"),
    ],
)
def test_outside_what_it_holds_for_it_is_refused(kitchen: Kitchen, asked: dict[str, str], said: str) -> None:
    kitchen.heat()
    found = page_of(kitchen.lot("0.8400", "0.8410"), asked)
    assert any(said in reason for reason in found.reasons)
    assert found.answer == "Nothing is restated"


@pytest.mark.parametrize("asked", [{"to_c": "77F"}, {"u_temperature_c": "x"}, {"heat": "cited-999999"}])
def test_bad_fields_stand_at_their_fields(kitchen: Kitchen, asked: dict[str, str]) -> None:
    kitchen.heat()
    assert list(page_of(kitchen.lot("0.8400", "0.8410"), asked).errors) == list(asked)


def test_a_specification_at_another_temperature_than_the_method_s(kitchen: Kitchen) -> None:
    """It is never judged; the portions as read are restated at its own temperature: 0.850 at 25 = 0.833 at 20 degC."""
    SpecificationVersion.objects.update(temperature_c="20.0")
    kitchen.heat()
    lot = bench_day.make_lot(kitchen.day, "SB-0916-01", "0.8490", "0.8510")
    said = page_of(lot, {})
    assert said.asked["to_c"] == "20.0"
    assert said.record is None
    assert said.found is not None
    assert said.found.value == pytest.approx(0.8326, abs=5e-5)
    assert said.found.reading.u == pytest.approx((0.0032**2 + 0.0020**2 / 2) ** 0.5)
    assert any("not judged" in str(fact[1]) for fact in said.facts)
    one = bench_day.make_lot(kitchen.day, "SB-0916-02", "0.8490")
    assert page_of(one, {}).reasons == ["1 of its portions was read, the method asks for 2: read them first."]


def test_at_its_own_temperature_there_is_nothing_to_restate(kitchen: Kitchen) -> None:
    said = page_of(kitchen.lot("0.8400", "0.8410"), {})
    assert said.found is not None
    assert said.found.value == pytest.approx(0.8405)
    assert "nothing to restate" in said.reasons[0]


def test_the_product_s_own_isotherms_come_first(kitchen: Kitchen) -> None:
    kitchen.heat()
    kitchen.isotherms()
    lot = kitchen.lot("0.7000", "0.7010")
    said = page_of(lot, {"to_c": "30"})
    assert [one.key.partition("-")[0] for one in said.offers] == ["own", "cited"]
    assert said.found is not None
    assert said.found.value is not None
    # the same moisture at 15 and 35 degC is a factor of 1.06/0.94 apart in X: a_w rises with temperature
    assert said.found.value > 0.7005
    assert "own isotherms" in said.reasons[0]
    beyond = page_of(lot, {"to_c": "45"})
    assert any("say nothing here" in reason for reason in beyond.reasons)
    by_cited = page_of(lot, {"to_c": "30", "heat": said.offers[1].key})
    assert by_cited.found is not None
    assert by_cited.found.value == pytest.approx(0.7005 * 0.8671 / 0.850, abs=2e-4)


def test_one_temperature_is_not_enough(kitchen: Kitchen) -> None:
    kitchen.bench.kept(kitchen.bench.fitted())
    said = page_of(kitchen.lot("0.7000", "0.7010"), {})
    assert any("kept at 25.0 degC only" in reason for reason in said.reasons)


def test_a_heat_is_a_version_of_a_developer_with_its_reason(kitchen: Kitchen) -> None:
    first, second = kitchen.heat(), kitchen.heat(value_kj_mol="2.5")
    assert (first.version, second.version) == (1, 2)
    (line,) = trail_of(second.ref)
    assert (line.kind, line.reason) == ("heat_kept", "The same oats and syrup")
    with pytest.raises(Refused, match="this is for developer, manager"):
        kitchen.heat("hand")


@pytest.mark.parametrize(
    ("field", "typed", "allowed"),
    [
        ("value_kj_mol", "47", "take that out"),
        ("value_kj_mol", "-3", "below 0 by more than 2 u"),
        ("u_kj_mol", "", "without one nothing is restated"),
        ("u_kj_mol", "0", "without one nothing is restated"),
        ("high_c", "15", "above 15 degC"),
        ("low_a_w", "55", "ERH in percent"),
        ("source", "", "where the value is printed"),
        ("reason", " ", "why this heat speaks"),
        ("formula_version", "", "version of the recipe"),
    ],
)
def test_a_heat_lacks_nothing(kitchen: Kitchen, field: str, typed: str, allowed: str) -> None:
    with pytest.raises(InputError, match=allowed) as refused:
        kitchen.heat(**{field: typed})
    assert refused.value.field == field


def test_a_heat_without_any_range_is_refused(kitchen: Kitchen) -> None:
    with pytest.raises(InputError, match="in which the heat was found"):
        kitchen.heat(low_a_w="", high_a_w="")


def stands(lot: Lot) -> tuple[object, ...]:
    """Everything a release would change."""
    records = lot.records.values_list("record", "digest", "verdict", "disposition")
    return list(records), lot.state, len(trail_of(lot.ref))


def test_restating_releases_nothing_and_leaves_no_trace(kitchen: Kitchen, client: Client) -> None:
    """Not at 30 degC and not at 20: the record, its verdict and the lot's state stay what they were."""
    kitchen.heat()
    lot = kitchen.lot("0.8400", "0.8410")
    before = stands(lot)
    kitchen.bench.client(client)
    for to_c in ("30", "20"):
        page = client.get(reverse("lot_restate", args=[lot.pk]), {"to_c": to_c})
        assert page.status_code == 200
        assert "judges nothing and releases nothing" in page.content.decode()
    lot.refresh_from_db()
    assert stands(lot) == before
    assert client.post(reverse("lot_restate", args=[lot.pk])).status_code in (200, 405)


def test_the_pages_open(kitchen: Kitchen, client: Client) -> None:
    kitchen.bench.client(client)
    lot = bench_day.make_lot(kitchen.day, "SB-0916-09")
    unread = client.get(reverse("lot_restate", args=[lot.pk])).content.decode()
    assert "read its portions first" in unread
    posted = client.post(reverse("heat_new", args=[kitchen.day.product.pk]), CITED)
    kept = KeptHeat.objects.get()
    assert posted.headers["Location"] == kept.get_absolute_url()
    page = client.get(kept.get_absolute_url()).content.decode()
    assert "Net heat 3 kJ/mol (u 0.5)" in page
    assert "15 to 35 degC, a_w 0.55 to 0.9" in page
    assert client.get(reverse("heat_new", args=[kitchen.day.product.pk])).status_code == 200
    assert SpecificationVersion.objects.count() == 1
