"""Components from the plant's own readings against an analysis of variance by hand, to four digits."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from tests.outlets.site.browse import sign_in
from tests.outlets.site.lots.bench_day import Bench, key_again, make_lot, make_portion, make_run

from isohume.outlets.site.bench.models import Portion
from isohume.outlets.site.comparisons import pairs
from isohume.outlets.site.comparisons.precision_of import Reading, precision_of, readings_of
from isohume.outlets.site.register.models import Instrument

# three lots of two portions. By hand: within, SS = 0.002^2/2 + 0.004^2/2 + 0 = 1e-5 with 3 dof: MS 3.3333e-6;
# lot means 0.651, 0.642, 0.655 about 0.649333: SS = 2 x 8.86667e-5 with 2 dof: MS 8.8667e-5
LOTS = (("0.650", "0.652"), ("0.640", "0.644"), ("0.655", "0.655"))
S_R, S_LOT = 0.0018257, 0.0065320  # roots of 3.3333e-6 and (8.8667e-5 - 3.3333e-6)/2


@pytest.fixture
def read(bench: Bench) -> None:
    """The lots above, read today and keyed twice."""
    at = timezone.now() - timedelta(hours=2)
    for number, values in enumerate(LOTS):
        lot = make_lot(bench, f"SB-{number}")
        for letter, value in zip("AB", values, strict=True):
            make_run(bench, make_portion(bench, lot.samples.get(), letter), value, at)
        key_again(bench, lot)


def test_lots_in_duplicate_as_by_hand(bench: Bench, read: None) -> None:
    found = precision_of(readings_of(bench.site, bench.product, timezone.now() - timedelta(days=1)))
    assert found.levels == ("lot",)
    assert found.parts["repeatability"].s == pytest.approx(S_R, rel=5e-5)
    assert found.parts["lot"].s == pytest.approx(S_LOT, rel=5e-5)
    # a lot is of the product: nothing of the measurement but repeatability is seen here
    assert found.measured == ()
    assert found.s_intermediate == pytest.approx(S_R, rel=5e-5)


def test_a_cup_read_again_is_no_replicate(bench: Bench, read: None) -> None:
    portion = Portion.objects.earliest("pk")
    run = make_run(bench, portion, "0.651", timezone.now() - timedelta(hours=1))
    run.second_keyings.create(a_w="0.651", agrees=True, words="agrees", at=run.read_at, by=bench.manager)
    readings = readings_of(bench.site, bench.product, timezone.now() - timedelta(days=1))
    assert len(readings) == 6
    assert [one.a_w for one in readings].count(0.651) == 1  # the last one counts


def test_day_and_instrument_within_a_lot_as_by_hand() -> None:
    # one control lot on two days, each on two instruments, each in duplicate. By hand: days 0.6500 and 0.6540,
    # instruments 0.001 either side of their day, portions 0.0005 either side: MS_day = 8 x 0.002^2 = 3.2e-5;
    # MS_instrument = 8 x 0.001^2/2 = 4e-6; MS_portion = 8 x 0.0005^2/4 = 5e-7
    readings = [
        Reading(0.652 + 0.002 * d + 0.001 * i + 0.0005 * p, ("C-1", f"day {d}", "hale", f"OW {i}", "1"))
        for d in (-1, 1)
        for i in (-1, 1)
        for p in (-1, 1)
    ]
    found = precision_of(readings)
    assert found.levels == found.measured == ("day", "instrument")
    raw = {name: part.raw for name, part in found.parts.items()}
    assert raw == pytest.approx({"day": 7e-6, "instrument": 1.75e-6, "repeatability": 5e-7}, rel=1e-6)
    assert found.s_intermediate == pytest.approx((7e-6 + 1.75e-6 + 5e-7) ** 0.5, rel=1e-6)
    assert dict(found.left_out)["analyst"] == "all readings are of one analyst"


def test_what_changes_together_is_not_told_apart() -> None:
    # each lot on a day of its own: the lot's share may be the day's
    readings = [Reading(0.65 + 0.001 * k, (f"L{k // 2}", f"day {k // 2}", "hale", "OW-1", "1")) for k in range(6)]
    found = precision_of(readings)
    assert found.levels == ("lot",)
    assert dict(found.left_out)["day"] == "no lot was read on two days"


def test_single_portions_show_no_repeatability() -> None:
    found = precision_of([Reading(0.65 + 0.001 * k, (f"L{k}", "d", "hale", "OW-1", "1")) for k in range(4)])
    assert found.found is None
    assert "in duplicate" in found.reason


def test_page_says_it_beside_the_budget(bench: Bench, second: Instrument, client: Client, read: None) -> None:
    sign_in(client, bench.auditor)
    page = client.get(reverse("precision")).content.decode()
    assert "Repeatability s_r 0.0018" in page
    # the budget's 0.0020 lies within the interval of 0.0018 with 3 degrees of freedom
    assert "The budget states s_r 0.0020: the readings agree." in page
    assert client.get(reverse("precision"), {"days": "0"}).content.decode().count("allowed: a whole number") == 1


def test_more_readings_than_are_taken_at_once_are_refused_and_said(
    bench: Bench, client: Client, read: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(pairs, "MOST", 5)
    sign_in(client, bench.auditor)
    assert "fewer days: at most 5 readings" in client.get(reverse("precision")).content.decode()
