"""The quick way to a chart's page shows what the plain way shows, whatever is written meanwhile, act after act."""

from __future__ import annotations

import random
import re
from collections.abc import Callable
from datetime import datetime, timedelta

import pytest
from django.http import Http404
from tests.outlets.site import make
from tests.outlets.site.charts.plain_page import plain_page
from tests.outlets.site.charts.test_history_on_charts import bring
from tests.outlets.site.checks.day import MGCL2_AT_25, NACL_AT_25, NOW, Day

from isohume.foundation.metrology.charts_by_point import KINDS
from isohume.foundation.metrology.run_rules import RULES
from isohume.outlets.site.adjustments.models import EVENTS, ScaleChange
from isohume.outlets.site.charts import kept_page, kept_points
from isohume.outlets.site.charts.actions.add_event import WHOSE, AddEvent
from isohume.outlets.site.charts.actions.choose_rules import ChooseRules
from isohume.outlets.site.charts.kept_page import chart_page
from isohume.outlets.site.charts.models import SIGMAS, Chart, ChartPoint
from isohume.outlets.site.charts.page import SPANS
from isohume.outlets.site.checks.actions.void_check import VoidCheck
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.ledger.actions import By, Refused, perform
from isohume.outlets.site.ledger.notes import note
from isohume.outlets.site.lots.models import Deviation
from isohume.outlets.site.register.actions.return_instrument import ReturnInstrument
from isohume.outlets.site.register.actions.withdraw_instrument import WithdrawInstrument

ACTS = 40
SEVENTY_CHECKS = timedelta(days=80)
STROKES = re.compile(r"M([\d.]+) ([\d.]+)l5 (-?5)(?:m10 -?5l5 \3)*")
PLAIN_NUMBER = re.compile(r"(?<![\d.])0+(?=\d)")


def shown(text: str) -> str:
    """A page's words, with its paths as one would write them: 045.3 is 45.3, and each stroke says where it begins."""
    return re.sub(r' d="[^"]*"', lambda path: STROKES.sub(one_by_one, PLAIN_NUMBER.sub("", path[0])), text)


def one_by_one(strokes: re.Match[str]) -> str:
    """Strokes that go on from one another as strokes that each say where they begin."""
    x, y, rise = strokes[1], strokes[2], strokes[3]
    count = strokes[0].count("l5 ")
    return "".join(f"M{float(x) + 15 * n:.1f} {y}l5 {rise}" for n in range(count))


class Plant:
    """A plant at which something happens by chance; the clock goes on with it."""

    def __init__(self, day: Day, seed: int) -> None:
        self.day, self.chance, self.clock = day, random.Random(seed), NOW - SEVENTY_CHECKS
        self.level, self.lots = 0.0, 0
        self.done: dict[str, int] = {}

    @property
    def manager(self) -> By:
        return By(self.day.manager, self.clock)

    def act(self) -> None:
        """Something, most often a check."""
        self.clock += timedelta(hours=self.chance.choice((3, 7, 25)))
        acts: list[tuple[Callable[[], None], int]] = [
            (self.check, 14), (self.failing, 1), (self.drift, 1), (self.void, 2), (self.void_an_old_one, 1),
            (self.event, 1), (self.rules, 2), (self.out_and_back, 1), (self.new_lot, 1), (self.close, 1),
            (self.line_elsewhere, 3), (self.bench_work, 2), (self.days_pass, 2), (self.renamed, 1),
            (self.scale_changed, 1),
        ]  # fmt: skip
        one = self.chance.choices([act for act, _ in acts], [often for _, often in acts])[0]
        try:
            one()
        except Refused:
            return
        self.done[one.__name__] = self.done.get(one.__name__, 0) + 1

    def check(self, off: float | None = None) -> None:
        off = self.level + self.chance.gauss(0.0, 0.0006) if off is None else off
        at = self.clock - timedelta(minutes=15)  # its entry is over when the page is looked at
        self.day.start(at - timedelta(minutes=30))
        other = MGCL2_AT_25 + self.chance.gauss(0.0, 0.0004)
        self.day.check(at, mgcl2=f"{other:.4f}", nacl=f"{NACL_AT_25 + off:.4f}")

    def failing(self) -> None:
        self.check(self.chance.choice((-0.02, 0.015)))

    def drift(self) -> None:
        self.level = self.chance.choice((0.0, 0.0009, -0.0009))
        for _ in range(3):
            self.clock += timedelta(hours=8)
            self.check()

    def void(self) -> None:
        last = Check.objects.latest("pk")
        Deviation.objects.filter(closed_at=None).update(closed_at=self.clock)
        perform(VoidCheck(last, "cup spilled"), self.manager)

    def void_an_old_one(self) -> None:
        """Not what the screens allow under later checks; a page must show it all the same."""
        old = self.chance.choice(list(Check.objects.all()))
        Check.objects.filter(pk=old.pk).update(voided_at=self.clock, voided_by=self.day.manager)
        note("site_set_up", self.day.site.ref, self.clock, "Manager")

    def event(self) -> None:
        chart = self.chance.choice(list(Chart.objects.all()))
        at = self.clock - timedelta(hours=self.chance.randrange(1, 900))
        perform(AddEvent(chart, "moved", at.isoformat(), self.chance.choice(WHOSE), "bench"), self.manager)

    def rules(self) -> None:
        chart = self.chance.choice([None, *Chart.objects.all()])
        chosen = self.chance.sample(list(RULES), self.chance.randrange(1, 6))
        action = ChooseRules(
            self.day.site, chart, self.chance.choice(KINDS), chosen, self.chance.choice(("5", "20")),
            sigma=self.chance.choice(SIGMAS), reason="to see more",
        )  # fmt: skip
        perform(action, self.manager)

    def out_and_back(self) -> None:
        perform(WithdrawInstrument(self.day.instrument, "seal worn"), self.manager)
        perform(ReturnInstrument(self.day.instrument, "seal changed"), By(self.day.manager, self.clock))
        self.clock += timedelta(hours=2)
        self.check()

    def new_lot(self) -> None:
        self.lots += 1
        lot = self.day.nacl.solution_lot
        lot.pk, lot.code = None, f"NaCl-new-{self.lots}"
        lot.save()
        bottle = type(self.day.nacl).objects.create(
            solution_lot=lot, code="1", opened_at=self.clock - timedelta(days=1)
        )
        self.day.nacl = bottle
        self.check()

    def close(self) -> None:
        Deviation.objects.filter(closed_at=None).update(closed_at=self.clock)
        note("site_set_up", self.day.site.ref, self.clock, "Manager")

    def line_elsewhere(self) -> None:
        note("site_set_up", self.day.site.ref, self.clock, "Manager")

    def bench_work(self) -> None:
        note("signed_in", self.day.manager.ref, self.clock, "Manager")

    def days_pass(self) -> None:
        self.clock += timedelta(days=self.chance.randrange(1, 9))

    def scale_changed(self) -> None:
        """Adjusted, a correction began or ended, or only out of use: that one moves nothing."""
        at, kind = self.clock - timedelta(hours=self.chance.randrange(1, 300)), self.chance.choice(EVENTS)
        ScaleChange.objects.create(instrument=self.day.instrument, at=at, kind=kind, about="adjustment:1", words="span")
        note("site_set_up", self.day.site.ref, self.clock, "Manager")

    def renamed(self) -> None:
        self.day.instrument.name = f"OW-{self.chance.randrange(100)} & more"
        self.day.instrument.save()
        note("site_set_up", self.day.site.ref, self.clock, "Manager")


def quick_page(day: Day, chart: Chart, kind: str, span: str) -> tuple[str, str, str]:
    kept = chart_page(day.site, chart.pk, kind, span)
    return kept.set_into(kept.answer.encode()).decode(), str(kept.task), str(kept.rules)


@pytest.fixture
def nothing_kept() -> None:
    for kept in (kept_page._KEPT, kept_points._KEPT):
        kept.clear()


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_every_page_after_every_act_is_as_plainly_made(
    day: Day, nothing_kept: None, monkeypatch: pytest.MonkeyPatch, seed: int
) -> None:
    plant = Plant(day, seed)
    day.site.time_zone = plant.chance.choice(("Europe/London", "Asia/Kolkata"))
    day.site.save()
    monkeypatch.setattr("django.utils.timezone.now", lambda: plant.clock)
    if seed % 2:
        bring(day, last=(plant.clock - timedelta(days=1)).date())
    plant.check()
    for _ in range(ACTS):
        plant.act()
        looks = {("", "year"), (plant.chance.choice(KINDS), plant.chance.choice(list(SPANS)))}
        for chart in Chart.objects.all():
            for kind, span in sorted(looks):
                plain = plain_page(day.site, chart.pk, kind, span, plant.clock)
                for quick, plainly in zip(quick_page(day, chart, kind, span), plain, strict=True):
                    assert shown(quick) == shown(plainly), (plant.done, chart, kind, span)
    assert len(plant.done) >= 9  # much of what can happen did


def test_a_check_entered_late_stands_at_its_time(
    day: Day, nothing_kept: None, mornings, nacl, monkeypatch: pytest.MonkeyPatch
) -> None:
    at = mornings([0.001, -0.001, 0.0004, -0.0006])
    monkeypatch.setattr("django.utils.timezone.now", lambda: NOW)
    quick_page(day, nacl(), "", "year")
    late = at[1] + timedelta(hours=3)
    day.start(late - timedelta(minutes=30))
    day.check(late, nacl=f"{NACL_AT_25 + 0.0002:.4f}")
    assert ChartPoint.objects.filter(chart=nacl()).order_by("at_s").values_list("pk", flat=True)[2] == max(
        ChartPoint.objects.filter(chart=nacl()).values_list("pk", flat=True)
    )
    quick, plain = quick_page(day, nacl(), "", "year"), plain_page(day.site, nacl().pk, "", "year", NOW)
    assert [shown(one) for one in quick] == [shown(one) for one in plain]


def test_another_plants_chart_is_not_found(day: Day, mornings) -> None:
    mornings([0.001, -0.001])
    theirs = make.make_instrument(make.make_site("other"), "X-1")
    chart = Chart.objects.create(site=theirs.site, instrument=theirs, solution="NaCl")
    with pytest.raises(Http404):
        chart_page(day.site, chart.pk, "", "year")


def test_the_plain_way_knows_the_moment(day: Day, mornings, nacl) -> None:
    """What is compared is not empty: as many rows as there were checks."""
    done: list[datetime] = mornings([0.001, -0.001, 0.0004])
    answer, _, _ = plain_page(day.site, nacl().pk, "", "year", NOW)
    assert answer.count('<tr><th scope="row"><a href="/checks/') == len(done)
