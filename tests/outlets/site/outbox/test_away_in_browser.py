"""The network goes away in the middle of a shift, in the real browser: what is entered waits, is sent, is settled."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from email.utils import formatdate
from pathlib import Path
from socketserver import ThreadingMixIn
from typing import Any
from wsgiref.simple_server import WSGIRequestHandler, WSGIServer, make_server

import pytest
from django.core.wsgi import get_wsgi_application
from django.db import connections
from django.test import Client
from django.utils import timezone
from playwright.sync_api import Browser, Page, expect
from tests.outlets.site.bench.shift import NOW, Shift, make_shift
from tests.outlets.site.browse import sign_in
from tests.served import chromium

from isohume.outlets.site.bench.actions.discard_portion import DiscardPortion
from isohume.outlets.site.bench.models import Portion, Run
from isohume.outlets.site.ledger.actions import perform
from isohume.outlets.site.ledger.trail import trail_of
from isohume.outlets.site.people.models import Person


class _Server(ThreadingMixIn, WSGIServer):
    daemon_threads = True
    allow_reuse_address = True


class _Quiet(WSGIRequestHandler):
    def log_message(self, *words: object) -> None:
        """Nothing."""


def on_the_plants_clock(app: Any) -> Any:
    """The server's clock, as it says it with each answer, is years from the tablet's: entries go by the server's."""

    def answer(environ: dict[str, Any], start_response: Any) -> Any:
        def start(status: str, headers: list[tuple[str, str]], *more: Any) -> Any:
            return start_response(status, [*headers, ("Date", formatdate(NOW.timestamp(), usegmt=True))], *more)

        return app(environ, start)

    return answer


class Bench:
    """A server that can be away, and a tablet."""

    def __init__(self, shift: Shift) -> None:
        self.shift = shift
        self.port = 0
        self.come_back()

    def come_back(self) -> None:
        self.server = make_server("127.0.0.1", self.port, on_the_plants_clock(get_wsgi_application()), _Server, _Quiet)
        self.port = self.server.server_port
        threading.Thread(target=self.server.serve_forever, daemon=True).start()

    def go_away(self) -> None:
        self.server.shutdown()
        self.server.server_close()

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"


@pytest.fixture(scope="module")
def chrome() -> Iterator[Browser]:
    with pytest.MonkeyPatch.context() as patch, chromium() as found:
        patch.setenv("DJANGO_ALLOW_ASYNC_UNSAFE", "true")  # the browser's driver keeps a loop in this thread
        yield found


@pytest.fixture
def bench(site_db: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Bench]:
    shift = make_shift()
    for number in range(3):
        shift.sample(shift.lot(f"SB-{number}"), portions=1)
    monkeypatch.setattr(timezone, "now", lambda: NOW)
    found = Bench(shift)
    yield found
    found.go_away()
    connections.close_all()


@pytest.fixture
def grid(chrome: Browser, bench: Bench) -> Iterator[Page]:
    """The shift page, signed in, its worker in charge."""
    client = Client()
    sign_in(client, bench.shift.analyst)
    context = chrome.new_context()
    context.add_cookies([{"name": "sessionid", "value": client.cookies["sessionid"].value, "url": bench.address}])
    page = context.new_page()
    page.goto(f"{bench.address}/shift/?instrument={bench.shift.bench.instrument.pk}&block_temperature_c=25.0")
    until(page, "navigator.serviceWorker.controller !== null")
    until(page, "caches.open('isohume-pages-1').then((pages) => pages.match('/outbox/')).then(Boolean)")
    page.goto(f"{bench.address}/shift/")
    page.locator("html[data-ready]").wait_for()
    yield page
    context.close()


def until(page: Page, asked: str) -> None:
    """Asked again and again: the pages' own policy lets nobody evaluate text inside them."""
    for _ in range(100):
        if page.evaluate(asked):
            return
        page.wait_for_timeout(50)
    raise AssertionError(asked)


def type_row(page: Page, temperature_c: str, a_w: str) -> None:
    for text in (temperature_c, a_w):
        page.keyboard.type(text)
        page.keyboard.press("Enter")


def send(page: Page) -> None:
    page.evaluate("navigator.serviceWorker.controller.postMessage('send')")


def test_rows_wait_and_are_runs_with_their_own_time_when_the_network_is_back(grid: Page, bench: Bench) -> None:
    bench.go_away()
    type_row(grid, "25.1", "0.632")
    expect(grid.locator("#portion-1")).to_contain_text("Kept on this computer: run of cup SB-0")
    type_row(grid, "25.1", "0.633")
    expect(grid.locator("#outbox")).to_have_text("2 entries wait on this computer")
    assert not Run.objects.exists()
    grid.reload()  # a page is there without the network, says of when it is, and knows what was entered
    expect(grid.locator("#seen")).to_contain_text("This page is as it was at")
    expect(grid.locator("#portion-1")).to_contain_text("Kept on this computer")
    bench.come_back()
    send(grid)
    expect(grid.locator("#outbox")).to_be_hidden()
    runs = list(Run.objects.order_by("pk"))
    assert [(run.a_w, run.portion_id) for run in runs] == [("0.632", 1), ("0.633", 2)]
    assert all(abs((run.read_at - NOW).total_seconds()) < 60 for run in runs)
    assert "typed_at" in trail_of(runs[0].ref)[0].details


def test_what_the_server_refuses_stays_is_put_right_and_sent_again(grid: Page, bench: Bench) -> None:
    bench.go_away()
    type_row(grid, "27.9", "0.632")
    expect(grid.locator("#outbox")).to_have_text("1 entry waits on this computer")
    bench.come_back()
    send(grid)
    expect(grid.locator("#outbox")).to_have_text("1 entry was refused")
    grid.locator("#outbox a").click()
    entry = grid.locator("[data-outbox] section")
    expect(entry).to_contain_text("Wait until it is within the limit, or give a reason.")
    entry.get_by_label("sample temperature c").fill("25.1")
    entry.get_by_role("button", name="Send it again").click()
    expect(entry).to_contain_text("kept by the server")
    run = Run.objects.get()
    assert run.sample_temperature_c == "25.1"
    assert trail_of(run.ref)[0].details["typed_first"] == "sample_temperature_c: 27.9"


def test_another_person_sees_that_it_waits_and_neither_its_values_nor_a_way_to_change_it(
    grid: Page, bench: Bench
) -> None:
    bench.go_away()
    type_row(grid, "27.9", "0.652")
    expect(grid.locator("#outbox")).to_have_text("1 entry waits on this computer")
    bench.come_back()
    send(grid)
    expect(grid.locator("#outbox")).to_have_text("1 entry was refused")
    sign_in_as(grid, bench, bench.shift.bench.manager)
    grid.goto(f"{bench.address}/outbox/")
    entry = grid.locator("[data-outbox] section")
    expect(entry).to_contain_text("Another person made this entry")
    expect(entry).not_to_contain_text("0.652")
    expect(entry.get_by_role("textbox")).to_have_count(0)
    expect(entry.get_by_role("button")).to_have_count(0)
    sign_in_as(grid, bench, bench.shift.analyst)
    grid.goto(f"{bench.address}/outbox/")
    expect(entry.get_by_label("a w", exact=True).or_(entry.get_by_label("a_w"))).to_have_value("0.652")
    expect(entry.get_by_role("button", name="Send it again")).to_be_visible()


def sign_in_as(page: Page, bench: Bench, person: Person) -> None:
    client = Client()
    sign_in(client, person)
    page.context.add_cookies([{"name": "sessionid", "value": client.cookies["sessionid"].value, "url": bench.address}])


def test_a_conflict_is_shown_and_set_aside_with_a_reason(grid: Page, bench: Bench) -> None:
    bench.go_away()
    type_row(grid, "25.1", "0.632")
    expect(grid.locator("#outbox")).to_have_text("1 entry waits on this computer")
    perform(DiscardPortion(Portion.objects.get(pk=1), "spilt on the bench"), bench.shift.by())
    bench.come_back()
    send(grid)
    grid.locator("#outbox", has_text="refused").locator("a").click()
    entry = grid.locator("[data-outbox] section")
    expect(entry).to_contain_text("Cup A was discarded: spilt on the bench.")
    entry.get_by_role("button", name="Set the entry aside").click()
    expect(entry.locator("[data-trouble]")).to_contain_text("why this entry is not sent again")
    entry.get_by_label("Why it is set aside").fill("the cup was spilt before the reading ended")
    entry.get_by_role("button", name="Set the entry aside").click()
    expect(grid.locator("[data-outbox-empty]")).to_be_visible()
    line = trail_of(bench.shift.analyst.ref)[-1]
    assert "a_w: 0.632" in line.details["fields"]
    assert "discarded" in line.details["refused"]
    assert not Run.objects.exists()


def test_a_lost_answer_makes_no_second_run(grid: Page, bench: Bench) -> None:
    """The server kept it, the tablet could not know: sent again, it is the same run."""
    bench.server.RequestHandlerClass = _KeepsAndSaysNothing
    type_row(grid, "25.1", "0.632")
    expect(grid.locator("#outbox")).to_have_text("1 entry waits on this computer")
    assert Run.objects.count() == 1
    bench.server.RequestHandlerClass = _Quiet
    send(grid)
    expect(grid.locator("#outbox")).to_be_hidden()
    assert Run.objects.count() == 1


class _KeepsAndSaysNothing(_Quiet):
    """Does what is asked and loses every answer."""

    def handle(self) -> None:
        real, self.wfile = self.wfile, _Nowhere()
        super().handle()
        self.wfile = real


class _Nowhere:
    def write(self, data: bytes) -> int:
        return len(data)

    def flush(self) -> None:
        """Nothing."""


def test_judging_and_signing_do_not_wait(grid: Page, bench: Bench) -> None:
    bench.go_away()
    grid.goto(f"{bench.address}/lots/")
    expect(grid.locator("h1")).to_have_text("The network is away")
