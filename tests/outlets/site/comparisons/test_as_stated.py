"""Instruments are compared by what their readings are stated as, on the scale they have now."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest
from tests.outlets.site import make
from tests.outlets.site.adjustments.bench import LOW, NOW, Morning, make_morning

from isohume.outlets.site.bench.models import Lot, Portion, Run, Sample, SecondKeying
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.comparisons.pairs import pairs_of_site
from isohume.outlets.site.register.models import Instrument

MINUTE, OFF = timedelta(minutes=1), 0.0105  # a little more than LOW takes off where soft bars read
TRUE = (0.6100, 0.6200, 0.6300, 0.6400)


def read_on_both(m: Morning, check: Check, other: Instrument, at) -> None:
    """Four samples, a cup on each instrument; the first one reads low."""
    product = m.site.products.first() or make.make_product(m.method)
    for n, true in enumerate(TRUE):
        code = f"L{n}-{at:%H%M}"
        lot = Lot.objects.create(
            site=m.site, code=code, key=code.lower(), product=product, specification=product.specification,
            received_at=NOW, entered_at=NOW, by=m.analyst,
        )  # fmt: skip
        sample = Sample.objects.create(lot=lot, code="1", position="start", sealed=True, received_at=NOW, by=m.analyst)
        for letter, instrument, off in (("A", m.instrument, OFF), ("B", other, 0.0)):
            cup = Portion.objects.create(
                sample=sample, code=letter, cover="lidded", covered_at=NOW, prepared_at=NOW, done=True, by=m.analyst
            )
            run = Run.objects.create(
                portion=cup, instrument=instrument, method_version=m.method, opening_check=check,
                a_w=f"{true - off:.4f}", read_at=at + n * MINUTE, entered_at=at + n * MINUTE, by=m.analyst,
            )  # fmt: skip
            SecondKeying.objects.create(run=run, a_w=run.a_w, agrees=True, words="agrees", at=NOW, by=m.manager)


def test_readings_are_compared_corrected_and_only_since_the_scale_moved(site_db: Path) -> None:
    m = make_morning()
    begun = NOW - timedelta(hours=2)
    failed = m.fail_carefully(begun)
    other = make.make_instrument(m.site, "OW-2")
    read_on_both(m, failed, other, begun + 30 * MINUTE)  # before the correction
    m.correct(failed, begun + 55 * MINUTE)
    left = m.check(begun + 60 * MINUTE, LOW)
    read_on_both(m, left, other, begun + 90 * MINUTE)
    found = pairs_of_site(m.site, m.instrument, other, NOW - timedelta(days=1))
    assert len(found) == len(TRUE)
    assert [pair.first for pair in found] == pytest.approx(TRUE, abs=0.002)
    raw = [float(a_w) for a_w in Run.objects.filter(instrument=m.instrument).values_list("a_w", flat=True)]
    assert min(abs(a - b) for a, b in zip(sorted(raw)[1::2], TRUE, strict=True)) > 0.010
