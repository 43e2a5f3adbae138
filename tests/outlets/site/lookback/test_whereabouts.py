"""The retain register and the shipments of a lot, and what the look-back makes of them; the sheet as PDF."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pymupdf
import pytest
from django.test import Client
from django.urls import reverse
from tests.outlets.site.lookback.conftest import FAILED_AT, Morning

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.bench.models import Lot
from isohume.outlets.site.ledger.actions import By, Refused, perform
from isohume.outlets.site.lookback.actions.ask_sheet import AskSheet
from isohume.outlets.site.lookback.actions.hold_list import HoldList
from isohume.outlets.site.lookback.actions.keep_retain import KeepRetain
from isohume.outlets.site.lookback.actions.note_told import NoteTold
from isohume.outlets.site.lookback.actions.record_shipment import RecordShipment
from isohume.outlets.site.lookback.actions.use_retain import UseRetain
from isohume.outlets.site.lookback.models import Retain, RetainUse, Shipment
from isohume.outlets.site.lookback.whereabouts import Whereabouts, whereabouts_of
from isohume.outlets.site.work.worker import do_next

BACKEND = "django.contrib.auth.backends.ModelBackend"
AT = FAILED_AT + timedelta(hours=1)
TODAY = AT.date()


def retain(morning: Morning, lot: Lot, units: str = "4", until: str = "2027-03-01") -> Retain:
    """Units put aside by the analyst."""
    return perform(KeepRetain(lot, units, "retain room, shelf 4", until), By(morning.bench.analyst, AT))


def ship(morning: Morning, lot: Lot, on: str = "2026-09-16") -> Shipment:
    """A shipment, recorded by the release officer."""
    made = RecordShipment(lot, "Brackenfold Stores", "duty desk", "40 cases", on)
    return perform(made, By(morning.bench.officer, AT))


def where(lot: Lot) -> Whereabouts:
    """The whereabouts of a lot."""
    return whereabouts_of([lot])[lot.pk]


def test_retained_units_are_counted_down_and_never_below_none(morning: Morning) -> None:
    kept = retain(morning, morning.lots[0])
    by = By(morning.bench.analyst, AT)
    perform(UseRetain(kept, "3", "retest after check 2"), by)
    assert where(morning.lots[0]).left == 1
    with pytest.raises(InputError, match="1 to 1"):
        perform(UseRetain(kept, "2", "once more"), by)
    perform(UseRetain(kept, "1", "once more"), by)
    assert (kept.units, RetainUse.objects.count()) == (4, 2), "the first number stays"
    with pytest.raises(Refused, match="None of the 4 retained units is left"):
        perform(UseRetain(kept, "1", "again"), by)


@pytest.mark.parametrize(
    ("units", "until", "field"),
    [
        ("0", "2027-03-01", "units"),
        ("two", "2027-03-01", "units"),
        ("2", "2020-01-01", "keep_until"),
        ("2", "x", "keep_until"),
    ],
)
def test_bad_fields_of_a_retain_are_named(morning: Morning, units: str, until: str, field: str) -> None:
    with pytest.raises(InputError) as raised:
        retain(morning, morning.lots[0], units, until)
    assert raised.value.field == field


def test_shipped_or_in_house_and_whom_to_tell(morning: Morning) -> None:
    one, other, third = morning.lots
    assert where(one).status == "in-house"
    shipment = ship(morning, one)
    ship(morning, other)
    assert where(one).status == "shipped to Brackenfold Stores"
    assert where(one).to_tell == [shipment]
    perform(NoteTold(shipment, "asked the duty desk to stop 40 cases"), By(morning.bench.manager, AT))
    assert where(one).to_tell == []
    assert where(third).status == "in-house"
    with pytest.raises(InputError, match="not after today"):
        ship(morning, third, "2030-01-01")


def test_the_look_back_proposes_retests_and_whom_to_tell(morning: Morning, client: Client) -> None:
    one, other, third = morning.lots
    retain(morning, one)
    used = retain(morning, other)
    perform(UseRetain(used, "4", "a complaint"), By(morning.bench.analyst, AT))
    ship(morning, third)
    client.force_login(morning.bench.manager, BACKEND)
    page = client.get(reverse("look_back", args=[morning.failed.pk])).content.decode()
    assert "Test again from the retained units: 4 at retain room, shelf 4." in page
    assert "The retained units are used up: take a new sample of the lot." in page
    assert "Nothing retained: take a new sample of the lot." in page
    assert "40 cases to Brackenfold Stores" in page
    assert "duty desk" in page
    said = client.get(reverse("whereabouts", args=[third.pk])).content.decode()
    assert "Shipped to Brackenfold Stores; no retained units" in said


@pytest.mark.parametrize("paper", ["a4", "us-letter"])
def test_the_hold_list_is_a_paper_by_the_worker(morning: Morning, site_db: Path, paper: str) -> None:
    by = By(morning.bench.manager, AT)
    ship(morning, morning.lots[1])
    perform(HoldList(morning.failed, "the morning check failed"), by)
    job = perform(AskSheet(morning.failed, paper), by)
    while do_next():
        pass
    job.refresh_from_db()
    assert (job.state, job.message) == ("done", "")
    with pymupdf.open(site_db / job.result) as pdf:
        text = "".join(page.get_text() for page in pdf)
        width = round(pdf[0].rect.width)
    assert width == (595 if paper == "a4" else 612)  # ISO 216 A4 210 mm; US Letter 8.5 in; in points
    places = [text.index(code) for code in ("SB-0916-02", "SB-0916-03", "SB-0916-01")]
    assert places == sorted(places), "worst first"
    for said in ("3 lots, 1 beyond a limit", "on hold", "Brackenfold Stores", "held 3 lots", "never release a lot"):
        assert said in text.replace("\n", " "), said


def test_a_sheet_of_a_good_check_is_refused(morning: Morning) -> None:
    with pytest.raises(Refused, match="puts no lot at risk"):
        perform(AskSheet(morning.bench.opening), By(morning.bench.manager, AT))
    with pytest.raises(InputError):
        perform(AskSheet(morning.failed, "a5"), By(morning.bench.manager, AT))
