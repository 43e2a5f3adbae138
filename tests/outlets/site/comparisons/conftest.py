"""A plant with two instruments and its people."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.outlets.site import make
from tests.outlets.site.lots.bench_day import Bench, make_bench

from isohume.outlets.site.register.models import Instrument


@pytest.fixture
def bench(site_db: Path) -> Bench:
    """The plant."""
    return make_bench()


@pytest.fixture
def second(bench: Bench) -> Instrument:
    """The plant's other instrument."""
    return make.make_instrument(bench.site, "OW-2")
