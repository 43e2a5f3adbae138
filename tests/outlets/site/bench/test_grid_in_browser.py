"""The grid in the real browser when things go wrong: nothing typed is lost, nothing is saved twice."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from pathlib import Path
from socketserver import ThreadingMixIn
from wsgiref.simple_server import WSGIRequestHandler, WSGIServer, make_server

import pytest
from django.core.wsgi import get_wsgi_application
from django.db import connections
from django.test import Client
from django.utils import timezone
from playwright.sync_api import Browser, Page, Route, expect
from tests.outlets.site.bench.shift import NOW, Shift, make_shift
from tests.outlets.site.browse import sign_in
from tests.served import chromium

from isohume.outlets.site.bench.models import Run


class _Server(ThreadingMixIn, WSGIServer):
    daemon_threads = True


class _Quiet(WSGIRequestHandler):
    def log_message(self, *words: object) -> None:
        """Nothing."""


@pytest.fixture(scope="module")
def chrome() -> Iterator[Browser]:
    with pytest.MonkeyPatch.context() as patch, chromium() as found:
        patch.setenv("DJANGO_ALLOW_ASYNC_UNSAFE", "true")  # the browser's driver keeps a loop in this thread
        yield found


@pytest.fixture
def shift(site_db: Path, monkeypatch: pytest.MonkeyPatch) -> Shift:
    shift = make_shift()
    for number in range(3):
        shift.sample(shift.lot(f"SB-{number}"), portions=2)
    monkeypatch.setattr(timezone, "now", lambda: NOW)
    return shift


@pytest.fixture
def grid(chrome: Browser, shift: Shift) -> Iterator[Page]:
    """The grid, signed in as the analyst, ready for keys."""
    server = make_server("127.0.0.1", 0, get_wsgi_application(), _Server, _Quiet)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    address, client = f"http://127.0.0.1:{server.server_port}", Client()
    sign_in(client, shift.analyst)
    context = chrome.new_context(service_workers="block")  # lost answers are acted out between page and server
    context.add_cookies([{"name": "sessionid", "value": client.cookies["sessionid"].value, "url": address}])
    page = context.new_page()
    page.goto(f"{address}/shift/?instrument={shift.bench.instrument.pk}&block_temperature_c=25.0")
    page.locator("html[data-ready]").wait_for()
    yield page
    context.close()
    server.shutdown()
    server.server_close()
    connections.close_all()


def type_row(grid: Page, temperature_c: str, a_w: str) -> None:
    for text in (temperature_c, a_w):
        grid.keyboard.type(text)
        grid.keyboard.press("Enter")


def test_enter_saves_the_row_and_goes_on_at_once(grid: Page) -> None:
    expect(grid.locator("#sample_temperature_c_1")).to_be_focused()
    type_row(grid, "25.1", "0.632")
    expect(grid.locator("#sample_temperature_c_2")).to_be_focused()
    type_row(grid, "25.1", "0.633")
    expect(grid.locator("#portion-1[data-saved]")).to_contain_text("first read of cup A")
    expect(grid.locator("#portion-2[data-saved]")).to_contain_text("0.633")
    expect(grid.locator("[data-count]")).to_have_text("4 wait, 2 saved here.")
    assert list(Run.objects.order_by("pk").values_list("a_w", "block_temperature_c")) == [
        ("0.632", "25.0"),
        ("0.633", "25.0"),
    ]


def test_a_percentage_is_asked_about_before_it_is_sent(grid: Page) -> None:
    type_row(grid, "25.1", "63.2")
    expect(grid.locator("#a_w_1")).to_be_focused()
    expect(grid.locator("#a_w_1-error")).to_contain_text("was ERH in percent meant?")
    assert not Run.objects.exists()


def test_a_refused_row_keeps_its_text_and_the_next_cup_never_lands_in_it(grid: Page) -> None:
    for number in range(5):
        type_row(grid, "27.6" if number == 0 else "25.1", f"0.63{number}")
        if number:
            grid.locator(f"#portion-{number + 1}[data-saved]").wait_for()
    refused = grid.locator("#portion-1")
    expect(refused).to_contain_text("Wait until it is within the limit, or give a reason.")
    expect(grid.locator("#a_w_1")).to_have_value("0.630")
    expect(grid.locator("#sample_temperature_c_6")).to_be_focused()
    type_row(grid, "25.1", "0.636")
    grid.locator("#portion-6[data-saved]").wait_for()
    expect(grid.locator("#override_reason_1")).to_have_value("")
    expect(grid.locator("[data-count]")).to_have_text("1 wait, 5 saved here, 1 not saved.")


def test_without_an_answer_the_text_stays_and_the_same_row_is_one_run(grid: Page) -> None:
    def lose_the_answer(route: Route) -> None:
        route.fetch()  # the server saves it
        route.abort()

    grid.route("**/shift/1/", lose_the_answer)
    type_row(grid, "25.1", "0.632")
    expect(grid.locator("#portion-1 [data-trouble]")).to_contain_text("What you typed is kept")
    expect(grid.locator("#a_w_1")).to_have_value("0.632")
    grid.unroute("**/shift/1/")
    grid.locator("#a_w_1").focus()
    grid.keyboard.press("Enter")
    expect(grid.locator("#portion-1[data-saved]")).to_contain_text("first read of cup A")
    assert Run.objects.count() == 1


def test_after_signing_in_again_elsewhere_the_row_is_sent_with_a_new_token(grid: Page) -> None:
    kept = [cookie for cookie in grid.context.cookies() if cookie["name"] != "csrftoken"]
    grid.context.clear_cookies()
    grid.context.add_cookies(kept)
    type_row(grid, "25.1", "0.632")
    expect(grid.locator("#portion-1[data-saved]")).to_contain_text("0.632")


def test_signed_out_nothing_typed_is_lost(grid: Page) -> None:
    grid.context.clear_cookies()
    type_row(grid, "25.1", "0.632")
    expect(grid.locator("#portion-1 [data-trouble]")).to_contain_text("you are signed out or the screen is locked")
    expect(grid.locator("#a_w_1")).to_have_value("0.632")
    assert not Run.objects.exists()


def test_a_code_leads_to_its_row_however_slowly_it_comes_and_a_cup_read_before_joins(grid: Page, shift: Shift) -> None:
    grid.keyboard.type("iso:p:5", delay=120)  # slower than any scanner
    grid.keyboard.press("Enter")
    expect(grid.locator("#sample_temperature_c_5")).to_be_focused()
    type_row(grid, "25.1", "0.632")
    grid.locator("#portion-5[data-saved]").wait_for()
    grid.keyboard.type("iso:p:5", delay=120)
    grid.keyboard.press("Enter")
    expect(grid.locator("#portion-5")).to_contain_text("second read of cup A: a re-read, not a replicate")
    expect(grid.locator("#sample_temperature_c_5")).to_be_focused()
