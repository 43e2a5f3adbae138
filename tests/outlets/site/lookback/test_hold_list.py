"""One act holds the list; each lot is decided by itself; nothing original is altered, nothing is released by it."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse
from tests.outlets.site.lookback.conftest import FAILED_AT, LOW, Morning
from tests.outlets.site.lots.bench_day import make_check, make_lot, proof_of

from isohume.outlets.site.bench.models import Lot, Run
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.ledger.actions import By, Refused, perform
from isohume.outlets.site.ledger.trail import trail_of
from isohume.outlets.site.lookback.actions.hold_list import HoldList
from isohume.outlets.site.lookback.models import HeldLot, ListHold
from isohume.outlets.site.lots.actions.close_deviation import CloseDeviation
from isohume.outlets.site.lots.frozen import questions
from isohume.outlets.site.lots.models import Deviation, LotRecord

BACKEND = "django.contrib.auth.backends.ModelBackend"
AT = FAILED_AT + timedelta(minutes=20)


def hold(morning: Morning, reason: str = "the morning check failed") -> ListHold:
    """The manager, in one act."""
    return perform(HoldList(morning.failed, reason), By(morning.bench.manager, AT))


def test_one_act_holds_every_lot_released_ones_too(morning: Morning) -> None:
    Lot.objects.filter(pk=morning.lots[0].pk).update(state="released")
    runs, records = list(Run.objects.values()), list(LotRecord.objects.values())
    made = hold(morning)
    assert set(Lot.objects.values_list("state", flat=True)) == {"on hold"}
    assert made.lots.count() == 3
    assert Deviation.objects.filter(kind="hold", closed_at=None).count() == 3
    assert [row["lot"] for row in made.rows] == ["SB-0916-02", "SB-0916-03", "SB-0916-01"]
    assert {row["lot"]: row["state"] for row in made.rows}["SB-0916-01"] == "released"
    assert questions().file(made.digest) is not None, "the list is kept as evidence"
    (line,) = [line for line in trail_of(morning.failed.ref) if line.kind == "list_held"]
    assert line.reason == "the morning check failed"
    for lot in morning.lots:
        assert [line.kind for line in trail_of(lot.ref)][-1] == "list_held"
    assert (list(Run.objects.values()), list(LotRecord.objects.values())) == (runs, records)


def test_done_twice_it_holds_nothing_twice_and_later_lots_are_added(morning: Morning) -> None:
    first = hold(morning)
    assert hold(morning) == first
    assert (ListHold.objects.count(), HeldLot.objects.count()) == (1, 3)
    late = make_lot(morning.bench, "SB-0916-09", "0.6420")
    second = hold(morning, "found later")
    assert [one.lot for one in second.lots.all()] == [late]
    assert HeldLot.objects.count() == 4


def test_a_repeat_that_fails_too_does_not_hold_the_same_lots_again(morning: Morning) -> None:
    hold(morning)
    bench = morning.bench
    again = make_check(bench.instrument, bench.method, bench.analyst, FAILED_AT + timedelta(minutes=15), read=LOW)
    with pytest.raises(Refused, match="held or rejected already"):
        perform(HoldList(again, "failed again"), By(bench.manager, AT + timedelta(hours=1)))
    assert Deviation.objects.filter(kind="hold").count() == 3


def test_each_lot_is_released_or_rejected_by_its_own_deviation(morning: Morning) -> None:
    """The act released nothing: the record of one lot lets it be decided again, another is rejected."""
    hold(morning)
    for lot, disposition, state in ((morning.lots[0], "", "judged"), (morning.lots[1], "reject", "rejected")):
        deviation = Deviation.objects.get(lot=lot, kind="hold")
        words = {"cause": "rim smeared with syrup", "action": "tested again"}
        officer = morning.bench.officer
        closing = CloseDeviation(deviation, disposition=disposition, proof=proof_of(officer, AT), **words)
        perform(closing, By(officer, AT))
        lot.refresh_from_db()
        assert lot.state == state
    morning.lots[2].refresh_from_db()
    assert morning.lots[2].state == "on hold"
    assert hold(morning).lots.count() == 3, "what was decided is not held anew"


def test_a_rejected_lot_goes_nowhere_and_is_passed_over(morning: Morning) -> None:
    Lot.objects.filter(pk=morning.lots[1].pk).update(state="rejected")
    assert {one.lot.code for one in hold(morning).lots.all()} == {"SB-0916-01", "SB-0916-03"}


@pytest.mark.parametrize("change", [{"voided_at": AT}, {"passed": True}])
def test_a_check_that_puts_nothing_at_risk_holds_nothing(morning: Morning, change: dict[str, object]) -> None:
    Check.objects.filter(pk=morning.failed.pk).update(**change)
    morning.failed.refresh_from_db()
    with pytest.raises(Refused, match="puts no lot at risk"):
        hold(morning)
    assert not ListHold.objects.exists()


def test_who_may_not_hold_sees_who_may(morning: Morning, client: Client) -> None:
    client.force_login(morning.bench.auditor, BACKEND)
    page = client.get(reverse("look_back", args=[morning.failed.pk])).content.decode()
    assert "this is for analyst, manager, release officer" in page
    answer = client.post(reverse("look_back_hold", args=[morning.failed.pk]), {"hold_reason": "x"})
    assert answer.status_code == 422
    assert not ListHold.objects.exists()


def test_the_page_says_what_stands_and_who_held(morning: Morning, client: Client) -> None:
    client.force_login(morning.bench.manager, BACKEND)
    address = reverse("look_back", args=[morning.failed.pk])
    page = client.get(address).content.decode()
    assert "3 lots, 1 beyond a limit once corrected" in page
    assert "Hold all 3 lots" in page
    refused = client.post(reverse("look_back_hold", args=[morning.failed.pk]), {"hold_reason": " "})
    assert refused.status_code == 422
    done = client.post(reverse("look_back_hold", args=[morning.failed.pk]), {"hold_reason": "smeared rim"})
    assert done.status_code == 302
    page = client.get(address).content.decode()
    assert "held 3 lots" in page
    assert "Hold all" not in page
    assert reverse("deviation", args=[Deviation.objects.filter(kind="hold").earliest("pk").pk]) in page


def test_a_check_of_another_plant_is_not_found(morning: Morning, client: Client) -> None:
    from tests.outlets.site.lots.bench_day import make_bench

    other = make_bench("elsewhere")
    client.force_login(other.manager, BACKEND)
    for route in ("look_back", "look_back_hold", "look_back_sheet"):
        address = reverse(route, args=[morning.failed.pk])
        answer = client.get(address) if route == "look_back" else client.post(address, {"hold_reason": "x"})
        assert answer.status_code == 404
