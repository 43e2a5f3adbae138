"""The pages of the bench in the real browser, as they are and as they answer a form that was sent empty."""

from __future__ import annotations

import pytest
from tests.served import Plant
from tests.site import addresses
from tests.site.browsing import EVERY_VISIT, ONE_VISIT, Watched

EMPTY_FORMS = (
    "lot_new", "sample_new", "check_new", "start_sheet", "cleaning_new", "in_process", "hand_over_new", "deviations",
    "import_runs", "instrument_new", "method_new", "solution_new", "product_new", "people", "moisture_new", "ph_new",
)  # fmt: skip


@pytest.mark.parametrize("name", addresses.BENCH)
def test_a_page(manager: Watched, site: Plant, name: str) -> None:
    assert manager.walk(addresses.pages(site.ask)[name]) == {}
    assert manager.asked_for > 0


def test_the_keys_of_a_page(manager: Watched) -> None:
    manager.go("/shift/")
    manager.page.locator("[data-keys-open]").click()
    assert manager.page.locator("dialog#keys").is_visible()
    assert manager.look(EVERY_VISIT) + manager.taken() == []


@pytest.mark.parametrize("name", EMPTY_FORMS)
def test_a_form_sent_empty_says_why(manager: Watched, site: Plant, name: str) -> None:
    """Errors at their fields are part of the page."""
    manager.go(addresses.pages(site.ask)[name][0])
    form = manager.page.locator("main form[method=post]").last
    form.evaluate("form => form.querySelectorAll('input:not([type=hidden])').forEach(one => { one.value = ''; })")
    with manager.page.expect_navigation():
        form.evaluate("form => { form.noValidate = true; form.requestSubmit(); }")
    manager.settle()
    assert manager.page.locator("[aria-invalid=true], .reasons li, .form-errors").count() > 0
    said = manager.look(ONE_VISIT[0] + ONE_VISIT[1]) + [
        fault for fault in manager.taken() if "status of 422" not in fault
    ]
    assert said == []
