"""Supplier lots: certificate and our own value on one basis, out of limits is a deviation, decided with a reason."""

from __future__ import annotations

from typing import Any

import pytest
from django.urls import reverse
from tests.outlets.site.incoming.conftest import Plant

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.incoming.judged import judged
from isohume.outlets.site.incoming.models import SupplierDetermination, SupplierLot
from isohume.outlets.site.incoming.pages import lines_of, trends_of
from isohume.outlets.site.incoming.queries import lots_of_suppliers, materials_in_force
from isohume.outlets.site.ledger.actions import Refused
from isohume.outlets.site.ledger.trail import trail_of
from isohume.outlets.site.lots.models import Deviation


def test_plant_c_s_trap_conforms(plant: Plant) -> None:
    """A certificate's 8.0 % dry basis against at most 7.5 % wet basis: 7.41 % wet basis conforms (job.md, plant C)."""
    lot = plant.lot()
    (moisture,) = judged(lot, plant.found(lot)).quantities
    assert moisture.theirs == "8.00 % (u 0.10) dry basis = 7.407 % (u 0.086) wet basis"
    assert moisture.theirs_inside is not None
    assert not moisture.theirs_inside.beyond
    assert moisture.words == "agrees"
    assert (moisture.inside.words if moisture.inside else "") == "inside, not beyond doubt"
    lot.refresh_from_db()
    assert lot.state == "waits"
    assert not Deviation.objects.exists()


def test_the_same_figure_on_wet_basis_is_out_of_limits(plant: Plant) -> None:
    """8.0 % wet basis of ours: beyond 7.5 %; the lot stops and somebody has to answer for it."""
    lot = plant.lot()
    found = plant.found(lot, moisture="8.0")
    lot.refresh_from_db()
    assert lot.state == "on hold"
    deviation = Deviation.objects.get()
    assert (deviation.kind, deviation.about, deviation.lot) == ("supplier lot", lot.ref, None)
    assert "beyond the limit at most 7.5 % wet basis" in deviation.what
    (line,) = trail_of(found.ref)
    assert line.details["state"] == ["waits", "on hold"]
    with pytest.raises(Refused, match=f"Deviation {deviation.pk} about it is open"):
        plant.decide(lot, "accept")


def test_dry_and_wet_basis_are_one_limit(plant: Plant) -> None:
    """8.0 % dry basis of ours is 7.41 % wet basis and inside; 8.7 % dry basis is 8.0 % wet basis and beyond."""
    inside = plant.lot(code="A")
    plant.found(inside, moisture="8.0", basis="dry")
    beyond = plant.lot(inside.material, code="B")
    plant.found(beyond, moisture="8.7", basis="dry")
    states = dict(SupplierLot.objects.values_list("code", "state"))
    assert states == {"A": "waits", "B": "on hold"}


def test_a_bare_percentage_is_refused(plant: Plant) -> None:
    with pytest.raises(InputError, match=r"moisture_basis.*bare percentage"):
        plant.material(moisture_basis="")
    with pytest.raises(InputError, match=r"certificate_basis.*bare percentage"):
        plant.lot(certificate_basis="")
    lot = plant.lot()
    with pytest.raises(InputError, match=r"basis.*bare percentage"):
        plant.found(lot, basis="")


def test_a_certificate_may_say_that_it_does_not_say(plant: Plant) -> None:
    lot = plant.lot(certificate_basis="not stated")
    (moisture,) = judged(lot, plant.found(lot)).quantities
    assert (moisture.words, moisture.theirs) == ("not compared", "8.00 % (u 0.10), basis not stated")
    assert "on dry basis only: ask for its basis" in moisture.reasons[-1]


def test_moisture_from_weights_with_the_balance_s_check(plant: Plant) -> None:
    """20.000 + 5.000 g dried to 24.630 g: 0.370/5.000 = 7.40 % wet basis by hand."""
    dishes = [{"dish_g": "20.000", "with_sample_g": "25.000", "with_dry_g": "24.630"}]
    balance = {"check_nominal_g": "20.000", "check_read_g": "20.001", "check_limit_g": "0.005"}
    lot = plant.lot()
    found = plant.found(lot, moisture="", basis="", dishes=dishes, balance=balance)
    (moisture,) = judged(lot, found).quantities
    assert moisture.ours == "7.400 % (u 0.080) wet basis = 7.991 % (u 0.093) dry basis"
    with pytest.raises(InputError, match="they give the moisture"):
        plant.found(lot, dishes=dishes, balance=balance)


def test_a_failed_balance_check_states_nothing_and_nothing_is_accepted(plant: Plant) -> None:
    dishes = [{"dish_g": "20.000", "with_sample_g": "25.000", "with_dry_g": "24.630"}]
    balance = {"check_nominal_g": "20.000", "check_read_g": "20.050", "check_limit_g": "0.005"}
    lot = plant.lot()
    found = plant.found(lot, moisture="", basis="", dishes=dishes, balance=balance)
    assert judged(lot, found).quantities == ()
    with pytest.raises(Refused, match="weigh again"):
        plant.decide(lot, "accept")
    page = plant.client().get(lot.get_absolute_url()).content.decode()
    assert "no moisture is stated" in page


def test_a_w_is_compared_at_one_temperature_only(plant: Plant) -> None:
    material = plant.material(moisture_max="", moisture_basis="", a_w_max="0.45", temperature_c="25")
    given = {"certificate_moisture": "", "certificate_a_w": "0.430", "certificate_u_a_w": "0.004"}
    lot = plant.lot(material, **given, certificate_temperature_c="20")
    ours = {"moisture": "", "basis": "", "a_w": "0.436", "u_a_w": "0.003", "temperature_c": "25"}
    (at_20,) = judged(lot, plant.found(lot, **ours)).quantities
    assert (at_20.words, at_20.inside.words if at_20.inside else "") == ("not compared", "inside the limit")
    assert "the certificate's at 20" in at_20.reasons[0]
    same = plant.lot(material, code="B", **given, certificate_temperature_c="25")
    (at_25,) = judged(same, plant.found(same, **ours)).quantities
    assert at_25.compared is not None
    assert at_25.compared.zeta == pytest.approx(0.006 / 0.005)


def test_a_certificate_alone_accepts_nothing(plant: Plant) -> None:
    lot = plant.lot()
    with pytest.raises(Refused, match="certificate alone is not a determination"):
        plant.decide(lot, "accept")


def test_accept_hold_reject_each_with_its_reason(plant: Plant) -> None:
    lot = plant.lot()
    plant.found(lot)
    with pytest.raises(InputError, match="reason"):
        plant.decide(lot, "accept", " ")
    with pytest.raises(InputError, match="accept, hold or reject"):
        plant.decide(lot, "keep")
    assert plant.decide(lot, "accept").state == "accepted"
    with pytest.raises(Refused, match="is accepted: hold it first"):
        plant.found(lot)
    assert plant.decide(lot, "hold", "A complaint").state == "on hold"
    assert Deviation.objects.get().what.endswith("A complaint")
    assert plant.decide(lot, "reject", "Returned").state == "rejected"
    with pytest.raises(Refused, match="goes nowhere"):
        plant.decide(lot, "hold")


def test_later_determinations_speak_and_earlier_ones_stay(plant: Plant) -> None:
    lot = plant.lot()
    plant.found(lot, moisture="7.10")
    plant.found(lot, moisture="7.40")
    assert SupplierDetermination.objects.count() == 2
    page = plant.client().get(lot.get_absolute_url()).content.decode()
    assert page.index("7.400 %") < page.index("7.100 %")


def test_limits_are_versions_and_lots_keep_theirs(plant: Plant) -> None:
    lot = plant.lot()
    plant.material(moisture_max="7.0")
    assert [one.version for one in materials_in_force(plant.site)] == [2]
    plant.found(lot, moisture="7.2")
    lot.refresh_from_db()
    assert (lot.state, lot.material.version) == ("waits", 1)
    with pytest.raises(InputError, match="no lot of"):
        plant.lot(materials_in_force(plant.site)[0], code="op-118")


def test_the_trend_of_a_supplier(plant: Plant) -> None:
    """Differences +0.1, +0.2, +0.3 % wet basis: mean 0.2, s 0.1, t(2) 4.303: -0.05 to 0.45, so no offset is shown."""
    material = plant.material()
    for number, ours in enumerate(("7.1", "7.2", "7.3")):
        given = {"certificate_moisture": "7.0", "certificate_basis": "wet"}
        plant.found(plant.lot(material, code=f"T{number}", **given), moisture=ours)
    (trend,) = trends_of(lines_of(lots_of_suppliers(plant.site).prefetch_related("determinations")))
    assert (trend.name, trend.shape) == ("moisture", "pass")
    assert "+0.20 % wet basis on average of 3, 95 % interval -0.05 to +0.45" in trend.words
    page = plant.client().get(material.get_absolute_url()).content.decode()
    assert "No offset is shown" in page


def test_a_moisture_typed_on_the_wrong_basis_is_told_by_earlier_lots(plant: Plant) -> None:
    """Eight lots at 7.40 % wet basis; 8.0 % typed as wet basis reads 7.41 % once it is dry basis."""
    material = plant.material(moisture_max="9")
    for number in range(8):
        plant.found(plant.lot(material, code=f"E{number}"), moisture="7.40")
    lot = plant.lot(material, code="NOW")
    plant.found(lot, moisture="8.0")
    page = plant.client().get(lot.get_absolute_url()).content.decode()
    assert "Read on dry basis it would fit (7.41 % wet basis)" in page
    plant.found(lot, moisture="8.0", basis="dry")
    assert "would fit" not in plant.client().get(lot.get_absolute_url()).content.decode()


@pytest.mark.parametrize(("who", "status"), [("hand", 422), ("officer", 302)])
def test_the_pages_work(plant: Plant, who: str, status: int) -> None:
    client, bench = plant.client("boss"), plant.client("hand")
    limits = {"supplier": "Quayside", "material": "Onion", "moisture_max": "7.5", "moisture_basis": "wet"}
    made = client.post(reverse("suppliermaterial_new"), {**limits, "source": "Spec"})
    assert made.status_code == 302
    material = materials_in_force(plant.site)[0]
    lot = {"material": material.pk, "code": "X1", "certificate_moisture": "8,0", "certificate_basis": "dry"}
    assert bench.post(reverse("supplierlot_new"), lot).status_code == 302
    key = SupplierLot.objects.get().pk
    typed: dict[str, Any] = {"method": "Oven", "moisture": "7.4", "basis": "wet", "portions": "1"}
    assert bench.post(reverse("supplierlot_determine", args=[key]), typed).status_code == 302
    acted = plant.client(who).post(reverse("supplierlot_decide", args=[key, "accept"]), {"reason": "It agrees"})
    assert acted.status_code == status
    for name, arguments in (("incoming", ()), ("supplierlot", (key,)), ("suppliermaterial", (material.pk,))):
        assert client.get(reverse(name, args=arguments)).status_code == 200
