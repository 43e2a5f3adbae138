"""A plant with a product, a developer, and files of points."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.outlets.site import make
from tests.outlets.site.studies.bench import Bench

from isohume.outlets.site.people.roles import ANALYST, DEVELOPER, MANAGER


@pytest.fixture
def bench(site_db: Path) -> Bench:
    """The plant."""
    site = make.make_site()
    method = make.make_method(site)
    people = {
        name: make.make_person(site, role, username=name)
        for name, role in (("dev", DEVELOPER), ("boss", MANAGER), ("hand", ANALYST))
    }
    return Bench(site, make.make_product(method), people)
