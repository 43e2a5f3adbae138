"""Judging, holding, deviations, signing, certificates, as they are posted."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from tests.site.acts import Act, Words
from tests.site.acts_bench import run_of

from isohume.outlets.site.bench.models import Lot, Portion, Sample
from isohume.outlets.site.lots.models import Deviation, LotRecord

ANALYST, MANAGER, OFFICER = "rhale", "mfarrow", "dpell"
DISH = {"dish_g_1": "21.4032", "with_sample_g_1": "26.4418", "with_dry_g_1": "25.8461"}
BUFFERS = {
    "nominal_1": "4.01", "read_1": "4.02", "temperature_c_1": "24.8",
    "nominal_2": "7.00", "read_2": "6.99", "temperature_c_2": "",
}  # fmt: skip


def decision_acts(password: str, words: Words) -> Iterator[Act]:
    """The first late lot is released, the second rejected, the third stays on hold."""
    first, second, third = Lot.objects.order_by("-pk")[:3][::-1]
    yield from _companions(first, words)
    yield from _released(first, password, words)
    yield from _rejected(second, password, words)
    yield from _held(third, password, words)


def _companions(lot: Lot, words: Words) -> Iterator[Act]:
    moisture = {
        "basis": "wet",
        "method": words("oven, 102 degC, 4 h", 120),
        **DISH,
        "check_nominal_g": "20.0000",
        "check_read_g": "20.0001",
        "check_limit_g": "0.0005",
        "u_wet_basis": "",
        "at": "",
    }
    yield Act("moisture_recorded", "moisture_new", (lot.pk,), ANALYST, moisture)
    ph = {"value_1": "5.62", "value_2": "5.63", "temperature_c": "24.8", "method": words("glass electrode", 120)}
    yield Act("ph_recorded", "ph_new", (lot.pk,), ANALYST, {**ph, **BUFFERS, "limit": "0.05", "u": "", "at": ""})


def _released(lot: Lot, password: str, words: Words) -> Iterator[Act]:
    yield Act("lot_judged", "lot_act", (lot.pk, "judge"), ANALYST, {"amendment_reason": ""})
    record = LotRecord.objects.get(lot=lot).record
    for meaning, who in (("reviewed", MANAGER), ("released", OFFICER)):
        signed = {"records": [record], "meaning": meaning, "password": password, "accepts_policy": "on"}
        yield Act("records_signed", "sign", (), who, signed)
    yield Act("certificate_asked", "certificate", (record,), "avance", {"paper": "a4"})


def _rejected(lot: Lot, password: str, words: Words) -> Iterator[Act]:
    """Its corrected reading is beyond the limit; it is judged, judged again after one cup more, and rejected."""
    judge = Act("lot_judged", "lot_act", (lot.pk, "judge"), ANALYST, {"amendment_reason": ""})
    yield judge
    yield Act("portion_prepared", "sample", (Sample.objects.get(lot=lot).pk,), ANALYST, {"cover": "lidded"})
    yield Act("run_recorded", "shift_row", (Portion.objects.latest("pk").pk,), ANALYST, run_of("OW-1", "0.6790", words))
    yield replace(judge, fields={"amendment_reason": words("One cup more was read", 1000)})
    record = LotRecord.objects.filter(lot=lot).latest("pk").record
    why = words("Too wet, and no cup is left", 500)
    signed = {"records": [record], "meaning": "rejected", "password": password, "rejection_reason": why}
    yield Act("records_signed", "sign", (), OFFICER, signed)


def _held(lot: Lot, password: str, words: Words) -> Iterator[Act]:
    """Held with its reason; another deviation is opened by hand, owned and closed."""
    held = {"hold_reason": words("The pallet label is missing", 500)}
    yield Act("lot_held", "lot_act", (lot.pk, "hold"), ANALYST, held)
    opened = {"kind": "hold", "what": words("Two pallets carry the same lot label", 500), "lot": lot.code}
    yield Act("deviation_opened", "deviations", (), ANALYST, opened)
    found = Deviation.objects.latest("pk")
    yield Act("deviation_owned", "deviation_act", (found.pk, "own"), MANAGER, {"owner": found.opened_by_id})
    closed = {
        "cause": words("The printer kept the label before", 1000),
        "action": words("Label printed anew and compared", 1000),
        "disposition": "",
        "password": password,
    }
    yield Act("deviation_closed", "deviation_act", (found.pk, "close"), MANAGER, closed)
