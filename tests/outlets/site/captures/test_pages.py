"""The pages of agents, captured runs, checks from them, and the accounting: the answer first, then the acts."""

from __future__ import annotations

import re
from datetime import timedelta
from pathlib import Path

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from tests.outlets.site import make
from tests.outlets.site.bench.shift import NOW, Shift, words
from tests.outlets.site.captures.bench_agent import BenchAgent, approach, make_captures

from isohume.outlets.site.bench.actions.import_runs import ImportRuns
from isohume.outlets.site.bench.models import Run
from isohume.outlets.site.captures.accounted import Accounted
from isohume.outlets.site.captures.accounting import Span, accounts_of
from isohume.outlets.site.captures.actions.expect_run import ExpectRun
from isohume.outlets.site.captures.actions.void_captured import VoidCaptured
from isohume.outlets.site.captures.models import Agent, CapturedRun, Expected
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.ledger.actions import perform
from isohume.outlets.site.people.models import Person
from isohume.outlets.site.register.models import Bottle

BACKEND = "django.contrib.auth.backends.ModelBackend"
SETTLES = approach(0.6321, 0.4000, tau_s=40.0, until=480)
WARM = {"sample_temperature_c": "25.0", "block_temperature_c": "25.0"}
DAY = "2026-09-16"


@pytest.fixture
def both(site_db: Path) -> tuple[Shift, BenchAgent]:
    return make_captures()


def rows_of(shift: Shift) -> tuple[Accounted, ...]:
    (found,) = accounts_of([shift.bench.instrument], Span(NOW.date(), NOW.date()))
    return found.rows


def browser(person: Person) -> Client:
    client = Client()
    client.force_login(person, BACKEND)
    return client


def captured(shift: Shift, agent: BenchAgent, key: str = "r1", minutes: float = 0, **more: str) -> CapturedRun:
    perform(ExpectRun(shift.bench.instrument, shift.portion()), shift.by(minutes=minutes - 1))
    return agent.brings(key, SETTLES, NOW + timedelta(minutes=minutes), **{**WARM, **more})


def test_a_token_is_shown_once(both: tuple[Shift, BenchAgent]) -> None:
    shift, _ = both
    client = browser(shift.bench.manager)
    shown = client.post(reverse("agents"), {"called": "Bench 2"})
    (token,) = re.findall(r"<code>([\w-]{43})</code>", shown.content.decode())
    assert "shown only now" in words(shown)
    listed = client.get(reverse("agents"))
    assert token not in listed.content.decode()
    assert "Bench 2" in words(listed)
    answer = Client().get(f"{reverse('captured_last')}?spool={'a' * 32}", headers={"Authorization": f"Bearer {token}"})
    assert answer.json() == {"last": 0}
    assert browser(shift.analyst).post(reverse("agents"), {"called": "Bench 3"}).status_code == 422
    assert not Agent.objects.filter(name="Bench 3").exists()


def test_an_agent_that_is_silent_behind_or_wrong_in_time_says_so(both: tuple[Shift, BenchAgent]) -> None:
    shift, agent = both
    client = browser(shift.bench.manager)
    assert "Never heard" in words(client.get(agent.agent.get_absolute_url()))
    agent.post([agent.entry("state", run="", state="warm")], now=NOW, server=NOW + timedelta(minutes=7), waiting=41)
    said = words(client.get(reverse("agents")))
    assert "silent" in said
    assert "41 lines wait at the bench computer" in said
    assert "Its clock is 7 min behind the server's" in said
    client.post(reverse("agent_revoke", args=[agent.agent.pk]), {"reason": "Computer replaced"})
    assert "Its token was revoked" in words(client.get(agent.agent.get_absolute_url()))


def test_the_page_of_a_run_says_what_it_is_and_accepts_it(both: tuple[Shift, BenchAgent]) -> None:
    shift, agent = both
    run = captured(shift, agent, number="0042")
    client = browser(shift.analyst)
    said = words(client.get(run.get_absolute_url()))
    assert "Settled; it waits for a person" in said
    assert "It met the criterion (change of at most 0.0005 in 60 s)" in said
    assert "a second person voids it" in said
    answer = client.post(reverse("capturedrun_act", args=[run.pk, "accept"]), {})
    made = Run.objects.get()
    assert answer.headers["Location"] == made.get_absolute_url()
    assert "it is kept" not in said
    assert "nobody typed its number" in words(client.get(made.get_absolute_url()))
    assert f"Accepted as run {made.pk}, settled" in words(client.get(run.get_absolute_url()))


def test_an_estimate_is_called_one_wherever_its_number_stands(both: tuple[Shift, BenchAgent]) -> None:
    shift, agent = both
    portion = shift.portion()
    perform(ExpectRun(shift.bench.instrument, portion), shift.by(minutes=-1))
    run = agent.brings("r1", approach(0.6321, 0.4000, tau_s=180.0, until=240), **WARM)
    client = browser(shift.analyst)
    assert "non-equilibrium estimate" in words(client.get(run.get_absolute_url()))
    client.post(reverse("capturedrun_act", args=[run.pk, "accept"]), {})
    for address in (Run.objects.get().get_absolute_url(), portion.get_absolute_url(), run.get_absolute_url()):
        shown = words(client.get(address))
        assert "estimate" in shown, address
    assert "non-equilibrium estimate u 0.0" in words(client.get(portion.get_absolute_url()))


def test_void_and_assign_on_the_page(both: tuple[Shift, BenchAgent]) -> None:
    shift, agent = both
    orphan, cup = agent.brings("r1", SETTLES, **WARM), shift.portion()
    client, manager = browser(shift.analyst), browser(shift.bench.manager)
    assert "nobody has said whose it is" in words(client.get(orphan.get_absolute_url()))
    act = reverse("capturedrun_act", args=[orphan.pk, "assign"])
    assert "the code of a cup or a bottle" in words(client.post(act, {"of": "iso:p:999999", "reason": "seen"}))
    assert client.post(act, {"of": cup.scan_code, "reason": "It stood in the chamber"}).status_code == 302
    void = reverse("capturedrun_act", args=[orphan.pk, "void"])
    assert client.post(void, {"cause": "leak"}).status_code == 422
    assert manager.post(void, {"cause": "leak", "reason": "Seal torn"}).status_code == 302
    assert "Void: lid or rim let the room in" in words(client.get(orphan.get_absolute_url()))


def test_the_files_hold_every_reading(both: tuple[Shift, BenchAgent]) -> None:
    shift, agent = both
    run = captured(shift, agent)
    client = browser(shift.analyst)
    csv = client.get(reverse("captured_export", args=[run.pk, "csv"])).content.decode().splitlines()
    assert csv[1] == "0.0,0.4000,25.0,25.0,,"
    assert len(csv) == len(SETTLES) + 1
    parquet = client.get(reverse("captured_export", args=[run.pk, "parquet"]))
    assert parquet.content[:4] == parquet.content[-4:] == b"PAR1"


def test_another_plant_s_run_is_not_found(both: tuple[Shift, BenchAgent]) -> None:
    shift, agent = both
    run = captured(shift, agent)
    stranger = browser(make.make_person(make.make_site("elsewhere"), "manager"))
    file = reverse("captured_export", args=[run.pk, "csv"])
    for address in (run.get_absolute_url(), agent.agent.get_absolute_url(), file):
        assert stranger.get(address).status_code == 404


def test_a_check_from_captured_runs_on_its_page(both: tuple[Shift, BenchAgent]) -> None:
    shift, agent = both
    bottle = Bottle.objects.select_related("solution_lot").get(solution_lot__solution="NaCl")
    perform(ExpectRun(shift.bench.instrument, bottle=bottle), shift.by(minutes=29))
    run = agent.brings("b1", approach(0.7528, 0.45, 40.0, 480), NOW + timedelta(minutes=30))
    client = browser(shift.analyst)
    page = f"{reverse('captured_check')}?instrument={shift.bench.instrument.pk}"
    assert "settled" in words(client.get(page))
    given = {"instrument": "OW-1", "method_version": shift.bench.method.pk, "kind": "closing", "runs": [run.pk]}
    assert "the instrument gave none" in words(client.post(reverse("captured_check"), given))
    answer = client.post(reverse("captured_check"), {**given, f"temperature_c_of_{run.pk}": "25.0"})
    assert answer.status_code == 302, words(answer)
    assert Check.objects.latest("pk").readings.get().bottle == bottle


def test_every_run_in_order_with_what_came_of_it(both: tuple[Shift, BenchAgent]) -> None:
    """F29: 0042 accepted, 0043 to 0045 never came, 0046 an orphan; a typed and an imported run among them."""
    shift, agent = both
    captured(shift, agent, number="0042")
    client = browser(shift.analyst)
    run = CapturedRun.objects.get()
    client.post(reverse("capturedrun_act", args=[run.pk, "accept"]), {})
    agent.brings("r2", SETTLES, NOW + timedelta(minutes=20), number="0046", **WARM)
    other = shift.portion(shift.sample(shift.lot("SB-0916-04")))
    shift.run(other, "0.640", at=NOW + timedelta(minutes=45), instrument_number="0047")
    rows = rows_of(shift)
    told = [(row.word, row.number) for row in rows if row.at >= NOW]
    assert told == [("counts", "0042"), ("never came", ""), ("nobody has said whose", "0046"), ("counts", "0047")]
    said = words(client.get(f"{reverse('accounting')}?from={DAY}&to={DAY}"))
    assert "3 numbers never came, 1 run waits for an answer" in said
    assert "0043 to 0045 never came" in said
    assert "Typed by" in said
    assert "A reading of check" in said  # the morning's, typed


def test_a_second_run_of_a_cup_and_a_void_one_are_said(both: tuple[Shift, BenchAgent]) -> None:
    shift, agent = both
    portion = shift.portion()
    for n, key in enumerate(("r1", "r2")):
        perform(ExpectRun(shift.bench.instrument, portion), shift.by(minutes=20 * n - 1))
        agent.brings(key, SETTLES, NOW + timedelta(minutes=20 * n), **WARM)
        if n == 0:
            perform(VoidCaptured(CapturedRun.objects.get(), "condensation"), shift.by(shift.bench.manager, 10))
    rows = [row for row in rows_of(shift) if row.at >= NOW]
    assert [row.word for row in rows] == ["void", "waits for a person"]
    assert rows[1].words.startswith("Second run of this cup in the span.")
    assert rows[0].words == "Water condensed in cup or chamber, Manager."


def test_numbers_of_an_import_are_known(both: tuple[Shift, BenchAgent]) -> None:
    """Row 16: delete row 3 of an import, and the gap is said."""
    shift, _ = both
    shift.sample(portions=4)
    lines = ["lot,sample,portion,a_w,read_at,sample_temperature_c,block_temperature_c,run,instrument"]
    rows = [f"SB-0916-03,1,{cup},0.63{n},2026-09-16T09:4{n},25.0,25.0,20{n},OW-1" for n, cup in enumerate("ABCD", 1)]
    del rows[2]
    perform(ImportRuns(shift.bench.site, "ow1.csv", "\n".join([*lines, *rows, ""]).encode()), shift.by())
    found = rows_of(shift)
    assert [row.words for row in found if row.word == "never came"] == ["203 never came"]
    assert any("Imported from ow1.csv." in row.words for row in found)


def test_carry_over_is_seen_in_the_sequence(both: tuple[Shift, BenchAgent]) -> None:
    """Job 8 C: cloves at 0.57, then MgCl2 reads 0.341 (+0.013), then 0.329: the first one only is flagged."""
    shift, agent = both
    bottle = make.make_bottle(shift.bench.site, "MgCl2")
    instrument, client = shift.bench.instrument, browser(shift.analyst)
    agent.brings("r1", approach(0.570, 0.45, 40.0, 480), NOW, number="0101", **WARM)
    runs = []
    for n, end in enumerate((0.3408, 0.3290)):
        minutes = 10 + 10 * n
        perform(ExpectRun(instrument, bottle=bottle), shift.by(minutes=minutes - 1))
        at = NOW + timedelta(minutes=minutes)
        runs.append(agent.brings(f"b{n}", approach(end, 0.45, 40.0, 480), at, number=f"010{n + 2}", **WARM))
    first, second = (words(client.get(run.get_absolute_url())) for run in runs)
    assert "carry-over" in first
    assert "towards Number 0101 (0.5700) before it" in first
    assert "carry-over" not in second


def test_more_instruments_ask_no_more_questions(both: tuple[Shift, BenchAgent]) -> None:
    shift, agent = both
    agent.brings("r1", SETTLES, number="0042", **WARM)
    one = shift.bench.instrument
    others = [make.make_instrument(one.site, f"OW-{n}") for n in range(3, 9)]
    span, counts = Span(NOW.date(), NOW.date()), []
    for instruments in ([one], [one, *others]):
        with CaptureQueriesContext(connection) as asked:
            accounts_of(instruments, span)
        counts.append(len(asked))
    assert counts[0] == counts[1]


def test_too_many_runs_are_not_shown_by_half(both: tuple[Shift, BenchAgent], monkeypatch: pytest.MonkeyPatch) -> None:
    """A page that left some out would show gaps that are none."""
    shift, _ = both
    monkeypatch.setattr("isohume.outlets.site.captures.accounting.MOST_ROWS", 1)
    said = words(browser(shift.analyst).get(f"{reverse('accounting')}?from={DAY}&to={DAY}"))
    assert "Not shown: more than 1 runs" in said


def test_days_that_are_none_stand_at_their_field(both: tuple[Shift, BenchAgent]) -> None:
    shift, _ = both
    client = browser(shift.analyst)
    for asked in ("from=yesterday&to=", f"from={DAY}&to=2026-09-01", "from=2020-01-01&to=2026-09-16"):
        answer = client.get(f"{reverse('accounting')}?{asked}")
        assert "allowed:" in words(answer)
        assert "No days to look at" in words(answer)


def test_what_was_said_to_be_next_is_taken_back(
    both: tuple[Shift, BenchAgent], monkeypatch: pytest.MonkeyPatch
) -> None:
    shift, _ = both
    expected = perform(ExpectRun(shift.bench.instrument, shift.portion()), shift.by())
    monkeypatch.setattr("django.utils.timezone.now", lambda: NOW + timedelta(minutes=1))
    client = browser(shift.analyst)
    assert f"next cup {expected.portion} on OW-1" in words(client.get(reverse("accounting"))).replace("Said to be ", "")
    assert "Take back cup" in words(client.get(expected.get_absolute_url()))
    assert client.post(reverse("expected_drop", args=[expected.pk])).status_code == 302
    assert Expected.objects.get().dropped_at == NOW + timedelta(minutes=1)
    assert client.post(reverse("expected_drop", args=[expected.pk])).status_code == 422
