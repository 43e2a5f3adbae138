"""What the keyboard, the scanner and the clock do on a page, in the real browser."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, expect


@pytest.fixture
def page(chromium: Browser, address: str) -> Iterator[Page]:
    """The gallery."""
    page = chromium.new_page()
    page.goto(address + "/")
    page.wait_for_selector("html[data-ready]")
    yield page
    page.close()


def focused(page: Page) -> str:
    """The id of the focused element."""
    return str(page.evaluate("document.activeElement.id"))


def test_the_help_key_lists_the_keys_and_escape_closes_them(page: Page) -> None:
    page.keyboard.press("?")
    expect(page.locator("#keys")).to_be_visible()
    expect(page.locator("#keys")).to_contain_text("accept the reading")
    page.keyboard.press("Escape")
    expect(page.locator("#keys")).to_be_hidden()
    assert page.url.endswith("/")


def test_escape_goes_back_but_not_from_unsaved_text(page: Page) -> None:
    page.locator("#portion").press_sequentially("x")
    page.keyboard.press("Escape")
    assert not page.url.endswith("/up/")
    page.locator("#portion").fill("")
    page.keyboard.press("Escape")
    page.wait_for_url("**/up/")


def test_escape_closes_the_menu_first(page: Page) -> None:
    page.locator("[data-menu] summary").click()
    expect(page.get_by_text("Sign out")).to_be_visible()
    page.keyboard.press("Escape")
    expect(page.get_by_text("Sign out")).to_be_hidden()
    assert not page.url.endswith("/up/")


def test_t_shows_the_table_and_the_line_again(page: Page) -> None:
    page.keyboard.press("t")
    expect(page.locator("#today-line table")).to_be_visible()
    expect(page.locator("#today-line .drawing")).to_be_hidden()
    page.keyboard.press("t")
    expect(page.locator("#today-line .drawing")).to_be_visible()


def test_letters_can_be_switched_off_and_stay_off(page: Page) -> None:
    page.keyboard.press("?")
    page.locator("[data-letter-keys]").uncheck()
    page.keyboard.press("Escape")
    page.keyboard.press("t")
    expect(page.locator("#today-line .drawing")).to_be_visible()
    page.reload()
    page.wait_for_selector("html[data-ready]")
    page.keyboard.press("?")
    expect(page.locator("#keys")).to_be_hidden()


def test_enter_goes_on_and_a_percentage_stays_with_its_question(page: Page) -> None:
    field = page.locator("#a_w")
    field.fill("65.2")
    field.press("Enter")
    assert focused(page) == "a_w"
    expect(page.locator("#a_w-error")).to_contain_text("was ERH in percent meant")
    field.fill("0.652")
    field.press("Enter")
    assert focused(page) == "sample_c"
    expect(page.locator("#a_w-error")).to_be_hidden()


@pytest.mark.parametrize(
    ("typed", "says", "stays"),
    [("681", "Is 0.681 meant", True), (".681", "Read as 0.681", False), ("0.681", "", False), ("0,681", "", False),
     ("1", "", False), ("1.2", "ERH in percent", True), ("0", "more than 0", True), ("0.6.8", "a number", True)],
)  # fmt: skip
def test_a_number_is_looked_at_on_entry(page: Page, typed: str, says: str, stays: bool) -> None:
    page.locator("#a_w_1").fill(typed)
    page.locator("#a_w_1").press("Enter")
    expect(page.locator("#a_w_1-error")).to_contain_text(says)
    assert (focused(page) == "a_w_1") is stays


def test_a_form_is_not_sent_with_a_number_that_asks(page: Page, asked: list[tuple[str, str, str]]) -> None:
    faults: list[str] = []
    page.on("pageerror", lambda fault: faults.append(str(fault)))
    page.locator("#a_w_1").fill("0.631")
    page.locator("#a_w_1").press("Enter")  # was looked at once: its place for a question is marked
    page.locator("#a_w_2").fill("65.2")
    page.evaluate("document.getElementById('a_w_2').form.requestSubmit()")
    assert focused(page) == "a_w_2"
    expect(page.locator("#a_w_2-error")).to_contain_text("ERH in percent")
    assert (faults, [path for method, path, _ in asked if method == "POST"]) == ([], [])


def test_the_last_field_sends_the_form(page: Page, asked: list[tuple[str, str, str]]) -> None:
    for name, typed in (("a_w_1", "0.631"), ("c_1", "25.0"), ("a_w_2", "0.681"), ("c_2", "25.0"), ("a_w_3", "0.633")):
        assert page.locator(f"#{name}").evaluate("e => (e.focus(), document.activeElement === e)")
        page.keyboard.type(typed)
        page.keyboard.press("Enter")
    page.keyboard.type("25.1")
    with page.expect_navigation():
        page.keyboard.press("Enter")
    sent = [body for method, path, body in asked if (method, path) == ("POST", "/posted/")]
    assert len(sent) == 1
    assert "a_w_3=0.633&c_3=25.1" in sent[0]


def test_arrows_change_the_row_in_their_column(page: Page) -> None:
    page.locator("#c_1").focus()
    page.keyboard.press("ArrowDown")
    assert focused(page) == "c_2"
    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowDown")
    assert focused(page) == "c_3"
    page.keyboard.press("ArrowUp")
    assert focused(page) == "c_2"


def test_a_scanned_code_lands_in_its_field_and_leaves_the_focused_one_as_it_was(page: Page) -> None:
    note = page.locator("#note")
    note.fill("seen: ")
    note.focus()
    page.keyboard.type("iso:p:123")
    page.keyboard.press("Enter")
    assert note.input_value() == "seen: "
    assert page.locator("#portion").input_value() == "iso:p:123"
    assert focused(page) == "instrument"


def test_a_scanned_code_finds_its_row(page: Page) -> None:
    page.evaluate("document.getElementById('a_w_3').closest('tr').dataset.code = 'iso:p:77'")
    page.locator("#note").focus()
    page.keyboard.type("iso:p:77")
    page.keyboard.press("Enter")
    assert focused(page) == "a_w_3"


def test_a_row_that_was_saved_is_not_gone_to_again(page: Page) -> None:
    page.evaluate(
        """() => { const row = document.getElementById('a_w_3').closest('tr');
           row.dataset.code = 'iso:p:77'; row.setAttribute('data-saved', ''); }"""
    )
    page.keyboard.type("iso:p:77")
    page.keyboard.press("Enter")
    assert page.locator("#portion").input_value() == "iso:p:77"


def test_a_scan_opens_the_closed_part_its_field_is_in_and_enter_passes_it_by(page: Page) -> None:
    page.evaluate(
        """() => { const inside = document.getElementById('portion').closest('.field');
           const part = document.createElement('details');
           part.append(document.createElement('summary')); inside.before(part); part.append(inside); }"""
    )
    before = page.evaluate(
        """async () => { const { fieldsOf } = await import('/static/look/fields.js');
           return fieldsOf(document.body).some((field) => field.id === 'portion'); }"""
    )
    assert before is False
    page.keyboard.type("iso:p:123")
    page.keyboard.press("Enter")
    assert page.locator("#portion").input_value() == "iso:p:123"
    assert page.locator("#portion").is_visible()


def test_a_code_without_a_field_opens_its_object(page: Page) -> None:
    page.keyboard.type("iso:b:7")
    page.keyboard.press("Enter")
    page.wait_for_url("**/scan/?code=iso%3Ab%3A7")


def test_a_scan_right_after_typing_takes_only_the_code_out(page: Page) -> None:
    page.locator("#note").fill("")
    page.locator("#note").focus()
    page.keyboard.type("rim wetiso:p:9")
    page.keyboard.press("Enter")
    assert page.locator("#note").input_value() == "rim wet"
    assert page.locator("#portion").input_value() == "iso:p:9"


def test_a_scanner_with_another_keyboard_is_read_by_the_places_of_its_keys(page: Page) -> None:
    page.evaluate(
        """() => { const press = (key, code, shiftKey) => document.dispatchEvent(
             new KeyboardEvent('keydown', {key, code, shiftKey, bubbles: true}));
           press('i', 'KeyI'); press('s', 'KeyS'); press('o', 'KeyO'); press('Ö', 'Semicolon', true);
           press('p', 'KeyP'); press('Ö', 'Semicolon', true); press('4', 'Digit4'); press('Enter', 'Enter'); }"""
    )
    assert page.locator("#portion").input_value() == "iso:p:4"


def test_slow_typing_of_other_words_is_left_alone(page: Page) -> None:
    page.locator("#note").fill("")
    page.locator("#note").press_sequentially("isolated: 12", delay=5)
    assert page.locator("#note").input_value() == "isolated: 12"
    assert page.locator("#portion").input_value() == ""


def test_a_letter_presses_its_act(page: Page, asked: list[tuple[str, str, str]]) -> None:
    page.locator("#a_w").fill("0.652")
    page.locator("#portion").fill("iso:p:1")
    page.locator("h1").click()
    with page.expect_navigation():
        page.keyboard.press("a")
    assert [path for method, path, _ in asked if method == "POST"] == ["/posted/"]


def test_something_typed_and_not_sent_is_asked_about(page: Page) -> None:
    page.locator("#a_w_1").press_sequentially("0.6")
    expect(page.locator("tr[data-dirty]")).to_have_count(1)
    seen = []
    page.on("dialog", lambda dialog: (seen.append(dialog.type), dialog.dismiss()))
    page.evaluate("location.assign('/elsewhere/')")
    page.wait_for_timeout(300)
    assert seen == ["beforeunload"]
    page.locator("#a_w_1").fill("")
    expect(page.locator("[data-dirty]")).to_have_count(0)


def test_idle_locks_and_what_was_typed_comes_back(chromium: Browser, address: str) -> None:
    page = chromium.new_page()
    page.clock.install()
    page.goto(address + "/")
    page.wait_for_selector("html[data-ready]")
    page.locator("#a_w_1").press_sequentially("0.6312")
    page.clock.run_for(10 * 60_000)
    page.locator("#a_w_1").press("End")
    page.clock.run_for(10 * 60_000)
    assert page.url == address + "/"  # the key in between counted
    with page.expect_navigation():
        page.clock.run_for(6 * 60_000)
    assert page.url == address + "/lock/"
    page.goto(address + "/")
    page.wait_for_selector("html[data-ready]")
    assert page.locator("#a_w_1").input_value() == "0.6312"
    page.close()


def test_clocks_count_and_say_when_the_limit_is_reached_without_moving_anything(
    chromium: Browser, address: str
) -> None:
    page = chromium.new_page()
    page.clock.install(time="2026-11-24T09:31:00Z")
    page.goto(address + "/")
    page.wait_for_selector("html[data-ready]")
    clock = page.locator("[data-clock]")
    expect(clock.locator(".clock-run")).to_have_text("12 min")
    expect(clock.locator(".clock-over")).to_be_hidden()
    before = clock.bounding_box()
    page.clock.run_for(3 * 60_000)
    expect(clock.locator(".clock-run")).to_have_text("15 min")
    expect(clock.locator(".clock-over")).to_be_visible()
    assert clock.bounding_box() == before
    page.close()


def test_the_theme_is_chosen_and_kept(page: Page) -> None:
    page.locator("[data-menu] summary").click()
    button = page.locator("[data-theme-next]")
    button.click()
    button.click()
    expect(button).to_have_text("Light or dark: dark")
    page.reload()
    assert page.evaluate("document.documentElement.dataset.theme") == "dark"


def test_changes_are_counted_and_nothing_moves(chromium: Browser, address: str) -> None:
    page = chromium.new_page()
    page.add_init_script(
        "window.EventSource = class extends EventTarget { constructor(url, how) { super(); window.stream = this;"
        " window.asked = [url, how.withCredentials]; } close() {} };"
    )
    page.goto(address + "/live-page/")
    page.wait_for_selector("html[data-ready]")
    before = page.locator("h1").bounding_box()
    for kind in ("signed_in", "reading_accepted", "lot_held"):
        page.evaluate("kind => stream.dispatchEvent(new MessageEvent('message', {data: JSON.stringify({kind})}))", kind)
    assert page.evaluate("window.asked") == ["https://live.test/live/ledger?after=41", True]
    expect(page.locator("#live")).to_have_text("2 changes since you opened this page. Reload")
    page.evaluate(
        """() => { document.dispatchEvent(new Event('isohume:sent'));
           stream.dispatchEvent(new MessageEvent('message', {data: '{"kind": "run_recorded"}'})); }"""
    )
    expect(page.locator("#live")).to_have_text("2 changes since you opened this page. Reload")
    assert page.locator("h1").bounding_box() == before
    page.close()
