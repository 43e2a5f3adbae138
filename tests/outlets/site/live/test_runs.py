"""The stream of captured runs: what grows is told once for all who look, and only to the own plant."""

from __future__ import annotations

import asyncio
import json
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from tests.outlets.site import make
from tests.outlets.site.bench.shift import Shift, make_shift
from tests.outlets.site.live.capturing import Bench, make_capture, samples
from tests.outlets.site.live.streams import COOKIE, Answer, play, running

from isohume.bench.reading.settling import prepare_forecast
from isohume.outlets.site.captures.models import CapturedRun, Expected, InstrumentState
from isohume.outlets.site.live import asgi, run_board, run_feed
from isohume.outlets.site.live.asgi import Live
from isohume.outlets.site.people.roles import Role
from isohume.outlets.site.register.models import MethodVersion

EVE = {"cookie": "sessionid=of-eve"}


class Watching:
    """A plant with a bench computer, a second plant, and whose session is whose."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.shift: Shift = make_shift()
        self.instrument = self.shift.bench.instrument
        self.bench: Bench = make_capture(self.shift.analyst)
        other = make.make_site("quiet-mill", name="Quiet Mill")
        self.other_person = make.make_person(other, Role.ANALYST, username="eve")
        self.sessions = {"of-ada": self.instrument.site_id, "of-eve": other.pk}

    def app(self) -> Live:
        """The application on this plant."""
        environment = {"ISOHUME_DATA": str(self.folder), "ISOHUME_ADDRESS": "127.0.0.1:8765"}
        return Live(environment, lambda _, key: self.sessions.get(key))


@pytest.fixture
def here(site_db: Path, monkeypatch: pytest.MonkeyPatch) -> Watching:
    """Looked at often, so that tests are short; the kernels are compiled before."""
    monkeypatch.setenv("DJANGO_ALLOW_ASYNC_UNSAFE", "true")  # the test writes while the application looks
    monkeypatch.setattr(run_feed, "LOOK_EVERY_S", 0.05)
    prepare_forecast()
    return Watching(site_db)


def told(answer: Answer) -> dict[str, Any]:
    """The last run that was told, with what every event before said of it."""
    found: dict[str, Any] = {}
    for event in answer.events:
        for run in event["runs"]:
            points = [] if event["whole"] else found.get("points", [])
            found = {**run, "points": [*points, *run["points"]]}
    return found


def test_a_run_is_told_as_it_grows_and_settles(here: Watching) -> None:
    async def story() -> None:
        run = here.bench.start(here.instrument)
        here.bench.read(run, samples(last=20))
        async with running(here.app()) as ask:
            answer, _ = ask("/live/runs", COOKIE)
            await answer.until(lambda a: told(a).get("forecast"))
            assert answer.headers["content-type"].startswith("text/event-stream")
            first = told(answer)
            assert (first["n"], first["instrument"], first["settled"]) == (20, "OW-1", False)
            assert first["criterion"] == "change of at most 0.0005 in 60 s"
            for begin in range(20, 300, 40):
                here.bench.read(run, samples(first=begin, last=begin + 40))
                await answer.until(lambda a, n=begin + 40: told(a)["n"] == n)
            found = told(answer)
            assert found["settled"]
            assert found["diagnosis"] == "settled"
            assert [p[0] for p in found["points"]] == [float(t) for t in range(300)], "each reading is told once"
            assert found["forecast"][1] <= 0.64 <= found["forecast"][2]
            assert found["seconds_left"] is None
            here.bench.end(run)
            await answer.until(lambda a: told(a)["ended"])
            assert told(answer)["n"] == 300
            CapturedRun.objects.filter(pk=run.pk).update(fate="accepted")
            await answer.until(lambda a: a.events[-1]["all"] == [])

    play(story)


def test_another_plant_is_told_nothing_of_it(here: Watching) -> None:
    async def story() -> None:
        run = here.bench.start(here.instrument)
        async with running(here.app()) as ask:
            ours, _ = ask("/live/runs", COOKIE)
            theirs, _ = ask("/live/runs", EVE)
            await theirs.until(lambda a: a.events)
            here.bench.read(run, samples(last=20))
            await ours.until(lambda a: told(a).get("n") == 20)
            assert [event["all"] for event in theirs.events] == [[]]
            assert b"OW-1" not in theirs.body

    play(story)


@pytest.mark.parametrize("headers", [{}, {"cookie": "sessionid=of-nobody"}])
def test_who_is_not_signed_in_is_told_nothing(here: Watching, headers: dict[str, str]) -> None:
    async def story() -> None:
        async with running(here.app()) as ask:
            answer, _ = ask("/live/runs", headers)
            await answer.until(lambda a: a.complete)
            assert answer.status == 401

    play(story)


def test_signing_out_ends_it_and_moving_to_another_plant_too(here: Watching, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(asgi, "HEARTBEAT_S", 0.05)

    async def story() -> None:
        async with running(here.app()) as ask:
            answer, _ = ask("/live/runs", COOKIE)
            await answer.until(lambda a: b": still here" in a.body)
            here.sessions["of-ada"] = here.sessions["of-eve"]
            await answer.until(lambda a: a.complete)
            answer, _ = ask("/live/runs", EVE)
            await answer.until(lambda a: a.events)
            here.sessions.clear()
            await answer.until(lambda a: a.complete)

    play(story)


def test_who_comes_back_is_told_the_whole_also_after_a_restart(here: Watching) -> None:
    run = here.bench.start(here.instrument)
    here.bench.read(run, samples(last=250))
    here.bench.read(run, samples(first=250, last=900))

    async def seen() -> dict[str, Any]:
        async with running(here.app()) as ask:
            answer, gone = ask("/live/runs", COOKIE)
            await answer.until(lambda a: told(a).get("diagnosis"))
            gone.set()
            again, _ = ask("/live/runs", COOKIE)
            await again.until(lambda a: told(a).get("diagnosis"))
            assert again.events[0]["whole"]
            assert told(again) == told(answer)
            return told(again)

    async def story() -> None:
        first = await seen()
        here.bench.end(run)  # its pieces are gone: a new process reads the evidence
        second = await seen()
        assert first["n"] == second["n"] == 900
        assert len(first["points"]) <= 600
        assert first["points"][-1][0] == 899.0
        assert first["points"] == second["points"]
        assert (first["settled_at_s"], first["forecast"]) == (second["settled_at_s"], second["forecast"])

    play(story)


def test_many_who_look_cost_one_computation(here: Watching, monkeypatch: pytest.MonkeyPatch) -> None:
    computed: list[int] = []
    compute = run_board.RunBoard.compute
    monkeypatch.setattr(run_board.RunBoard, "compute", lambda self, s: (computed.append(1), compute(self, s))[1])

    async def story() -> None:
        run = here.bench.start(here.instrument)
        here.bench.read(run, samples(last=30))
        async with running(here.app()) as ask:
            answers = [ask("/live/runs", COOKIE)[0] for _ in range(100)]
            for answer in answers:
                await answer.until(lambda a: told(a).get("forecast"))
            computed.clear()
            here.bench.read(run, samples(first=30, last=31))
            for answer in answers:
                await answer.until(lambda a: told(a)["n"] == 31)
            assert len(computed) == 1
            before = [len(answer.body) for answer in answers]
            await asyncio.sleep(0.3)
            assert before == [len(answer.body) for answer in answers], "where nothing changed nothing is told"

    play(story)


def test_a_stream_works_before_the_forecast_is_ready(here: Watching, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(run_feed.Kernels, "prepare", lambda self: None)

    async def story() -> None:
        run = here.bench.start(here.instrument)
        here.bench.read(run, samples(last=30))
        app = here.app()
        async with running(app) as ask:
            answer, _ = ask("/live/runs", COOKIE)
            await answer.until(lambda a: told(a).get("n") == 30)
            assert told(answer)["forecast"] is None
            assert told(answer)["words"] == [
                "Forecast in preparation: it is compiled once for this version, some seconds."
            ]
            app.runs.kernels.ready = True
            await answer.until(lambda a: told(a)["forecast"])
            assert told(answer)["diagnosis"] == "still moving"

    play(story)


def test_cup_method_clock_and_what_comes_next_are_told(here: Watching) -> None:
    cup = here.shift.portion(here.shift.sample(portions=1))
    MethodVersion.objects.update(settled_change="0.002", settled_window_s="20", mismatch_limit_c="0.5")
    now = datetime.now(UTC)
    InstrumentState.objects.create(instrument=here.instrument, state="warming up", block_temperature_c="24.1", at=now)
    Expected.objects.create(instrument=here.instrument, portion=cup, at=now, by=here.shift.analyst)

    async def story() -> None:
        run = here.bench.start(here.instrument)
        here.bench.read(run, samples(last=60, warm_k=3.0))
        async with running(here.app()) as ask:
            answer, _ = ask("/live/runs", COOKIE)
            await answer.until(lambda a: told(a).get("forecast"))
            assert (told(answer)["difference_k"], told(answer)["limit_k"]) == (2.2, "0.5")
            assert told(answer)["criterion"] == "change of at most 0.002 in 20 s", "the plant has this method only"
            (state,) = answer.events[0]["states"]
            assert (state["state"], state["block_temperature_c"]) == ("warming up", "24.1")
            assert state["next"].endswith(f"/ {cup.code}")
            method = cup.sample.lot.product.method
            method.versions.create(version="4", since=run.started_at, settled_change="0.003", settled_window_s="30")
            make.make_method(method.site, "Another method")
            run.portion = cup
            run.save()
            await answer.until(lambda a: told(a)["of"])
            found = told(answer)
            assert found["criterion"] == "change of at most 0.003 in 30 s", "the method of its cup"
            assert found["of"] == f"{cup}, Soft oat bar"
            assert (found["clock"]["cover"], found["clock"]["limit_min"]) == ("lidded", 240)
            assert (found["difference_k"], found["limit_k"]) == (2.2, None)

    play(story)


def test_many_runs_that_were_missed_are_caught_up_with_little_by_little(
    here: Watching, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(run_feed, "COMPUTE_S", 0.0)

    async def story() -> None:
        for key in ("1", "2", "3"):
            here.bench.read(here.bench.start(here.instrument, key), samples(last=30))
        async with running(here.app()) as ask:
            answer, _ = ask("/live/runs", COOKIE)
            await answer.until(lambda a: a.events)
            assert len(answer.events[0]["runs"]) == 3, "all runs are told before they are computed"
            told_of: dict[int, Any] = {}
            while len(told_of) < 3:
                await asyncio.sleep(0.02)
                told_of |= {r["pk"]: r for e in answer.events for r in e["runs"] if r["forecast"]}

    play(story)


def test_words_on_deciding_early_come_where_the_method_lets_them(here: Watching) -> None:
    cup = here.shift.portion(here.shift.sample(portions=1))

    async def story() -> None:
        run = here.bench.start(here.instrument)
        run.portion = cup
        here.bench.read(run, samples("0.7500", last=100))
        async with running(here.app()) as ask:
            answer, _ = ask("/live/runs", COOKIE)
            await answer.until(lambda a: told(a).get("forecast"))
            assert told(answer)["early"] == ""
            assert told(answer)["limits"] == [[0.65, "≤ 0.650"]]
        MethodVersion.objects.update(early_verdicts=True)
        async with running(here.app()) as ask:
            answer, _ = ask("/live/runs", COOKIE)
            await answer.until(lambda a: told(a).get("forecast"))
            assert told(answer)["early"].startswith("Further waiting cannot change the verdict on this portion: fail.")

    play(story)


def test_a_reader_that_does_not_keep_up_is_let_go(here: Watching) -> None:
    follower = run_feed.RunFollower(1)
    for _ in range(run_feed.WAITING_EVENTS + 1):
        follower.put(b"x")
    assert follower.behind


def test_what_a_run_says_is_json_that_every_browser_reads(here: Watching) -> None:
    """No NaN and no infinity: a run that never settles has no seconds left."""

    async def story() -> None:
        run = here.bench.start(here.instrument)
        here.bench.read(run, samples(last=200, pace_s=90000.0))
        async with running(here.app()) as ask:
            answer, _ = ask("/live/runs", COOKIE)
            await answer.until(lambda a: told(a).get("forecast"))
            data = answer.body.decode().split("data: ", 1)[1].split("\n", 1)[0]
            json.loads(data, parse_constant=pytest.fail)

    play(story)
