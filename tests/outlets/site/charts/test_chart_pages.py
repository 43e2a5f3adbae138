"""The pages of charts: the answer first, phases, pictures readable without colour, a table beside them, forms."""

from __future__ import annotations

import re
from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse
from tests.outlets.site import make
from tests.outlets.site.charts.conftest import STEADY
from tests.outlets.site.checks.day import NOW, Day, make_runs

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.charts.actions.add_event import AddEvent
from isohume.outlets.site.charts.actions.choose_rules import ChooseRules
from isohume.outlets.site.charts.actions.control_product import EndControlProduct, MarkControlProduct
from isohume.outlets.site.charts.kept_page import _KEPT
from isohume.outlets.site.charts.models import Chart, ChartRule
from isohume.outlets.site.charts.rules import false_alarms, rule_of
from isohume.outlets.site.charts.series import _numbers, look
from isohume.outlets.site.checks.actions.void_check import VoidCheck
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.ledger.actions import By, Refused, perform
from isohume.outlets.site.lots.models import LotRecord
from isohume.outlets.site.register.actions.return_instrument import ReturnInstrument
from isohume.outlets.site.register.actions.withdraw_instrument import WithdrawInstrument

LOW = -0.0003


def seen_of(chart: Chart):
    return look(chart, rule_of(chart).as_rules(), NOW)


def test_the_list_says_what_drifts_and_that_one_bottle_is_looked_at_first(manager, mornings) -> None:
    mornings([*STEADY * 2, 0.0005, *[LOW] * 9])
    page = manager.get(reverse("charts")).content.decode()
    assert "NaCl on OW-1 signals now." in page
    assert "OW-1: only NaCl signals; look at its bottle first." in page
    assert "no signal" in page


def test_a_chart_says_answer_signal_and_task(manager, mornings, nacl) -> None:
    mornings([*STEADY * 2, 0.0005, *[LOW] * 9])
    page = manager.get(nacl().get_absolute_url() + "?span=year").content.decode()
    assert "It signals at its last point: 8 on one side." in page
    assert "D: 8 on one side, low" in page
    assert "Task: deviation" in page
    assert page.count("<tr>") >= 30  # every point has its row


def test_the_picture_needs_no_colour(manager, mornings, nacl) -> None:
    mornings([*STEADY * 2, 0.0005, *[LOW] * 9, -0.0120])
    page = manager.get(nacl().get_absolute_url() + "?span=year").content.decode()
    drawing = re.search(r'<svg[^>]*class="across" .*?</svg>', page, re.DOTALL)[0]
    inks = set(re.findall(r'(?:stroke|fill)="(#[0-9a-f]+)"', drawing))
    assert inks <= {"#16181a", "#6b7075", "#ffffff"}  # ink, faint ink and paper
    assert drawing.count('class="signal"') == 3  # the eighth and the ninth point, and the key
    assert '<g class="beyond">' in drawing
    for words in ("deviation, a_w", "moving range", "signals; the letters name the rule", "failed check, not counted"):
        assert words in drawing
    assert re.search(r'font-weight="bold">D</text>', drawing)


@pytest.mark.parametrize("kind", ["individuals", "ewma", "cusum"])
def test_every_kind_can_be_looked_at(manager, mornings, nacl, kind: str) -> None:
    mornings(STEADY * 2)
    page = manager.get(f"{nacl().get_absolute_url()}?kind={kind}&span=year").content.decode()
    assert page.count("<svg") > 2
    assert ("tasks come from individuals and moving range" in page) == (kind != "individuals")


def test_a_chart_with_too_few_points_says_so(manager, mornings, nacl) -> None:
    mornings([0.001])
    page = manager.get(nacl().get_absolute_url()).content.decode()
    assert "Not known" in page
    assert "a chart needs two" in page


def test_taking_out_of_use_and_returning_begin_phases(day: Day, mornings, nacl) -> None:
    at = mornings(STEADY)[-1]
    perform(WithdrawInstrument(day.instrument, "seal worn"), By(day.manager, at + timedelta(hours=2)))
    perform(ReturnInstrument(day.instrument, "seal changed"), By(day.manager, at + timedelta(hours=3)))
    mornings([value + 0.002 for value in STEADY])
    seen = seen_of(nacl())
    assert [(p.start, p.end) for p in seen.control.phases] == [(0, 10), (10, 20)]
    assert seen.starts == ((10, "taken out of use, returned to use"),)
    assert seen.control.phases[1].center - seen.control.phases[0].center == pytest.approx(0.002, abs=1e-5)
    assert seen.signals == []


def test_a_new_lot_of_the_reference_begins_a_phase_and_a_new_bottle_does_not(day: Day, mornings, nacl) -> None:
    mornings(STEADY)
    first = day.nacl
    day.nacl = make.make_bottle(day.site, code="2")
    day.nacl.opened_at = NOW - timedelta(days=125)
    day.nacl.save()
    mornings(STEADY)
    assert len(seen_of(nacl()).control.phases) == 1
    lot = first.solution_lot
    lot.pk, lot.code = None, "NaCl-26-07"
    lot.save()
    day.nacl = type(first).objects.create(solution_lot=lot, code="1", opened_at=NOW - timedelta(days=125))
    mornings(STEADY)
    assert seen_of(nacl()).starts == ((20, "new lot NaCl-26-07"),)


def test_a_typed_event_begins_a_phase_of_its_chart_alone(day: Day, mornings, nacl) -> None:
    at = mornings(STEADY * 2)
    event = AddEvent(nacl(), "new bench", at[10].isoformat(), "this chart", "moved away from the oven")
    perform(event, By(day.manager, NOW))
    assert seen_of(nacl()).starts == ((10, "new bench"),)
    other = Chart.objects.get(solution="MgCl2")
    assert seen_of(other).starts == ()
    perform(
        AddEvent(other, "draught", at[5].isoformat(), "every chart of the instrument", "window"), By(day.manager, NOW)
    )
    assert [what for _, what in seen_of(nacl()).starts] == ["draught", "new bench"]


def test_rules_are_versioned_with_their_reason_and_one_chart_may_have_its_own(
    day: Day, manager, mornings, nacl
) -> None:
    mornings(STEADY)
    typed = {
        "kind": "ewma",
        "baseline": "10",
        "weight": "0.1",
        "h": "4",
        "sigma": "one for all phases",
        "rule_a": "yes",
    }
    assert manager.post(reverse("chart_act", args=[nacl().pk, "rules"]), typed).status_code == 422  # no reason
    typed["reason"] = "slow drift"
    assert manager.post(reverse("chart_act", args=[nacl().pk, "rules"]), typed).status_code == 302
    rule = rule_of(nacl())
    assert (rule.kind, rule.baseline, rule.weight, rule.h, rule.reason) == ("ewma", 10, "0.1", "4", "slow drift")
    assert rule_of(Chart.objects.get(solution="MgCl2")).pk is None
    assert manager.post(reverse("chart_rules"), {**typed, "kind": "cusum"}).status_code == 302
    assert rule_of(Chart.objects.get(solution="MgCl2")).kind == "cusum"
    assert rule_of(nacl()).kind == "ewma"
    assert ChartRule.objects.count() == 2


@pytest.mark.parametrize(
    ("given", "field"),
    [
        ({"kind": "x-bar"}, "kind"),
        ({"rules": ()}, "rules"),
        ({"rules": ("9 on one side",)}, "rules"),
        ({"baseline": "4"}, "baseline"),
        ({"weight": "0"}, "weight"),
        ({"h": "3"}, "h"),
        ({"sigma": "mine"}, "sigma"),
        ({"reason": ""}, "reason"),
    ],
)
def test_rules_out_of_range_are_refused_at_their_field(day: Day, given: dict, field: str) -> None:
    with pytest.raises(InputError) as refused:
        perform(
            ChooseRules(day.site, None, **{"rules": ("beyond 3 sigma",), "reason": "r", **given}), By(day.manager, NOW)
        )
    assert refused.value.field == field


def test_an_analyst_is_told_whose_choice_it_is(day: Day, mornings, nacl) -> None:
    mornings([0.001])
    with pytest.raises(Refused, match="this is for manager"):
        perform(AddEvent(nacl(), "x", "", "this chart", "y"), By(day.analyst, NOW))


def test_false_alarms_are_told_from_exact_run_lengths() -> None:
    # ChampWoodall1987, table 1: 370.40, 152.73, 91.75; Lucas and Crosier 1982: 168 for h 4
    words = ("beyond 3 sigma", "2 of 3 beyond 2 sigma", "4 of 5 beyond 1 sigma", "8 on one side")
    for rules, points in ((words[:1], 370), ((words[0], words[3]), 153), (words, 92)):
        assert false_alarms(ChartRule(rules=list(rules)).as_rules()) == f"about once in {points} points"
    assert false_alarms(ChartRule(kind="cusum", rules=list(words), h="4").as_rules()) == "about once in 168 points"


@pytest.fixture
def lots(day: Day, mornings):
    """Twelve lots of the plant's product, read once on the instrument, and decided."""
    mornings(STEADY)
    make.make_product(day.method)
    check = Check.objects.latest("pk")
    made = []
    for number in range(30):
        at = NOW - timedelta(days=40 - number)
        (lot,) = make_runs(day, check, f"SB-{number:02d}", at=at)
        value = 0.632 + 4 * STEADY[number % 10]
        run = lot.samples.get().portions.get().runs.get()
        run.a_w = str(Decimal(str(round(value, 4))))
        run.save()
        LotRecord.objects.create(
            lot=lot, record=f"R{number:03d}", digest="0" * 64, verdict="pass", disposition="release", value=value,
            u=0.0035, opening_check=check, issued_at=at, by=day.manager,
        )  # fmt: skip
        made.append(lot)
    return made


def test_a_control_product_has_its_own_chart_of_its_lots(day: Day, manager, lots) -> None:
    product = day.site.products.get()
    typed = {"product": product.pk, "instrument": day.instrument.pk, "since": "2026-08-17", "reason": "kept batch"}
    answer = manager.post(reverse("control_product_new"), typed)
    chart = Chart.objects.get(product=product)
    assert answer.url == chart.get_absolute_url()
    seen = seen_of(chart)
    assert len(seen.counted) == 20  # the lots read from that day on
    assert seen.counted[0].value == pytest.approx(0.6360, abs=1e-9)
    assert seen.control.center == pytest.approx(0.632, abs=1e-6)
    assert "Soft oat bar on OW-1" in manager.get(reverse("charts")).content.decode()
    with pytest.raises(Refused, match="already"):
        perform(MarkControlProduct(day.site, product, day.instrument, "", "again"), By(day.manager, NOW))
    perform(EndControlProduct(chart, "used up"), By(day.manager, NOW))
    assert "ended" in manager.get(reverse("charts")).content.decode()


def test_a_references_chart_does_not_end(day: Day, mornings, nacl) -> None:
    mornings([0.001])
    with pytest.raises(Refused, match="goes on with every check"):
        perform(EndControlProduct(nacl(), "why not"), By(day.manager, NOW))


def test_capability_of_a_product_with_interval_and_condition(day: Day, manager, lots) -> None:
    product = day.site.products.get()
    page = manager.get(reverse("product_capability", args=[product.pk])).content.decode()
    # thirty values about 0.632 with s = 0.0027 against 0.650: (0.650 - 0.632)/(3 s), exact 95 % interval
    s = (sum((4 * one) ** 2 for one in STEADY) * 3 / 29) ** 0.5
    assert f"P_pk {(0.650 - 0.632) / (3 * s):.2f} (" in page
    assert "not to be used yet" not in page
    LotRecord.objects.filter(record__gte="R020").delete()
    page = manager.get(reverse("product_capability", args=[product.pk])).content.decode()
    assert "not to be used yet" in page
    assert "20 values; at least 25 are needed" in page
    LotRecord.objects.all().delete()
    page = manager.get(reverse("product_capability", args=[product.pk])).content.decode()
    assert "0 decided lots with a value; 25 are needed." in page


def test_another_plant_sees_nothing(manager, mornings, nacl) -> None:
    mornings([0.001])
    theirs = make.make_instrument(make.make_site("other"), "X-1")
    chart = Chart.objects.create(site=theirs.site, instrument=theirs, solution="NaCl")
    for route, args in (("chart", [chart.pk]), ("chart_act", [chart.pk, "rules"])):
        assert manager.get(reverse(route, args=args)).status_code == 404
    assert manager.get(f"{nacl().get_absolute_url()}other/").status_code == 404


def test_what_is_kept_of_a_page_is_what_would_be_drawn_and_a_new_check_changes_it(manager, mornings, nacl) -> None:
    mornings([*STEADY * 2])
    address = nacl().get_absolute_url() + "?span=year"
    first, again = (_drawn(manager.get(address).content.decode()) for _ in range(2))
    assert first == again
    _KEPT.clear()
    _numbers.cache_clear()
    assert _drawn(manager.get(address).content.decode()) == first
    mornings([0.0005])
    later = _drawn(manager.get(address).content.decode())
    assert later != first
    assert later[1].count("<tr>") == first[1].count("<tr>") + 1


def test_a_void_check_changes_the_page_at_once(day: Day, manager, mornings, nacl) -> None:
    mornings([*STEADY * 2])
    address = nacl().get_absolute_url() + "?span=year"
    before = _drawn(manager.get(address).content.decode())
    perform(VoidCheck(Check.objects.latest("pk"), "cup spilled"), By(day.manager, NOW))
    after = _drawn(manager.get(address).content.decode())
    assert "void" in after[1]
    assert after != before


def _drawn(page: str) -> tuple[str, str]:
    """The picture, and the table beside it."""
    picture = re.search(r'<svg[^>]*class="across" .*?</svg>', page, re.DOTALL)[0]
    return picture, "".join(re.findall(r"<tr>.*?</tr>", page))
