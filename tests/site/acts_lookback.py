"""What is done about the lots of a failed check: units put aside and used, shipments, whom was told, the list held."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

from django.utils import timezone
from tests.site.acts import Act, Words

from isohume.outlets.site.bench.models import Lot
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.lookback.models import Retain, Shipment

ANALYST, MANAGER, OFFICER = "rhale", "mfarrow", "dpell"


def lookback_acts(words: Words) -> Iterator[Act]:
    """On the worst lot of plant A's incident, and on its list."""
    check = Check.objects.filter(passed=False, voided_at=None, instrument__name="OW-1").earliest("pk")
    lot = Lot.objects.filter(code__endswith="-08", samples__portions__runs__read_at__lt=check.first_read_at).latest(
        "pk"
    )
    today = timezone.now().date()
    kept = {"units": "4", "place": words("retain room, shelf 4", 120), "keep_until": f"{today + timedelta(days=90)}"}
    yield Act("retain_kept", "retain_new", (lot.pk,), ANALYST, kept)
    retain = Retain.objects.latest("pk").pk
    used = {"units": "1", "what_for": words("a complaint of 3 November", 300)}
    yield Act("retain_used", "retain_use", (retain,), ANALYST, used)
    sent = {
        "consignee": words("Brackenfold Stores, depot north", 200),
        "contact": words("duty desk", 200),
        "quantity": words("40 cases", 80),
        "shipped_on": f"{today - timedelta(days=1)}",
    }
    yield Act("shipment_recorded", "shipment_new", (lot.pk,), OFFICER, sent)
    shipment = Shipment.objects.latest("pk").pk
    told = {"words": words("Asked the duty desk to stop 40 cases", 500)}
    yield Act("consignee_told", "shipment_told", (shipment,), MANAGER, told)
    held = {"hold_reason": words("The morning check failed", 500)}
    yield Act("list_held", "look_back_hold", (check.pk,), MANAGER, held)
    yield Act("look_back_sheet_asked", "look_back_sheet", (check.pk,), ANALYST, {"paper": "a4"})
