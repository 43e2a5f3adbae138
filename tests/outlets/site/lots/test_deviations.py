"""Deviations: opened, owned, closed with a signature; a lot goes back to what its record says and no further."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from tests.outlets.site.lots.bench_day import (
    NOW,
    OPENED,
    Bench,
    judge,
    make_bench,
    make_check,
    make_lot,
    make_portion,
    make_run,
    proof_of,
)

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.bench.models import Lot, Run
from isohume.outlets.site.ledger.actions import By, Refused, perform
from isohume.outlets.site.ledger.trail import trail_of
from isohume.outlets.site.lots.actions.close_deviation import CloseDeviation
from isohume.outlets.site.lots.actions.hold_lot import HoldLot
from isohume.outlets.site.lots.actions.open_deviation import OpenDeviation
from isohume.outlets.site.lots.actions.own_deviation import OwnDeviation
from isohume.outlets.site.lots.models import DEVIATION_KINDS, Deviation
from isohume.outlets.site.people.models import Person


@pytest.fixture
def bench(site_db: Path) -> Bench:
    """A bench with a checked instrument."""
    return make_bench()


def hold(bench: Bench, lot: Lot, person: Person | None = None) -> Deviation:
    """Hold a lot."""
    return perform(HoldLot(lot, "a customer called"), By(person or bench.analyst, NOW))


def close(deviation: Deviation, person: Person, disposition: str = "", **more: Any) -> Deviation:
    """Close a deviation, signed."""
    given = {"cause": "a wrong pallet", "action": "pallet found", "proof": proof_of(person), **more}
    return perform(CloseDeviation(deviation, disposition=disposition, **given), By(person, NOW))


def test_a_hold_stops_an_open_a_judged_and_a_released_lot(bench: Bench) -> None:
    for code, state in (("SB-1", "open"), ("SB-2", "judged"), ("SB-3", "released")):
        lot = make_lot(bench, code)
        Lot.objects.filter(pk=lot.pk).update(state=state)
        deviation = hold(bench, lot)
        assert Lot.objects.get(pk=lot.pk).state == "on hold"
        assert (deviation.kind, deviation.what) == ("hold", "a customer called")
        assert [line.kind for line in trail_of(lot.ref)] == ["deviation_opened", "lot_held"]
        assert trail_of(lot.ref)[-1].details == {"state": [state, "on hold"]}


def test_a_rejected_lot_is_not_held_and_a_hold_needs_a_reason(bench: Bench) -> None:
    lot = make_lot(bench)
    with pytest.raises(InputError, match="hold_reason"):
        perform(HoldLot(lot, " "), By(bench.analyst, NOW))
    Lot.objects.update(state="rejected")
    with pytest.raises(Refused, match="is rejected"):
        hold(bench, lot)


def test_closing_brings_a_lot_back_to_judged_or_open(bench: Bench) -> None:
    judged, unjudged = make_lot(bench, "SB-1", "0.6315", "0.6331"), make_lot(bench, "SB-2")
    judge(bench, judged)
    for lot, state in ((judged, "judged"), (unjudged, "open")):
        deviation = close(hold(bench, lot), bench.officer)
        assert Lot.objects.get(pk=lot.pk).state == state
        assert (deviation.closed_by, deviation.closed_at) == (bench.officer, NOW)
        line = trail_of(deviation.ref)[-1]
        assert (line.kind, line.by, line.details["cause"]) == ("deviation_closed", "Officer", "a wrong pallet")
        assert line.details["state"] == ["on hold", state]


def test_closing_never_releases(bench: Bench) -> None:
    lot = make_lot(bench, "SB-1", "0.6315", "0.6331")
    judge(bench, lot)
    close(hold(bench, lot), bench.officer, "release")
    assert Lot.objects.get().state == "judged"


def test_as_long_as_another_deviation_is_open_the_lot_stays_on_hold(bench: Bench) -> None:
    lot = make_lot(bench, "SB-1", "0.6315", "0.6331")
    judge(bench, lot)
    first, second = hold(bench, lot), hold(bench, lot)
    close(first, bench.officer)
    assert Lot.objects.get().state == "on hold"
    close(second, bench.officer)
    assert Lot.objects.get().state == "judged"


def test_a_lot_out_of_specification_stays_on_hold_when_its_deviation_closes(bench: Bench) -> None:
    lot = make_lot(bench, "SB-1", "0.6715", "0.6721")
    judge(bench, lot)
    deviation = lot.deviations.get()
    with pytest.raises(Refused, match=r"says hold \(fail\)"):
        close(deviation, bench.officer, "release")
    close(deviation, bench.officer)
    assert Lot.objects.get().state == "on hold"


def test_judged_again_after_new_evidence_it_may_go_on(bench: Bench) -> None:
    lot = make_lot(bench, "SB-1", "0.6715", "0.6721")
    judge(bench, lot)
    Run.objects.update(void_reason="cups stood open; found in the log")
    sample = lot.samples.get()
    for code in "XY":
        make_run(bench, make_portion(bench, sample, code), "0.6315", OPENED + timedelta(hours=1))
    assert judge(bench, lot, "cups stood open, new portions read").verdict == "pass"
    assert Lot.objects.get().state == "on hold", "the deviation is open"
    close(lot.deviations.get(), bench.officer, "release")
    assert Lot.objects.get().state == "judged"


def test_rejected_at_closing(bench: Bench) -> None:
    lot = make_lot(bench, "SB-1", "0.6715", "0.6721")
    judge(bench, lot)
    close(lot.deviations.get(), bench.officer, "reject")
    assert Lot.objects.get().state == "rejected"


def test_who_opened_does_not_close_and_who_recorded_does_not_let_go(bench: Bench) -> None:
    lot = make_lot(bench, "SB-1", "0.6315", "0.6331")
    judge(bench, lot)
    own = hold(bench, lot, bench.officer)
    with pytest.raises(Refused, match="another person closes it"):
        close(own, bench.officer)
    Run.objects.update(by=bench.manager)
    with pytest.raises(Refused, match="another person decides"):
        close(own, bench.manager, "release")
    assert Deviation.objects.get().closed_at is None


def test_a_deviation_without_a_lot_may_be_closed_by_who_opened_it(bench: Bench) -> None:
    opened = OpenDeviation(bench.site, "failed check", "0.7640 read", failed_check=bench.opening)
    deviation = perform(opened, By(bench.manager, NOW))
    with pytest.raises(InputError, match="no lot hangs"):
        close(deviation, bench.manager, "release")
    close(deviation, bench.manager)
    assert "deviation_closed" in [line.kind for line in trail_of(bench.opening.ref)]


def test_a_deviation_of_a_check_under_records_is_closed_by_a_second_person_and_lets_its_lots_go_on(
    bench: Bench,
) -> None:
    opened = OpenDeviation(bench.site, "failed check", "0.7640 read", failed_check=bench.opening)
    lot = make_lot(bench, "SB-1", "0.6315", "0.6331")
    judge(bench, lot)
    deviation = perform(opened, By(bench.manager, NOW))
    make_check(bench.instrument, bench.method, bench.analyst, OPENED + timedelta(hours=2), "closing")
    judge(bench, lot, "closing check added")
    assert Lot.objects.get().state == "on hold"
    with pytest.raises(Refused, match="another person closes it"):
        close(deviation, bench.manager)
    close(deviation, bench.officer)
    assert Lot.objects.get().state == "judged"


def test_closing_through_a_run_settles_its_lot(bench: Bench) -> None:
    lot = make_lot(bench, "SB-1", "0.6315", "0.6331")
    judge(bench, lot)
    opened = OpenDeviation(bench.site, "keyings differ", "6315, 6351", run=Run.objects.first())
    deviation = perform(opened, By(bench.analyst, NOW))
    Lot.objects.update(state="on hold")
    close(deviation, bench.manager)
    assert Lot.objects.get().state == "judged"


@pytest.mark.parametrize("field", ["cause", "action"])
def test_cause_and_action_are_needed(bench: Bench, field: str) -> None:
    deviation = hold(bench, make_lot(bench))
    with pytest.raises(InputError, match=field):
        close(deviation, bench.officer, **{field: ""})


def test_closing_needs_proof_role_and_an_open_deviation(bench: Bench) -> None:
    deviation = hold(bench, make_lot(bench))
    with pytest.raises(Refused, match="password was not given again"):
        close(deviation, bench.officer, proof=None)
    with pytest.raises(Refused, match="this is for"):
        close(deviation, bench.analyst)
    with pytest.raises(InputError, match="disposition"):
        close(deviation, bench.officer, "hold")
    close(deviation, bench.officer, "-")
    with pytest.raises(Refused, match="closed already"):
        close(deviation, bench.manager)


def test_an_owner_is_an_active_person_of_the_plant(bench: Bench) -> None:
    deviation = hold(bench, make_lot(bench))
    perform(OwnDeviation(deviation, bench.analyst), By(bench.manager, NOW))
    assert Deviation.objects.get().owner == bench.analyst
    assert trail_of(deviation.ref)[-1].details == {"owner": ["nobody", "Analyst"]}
    other = make_bench("other-plant")
    for owner in (None, other.analyst):
        with pytest.raises(InputError, match="owner"):
            perform(OwnDeviation(deviation, owner), By(bench.manager, NOW))
    with pytest.raises(Refused, match="this is for"):
        perform(OwnDeviation(deviation, bench.analyst), By(bench.auditor, NOW))
    with pytest.raises(Refused, match="another plant"):
        perform(OwnDeviation(deviation, other.analyst), By(other.manager, NOW))
    close(deviation, bench.officer)
    with pytest.raises(Refused, match="is closed"):
        perform(OwnDeviation(deviation, bench.manager), By(bench.manager, NOW))


def test_a_failed_closing_check_is_new_evidence_that_holds(bench: Bench) -> None:
    lot = make_lot(bench, "SB-1", "0.6315", "0.6331")
    judge(bench, lot)
    make_check(
        bench.instrument, bench.method, bench.analyst, OPENED + timedelta(hours=2), "closing", (("NaCl", "0.79"),)
    )
    assert judge(bench, lot, "closing check failed").verdict == "no verdict"
    assert Lot.objects.get().state == "on hold"


@pytest.mark.parametrize("kind", DEVIATION_KINDS)
def test_a_deviation_holds_a_released_lot_and_leaves_a_rejected_one(bench: Bench, kind: str) -> None:
    for code, state, then in (("SB-1", "released", "on hold"), ("SB-2", "rejected", "rejected")):
        lot = make_lot(bench, code)
        Lot.objects.filter(pk=lot.pk).update(state=state)  # what the caller holds is old and says open
        perform(OpenDeviation(bench.site, kind, "found late", lot=lot), By(bench.analyst, NOW))
        assert Lot.objects.get(pk=lot.pk).state == then
    assert trail_of(Lot.objects.get(code="SB-1").ref)[-1].details["state"] == ["released", "on hold"]


def test_a_deviation_of_a_run_holds_its_lot(bench: Bench) -> None:
    lot = make_lot(bench, "SB-1", "0.6315")
    Lot.objects.update(state="released")
    perform(OpenDeviation(bench.site, "keyings differ", "6315, 6351", run=Run.objects.get()), By(bench.analyst, NOW))
    assert Lot.objects.get().state == "on hold"
    assert [line.kind for line in trail_of(lot.ref)] == ["deviation_opened"]


@pytest.mark.parametrize("disposition", ["", "-", "release"])
def test_who_recorded_runs_brings_no_lot_back_to_its_release_with_any_word(bench: Bench, disposition: str) -> None:
    lot = make_lot(bench, "SB-1", "0.6315", "0.6331")
    judge(bench, lot)
    deviation = hold(bench, lot)
    Run.objects.update(by=bench.manager)
    with pytest.raises(Refused, match="Manager recorded runs of lot SB-1: another person decides"):
        close(deviation, bench.manager, disposition)
    close(deviation, bench.manager, "reject")
    assert Lot.objects.get().state == "rejected"


def test_who_recorded_runs_may_close_where_the_lot_stays_on_hold(bench: Bench) -> None:
    lot = make_lot(bench, "SB-1", "0.6315", "0.6331")
    judge(bench, lot)
    first, second = hold(bench, lot), hold(bench, lot)
    Run.objects.update(by=bench.manager)
    close(first, bench.manager)
    with pytest.raises(Refused, match="another person decides"):
        close(second, bench.manager)


@pytest.mark.parametrize("owner", ["9" * 5000, "99999999999999999999", "\u0663"])
def test_an_owner_that_is_no_key_stands_at_its_field(bench: Bench, client: Client, owner: str) -> None:
    deviation = hold(bench, make_lot(bench))
    client.force_login(bench.manager, "django.contrib.auth.backends.ModelBackend")
    response = client.post(reverse("deviation_act", args=[deviation.pk, "own"]), {"owner": owner})
    assert response.status_code == 422
    assert "an active person of this plant" in response.content.decode()


@pytest.mark.parametrize(
    ("about", "link"),
    [("instrument", "Instrument OW-1"), ("instrument:99999", ""), ("nothing:1", ""), ("trailline:1", ""), ("x", "")],
)
def test_its_page_leads_to_what_it_is_about(bench: Bench, client: Client, about: str, link: str) -> None:
    ref = bench.instrument.ref if link else about
    opened = perform(OpenDeviation(bench.site, "chart signal", "eight on one side", about=ref), By(bench.manager, NOW))
    client.force_login(bench.manager, "django.contrib.auth.backends.ModelBackend")
    page = client.get(reverse("deviation", args=[opened.pk]))
    assert page.status_code == 200
    expected = f'<a href="{bench.instrument.get_absolute_url()}">{link}</a>'
    assert (expected in page.content.decode()) == bool(link)
