"""A sample that stays warm is judged by the limit that let its cup be put in: the method's."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.outlets.site.bench.shift import Shift
from tests.outlets.site.captures.bench_agent import SETTLES, BenchAgent, expects, make_captures

from isohume.outlets.site.captures.judged import judged_of
from isohume.outlets.site.register.models import MethodVersion


@pytest.fixture
def both(site_db: Path) -> tuple[Shift, BenchAgent]:
    return make_captures()


@pytest.mark.parametrize(("limit", "said"), [("2.0", "settled"), ("1.0", "warm sample")])
def test_the_method_s_limit_decides(both: tuple[Shift, BenchAgent], limit: str, said: str) -> None:
    shift, agent = both
    portion = shift.portion()
    method = portion.sample.lot.product.method.current
    MethodVersion.objects.filter(pk=method.pk).update(mismatch_limit_c=limit)
    expects(shift, portion)
    run = agent.brings("r1", SETTLES, sample_temperature_c="26.5", block_temperature_c="25.0")
    found = judged_of(run).found
    assert found is not None
    assert found.finding.diagnosis == said
