"""Reviewer, release officer: second keying, a correction, one signature over a list, the certificate, a held lot."""

from __future__ import annotations

import json
from collections.abc import Callable

import pymupdf
from playwright.sync_api import Locator, expect
from tests.served import Plant
from tests.story.desk import Desk
from tests.story.made import checked_and_read

from isohume.bench.record.verification import verify

LOTS = {"SB-LIST-1": ("0.6312", "0.6320"), "SB-LIST-2": ("0.618", "0.679"), "SB-LIST-3": ("0.6334", "0.6325")}
PRINTED = {**LOTS, "SB-LIST-2": ("0.681", "0.679")}  # what the instrument's own print-out says
SIGNATURES = """
SELECT s.body FROM signature s JOIN lots_lotrecord r ON r.record = s.record JOIN bench_lot l ON l.id = r.lot_id
WHERE l.code LIKE 'SB-LIST-%' ORDER BY s.seq
"""
HELD = "SB-LIST-2"
SLIP = "Digits swapped against the print-out of OW-1"


def test_second_keying_correction_and_one_signature_over_a_list(plant: Plant, desk: Callable[[str], Desk]) -> None:
    made = checked_and_read(plant, LOTS)
    begun = plant.last_line
    manager = desk("mfarrow")
    judge(manager, made[HELD][0])
    key_from_the_print_out(manager, plant, made)
    corrected = the_analyst_corrects(desk("rhale"), plant, made[HELD][1])
    key(manager, corrected, "0.681")
    expect(row_of(manager, corrected)).to_contain_text("both keyings agree")
    for lot, (pk, *_) in made.items():
        judge(manager, pk, again="The first run was corrected" if lot == HELD else "")
    the_held_lot(manager, plant, made[HELD][0])
    passing = [lot for lot in LOTS if lot != HELD]
    sign(manager, plant, "reviewed", passing)
    officer = desk("dpell")
    no_door_for_the_held_lot(officer, plant, made[HELD][0])
    sign(officer, plant, "released", passing)
    assert states(plant) == {"SB-LIST-1": "released", "SB-LIST-2": "on hold", "SB-LIST-3": "released"}
    one_act_each(plant, passing)
    the_certificate(officer, made[passing[0]][0])
    kinds = plant.kinds(begun)
    assert kinds.count("run_keyed_second") == 7
    assert (kinds.count("run_corrected"), kinds.count("records_signed"), kinds.count("signature")) == (1, 2, 4)
    assert verify(plant.folder).verified


def judge(desk: Desk, lot: int, again: str = "") -> None:
    """On the lot's page."""
    desk.open(f"/lots/{lot}/")
    reason = desk.page.get_by_label("Why it is judged again")
    if again and reason.count():
        reason.fill(again)
    desk.click("Judge lot")
    expect(desk.page).to_have_url(f"{desk.address}/lots/{lot}/")
    expect(desk.page.get_by_role("heading", name="Verdict")).to_be_visible()


def row_of(desk: Desk, run: int) -> Locator:
    """The row of a run in the grid of the second keying."""
    return desk.page.locator(f"#run-{run}")


def key(desk: Desk, run: int, a_w: str) -> None:
    """Type the number of one run."""
    if not row_of(desk, run).count():
        desk.open("/second-keying/")
    field = row_of(desk, run).locator("[name=a_w]")
    field.fill(a_w)
    field.press("Enter")
    expect(row_of(desk, run)).to_have_attribute("data-saved", "")


def key_from_the_print_out(manager: Desk, plant: Plant, made: dict[str, list[int]]) -> None:
    """The first keying is nowhere on the page; where the two differ, lot and deviation say so at once."""
    manager.open("/second-keying/")
    shown = manager.page.locator("table[data-keyed]").inner_html()
    for lot, numbers in LOTS.items():
        assert lot in shown
        assert not [a_w for a_w in numbers if a_w in shown]
    for lot, (_, *runs) in made.items():
        for run, a_w in zip(runs, PRINTED[lot], strict=True):
            key(manager, run, a_w)
    for lot, (_, *runs) in made.items():
        differ = row_of(manager, runs[0])
        if lot == HELD:
            expect(differ).to_contain_text("the keyings differ")
            expect(differ).to_contain_text("First keying 0.618, second 0.681: the digits 1 and 8 are swapped")
            expect(differ).to_contain_text(f"Lot {HELD} is on hold")
        else:
            expect(differ).to_contain_text("both keyings agree")
    kind, run = plant.ask("SELECT kind, run_id FROM lots_deviation ORDER BY id DESC LIMIT 1")[0]
    assert (kind, run) == ("keyings differ", made[HELD][1])
    assert states(plant)[HELD] == "on hold"


def the_analyst_corrects(analyst: Desk, plant: Plant, run: int) -> int:
    """With the reason; both numbers stay to be seen. Returns the corrected run."""
    analyst.open(f"/runs/{run}/")
    expect(analyst.answer).to_have_text("Two people keyed different numbers")
    analyst.page.locator("#correct [name=a_w]").fill("0.681")
    analyst.press("Correct run")
    assert plant.ask("SELECT count(*) FROM bench_run WHERE corrects_id = ?", run) == [(0,)], "not without a reason"
    analyst.page.locator("#correct_reason").fill(SLIP)
    analyst.click("Correct run")
    expect(analyst.page.get_by_text(f"It corrects run {run} (0.618): {SLIP}")).to_be_visible()
    corrected = int(plant.one("SELECT id FROM bench_run WHERE corrects_id = ?", run))
    assert plant.one("SELECT a_w FROM bench_run WHERE id = ?", run) == "0.618"
    analyst.click(f"run {run}")
    expect(analyst.answer).to_have_text(f"Replaced by its correction, run {corrected}")
    expect(analyst.page.locator("main")).to_contain_text("0.618")
    return corrected


def the_held_lot(manager: Desk, plant: Plant, lot: int) -> None:
    """Judged again on the right number it is beyond the limit; both records are kept."""
    manager.open(f"/lots/{lot}/")
    expect(manager.page.locator("main")).to_contain_text("Earlier records")
    expect(manager.page.locator("main")).to_contain_text(SLIP)
    verdicts = [v for (v,) in plant.ask("SELECT verdict FROM lots_lotrecord WHERE lot_id = ? ORDER BY id", lot)]
    assert len(verdicts) == 2
    assert verdicts[-1] == "fail"


def sign(desk: Desk, plant: Plant, meaning: str, lots: list[str]) -> None:
    """Tick the lots of the list, give the password once."""
    desk.open(f"/sign/?meaning={meaning}")
    for lot in lots:
        desk.page.get_by_role("row", name=lot).get_by_role("checkbox").check()
    desk.fill(password=plant.password)
    desk.click(f"Sign ticked records as {meaning}")
    expect(desk.page.get_by_text(f"{len(lots)} records signed as {meaning}")).to_be_visible()


def no_door_for_the_held_lot(officer: Desk, plant: Plant, lot: int) -> None:
    """Neither its page, nor the list, nor a request made by hand releases it."""
    record = plant.one("SELECT record FROM lots_lotrecord WHERE lot_id = ? ORDER BY id DESC LIMIT 1", lot)
    officer.open(f"/lots/{lot}/")
    expect(officer.answer).to_contain_text("No")
    expect(officer.page.get_by_role("link", name="Release the lot")).to_have_count(0)
    officer.open("/sign/?meaning=released")
    expect(officer.page.get_by_role("row", name=HELD)).to_have_count(0)
    officer.open(f"/sign/?meaning=released&record={record}")
    expect(officer.page.get_by_role("checkbox")).to_have_count(0)
    before = plant.last_line
    answer = officer.post("/sign/", {"meaning": "released", "records": record, "password": plant.password})
    assert answer.status == 422
    assert f"Lot {HELD} is on hold: only a judged lot is released." in answer.text()
    assert "signature" not in plant.kinds(before)
    assert states(plant)[HELD] == "on hold"


def one_act_each(plant: Plant, lots: list[str]) -> None:
    """Four signatures, two acts: each covers both records and says so."""
    rows = plant.ask(SIGNATURES)
    bodies = [json.loads(body) for (body,) in rows]
    assert [(b["person"], b["meaning"], b["of"]) for b in bodies] == [
        *[("mfarrow", "reviewed", len(lots))] * len(lots),
        *[("dpell", "released", len(lots))] * len(lots),
    ]
    assert len({b["act"] for b in bodies}) == 2


def the_certificate(officer: Desk, lot: int) -> None:
    """From the lot's page; the worker makes it, and it names both signers."""
    officer.open(f"/lots/{lot}/")
    officer.click("Print the certificate")
    officer.click("Make certificate")
    expect(officer.answer).to_have_text("Ready")
    place = officer.page.get_by_role("link", name="Open the file").get_attribute("href")
    answer = officer.context.request.get(officer.address + str(place))
    assert answer.headers["content-type"] == "application/pdf"
    with pymupdf.open(stream=answer.body(), filetype="pdf") as paper:
        text = "\n".join(page.get_text() for page in paper)
    assert "SB-LIST-1" in text
    assert "Mira Farrow-Quist" in text
    assert "Dele Pellingford" in text


def states(plant: Plant) -> dict[str, str]:
    """What the lots of this story are."""
    return dict(plant.ask("SELECT code, state FROM bench_lot WHERE code LIKE 'SB-LIST-%'"))
