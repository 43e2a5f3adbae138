"""The live process's application, called as a server calls it; who is signed in is decided by the test."""

from __future__ import annotations

import asyncio
import sqlite3
from collections.abc import Iterator
from contextlib import closing, suppress
from pathlib import Path

import pytest
from tests.outlets.site.live.streams import COOKIE, play, running

from isohume.bench.record.store import Store, open_store
from isohume.outlets.site.live import asgi
from isohume.outlets.site.live.asgi import Live

OWN = "http://127.0.0.1:8765"


class Plant:
    """A data folder with a ledger, and who is signed in."""

    def __init__(self, folder: Path, store: Store) -> None:
        self.folder, self.store = folder, store
        self.sessions = {"of-ada": 1}

    def app(self, **more: str) -> Live:
        """The application on this folder."""
        environment = {"ISOHUME_DATA": str(self.folder), "ISOHUME_ADDRESS": "127.0.0.1:8765", **more}
        return Live(environment, lambda _, key: self.sessions.get(key))

    def append(self, *refs: str) -> None:
        """Ledger lines."""
        for ref in refs:
            self.store.append("reading", ref, b'{"a_w":"0.6310"}')


@pytest.fixture
def plant(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Plant]:
    """A plant with three ledger lines; the feed looks often, so that tests are short."""
    monkeypatch.setattr("isohume.outlets.site.live.feed.LOOK_EVERY_S", 0.02)
    with open_store(tmp_path) as store:
        plant = Plant(tmp_path, store)
        plant.append("portion:1", "portion:2", "portion:3")
        yield plant


def test_a_stream_tells_what_was_missed_then_what_is_new(plant: Plant) -> None:
    async def story() -> None:
        async with running(plant.app()) as ask:
            answer, _ = ask("/live/ledger?after=1", COOKIE)
            await answer.until(lambda a: len(a.events) == 2)
            assert answer.status == 200
            assert answer.headers["content-type"].startswith("text/event-stream")
            plant.append("portion:4", "portion:5")
            await answer.until(lambda a: len(a.events) == 4)
            assert [event["seq"] for event in answer.events] == [2, 3, 4, 5]
            assert set(answer.events[-1]) == {"seq", "kind"}, (
                "neither of what nor of whom: other plants' lines come too"
            )
            assert not answer.complete

    play(story)


def test_without_a_place_a_stream_tells_only_what_is_new(plant: Plant) -> None:
    async def story() -> None:
        async with running(plant.app()) as ask:
            answer, _ = ask("/live/ledger", COOKIE)
            await answer.until(lambda a: a.status)
            plant.append("portion:4")
            await answer.until(lambda a: a.events)
            assert [event["seq"] for event in answer.events] == [4]

    play(story)


def test_a_broken_stream_goes_on_where_it_stopped(plant: Plant) -> None:
    """The browser sends the last id it saw; it wins over the address, which is older."""

    async def story() -> None:
        async with running(plant.app()) as ask:
            answer, _ = ask("/live/ledger?after=0", {**COOKIE, "last-event-id": "2"})
            await answer.until(lambda a: a.events)
            assert [event["seq"] for event in answer.events] == [3]

    play(story)


def test_every_line_once_however_many_there_are(plant: Plant) -> None:
    with plant.store.transaction() as transaction:
        transaction.append_many([("reading", f"portion:{n}", b"{}") for n in range(1700)])

    async def story() -> None:
        async with running(plant.app()) as ask:
            answers = [ask("/live/ledger?after=0", COOKIE)[0] for _ in range(3)]
            with plant.store.transaction() as transaction:
                transaction.append_many([("reading", f"portion:{n}", b"{}") for n in range(1700)])
            for answer in answers:
                await answer.until(lambda a: a.body.count(b"data: ") >= 3403)
                assert [event["seq"] for event in answer.events] == list(range(1, 3404))

    play(story)


@pytest.mark.parametrize("headers", [{}, {"cookie": "theme=dark"}, {"cookie": "sessionid=of-eve"}, {"cookie": "=;=;"}])
def test_who_is_not_signed_in_gets_nothing(plant: Plant, headers: dict[str, str]) -> None:
    async def story() -> None:
        async with running(plant.app()) as ask:
            answer, _ = ask("/live/ledger?after=0", headers)
            await answer.until(lambda a: a.complete)
            assert answer.status == 401
            assert b"portion" not in answer.body

    play(story)


def test_signing_out_ends_the_stream(plant: Plant, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(asgi, "HEARTBEAT_S", 0.05)

    async def story() -> None:
        async with running(plant.app()) as ask:
            answer, _ = ask("/live/ledger?after=0", COOKIE)
            await answer.until(lambda a: b": still here" in a.body)
            plant.sessions.clear()
            await answer.until(lambda a: a.complete)

    play(story)


def test_signing_out_ends_a_busy_stream_too(plant: Plant, monkeypatch: pytest.MonkeyPatch) -> None:
    """Lines come faster than heartbeats: the session is asked about all the same."""
    monkeypatch.setattr(asgi, "HEARTBEAT_S", 0.2)

    async def story() -> None:
        async with running(plant.app()) as ask:
            answer, _ = ask("/live/ledger", COOKIE)
            await answer.until(lambda a: a.status)
            plant.sessions.clear()
            while not answer.complete:
                plant.append("portion:9")
                await asyncio.sleep(0.02)

    play(story)


def test_another_sites_page_is_refused_and_our_own_is_answered(plant: Plant) -> None:
    async def story() -> None:
        async with running(plant.app(ISOHUME_HOSTS="bench.example")) as ask:
            for origin in ("http://evil.example", "http://127.0.0.1:9999", "https://127.0.0.1:8765", "null"):
                answer, _ = ask("/live/ledger?after=0", {**COOKIE, "origin": origin})
                await answer.until(lambda a: a.complete)
                assert answer.status == 403, origin
                assert "access-control-allow-origin" not in answer.headers
            for origin in (OWN, "http://localhost:8765", "http://bench.example:8765"):
                answer, _ = ask("/live/ledger?after=0", {**COOKIE, "origin": origin})
                await answer.until(lambda a: a.events)
                assert answer.headers["access-control-allow-origin"] == origin
                assert answer.headers["access-control-allow-credentials"] == "true"

    play(story)


@pytest.mark.parametrize(
    ("path", "method", "status"),
    [
        ("/live/ledger?after=-1", "GET", 400),
        ("/live/ledger?after=one", "GET", 400),
        ("/live/ledger?after=9999999999999999999", "GET", 400),
        ("/live/ledger?after=0", "POST", 405),
        ("/live/other", "GET", 404),
        ("/", "GET", 404),
    ],
)
def test_what_is_not_asked_right(plant: Plant, path: str, method: str, status: int) -> None:
    async def story() -> None:
        async with running(plant.app()) as ask:
            answer, _ = ask(path, COOKIE, method)
            await answer.until(lambda a: a.complete)
            assert answer.status == status

    play(story)


def test_health_says_whether_the_database_can_be_read(plant: Plant, tmp_path: Path) -> None:
    async def story(app: Live, status: int) -> None:
        async with running(app) as ask:
            answer, _ = ask("/live/health")
            await answer.until(lambda a: a.complete)
            assert answer.status == status

    play(lambda: story(plant.app(), 200))
    nothing = tmp_path / "nothing"
    nothing.mkdir()
    play(lambda: story(plant.app(ISOHUME_DATA=str(nothing)), 503))
    assert not list(nothing.iterdir()), "looking made no database"


def test_a_reader_that_goes_away_leaves_nothing_behind(plant: Plant) -> None:
    async def story() -> None:
        app = plant.app()
        async with running(app) as ask:
            answer, gone = ask("/live/ledger?after=0", COOKIE)
            await answer.until(lambda a: a.events)
            assert len(app.followers) == 1
            gone.set()
            await answer.until(lambda a: not app.followers)

    play(story)


def test_the_live_database_cannot_be_written(plant: Plant) -> None:
    from isohume.outlets.site.live.database import opened

    with closing(opened(plant.folder / "isohume.sqlite3")) as connection:
        for sql in ("INSERT INTO ledger VALUES (9,'','','','','','')", "CREATE TABLE x (y)", "PRAGMA user_version = 3"):
            with pytest.raises(sqlite3.OperationalError, match=r"readonly|read-only"):
                connection.execute(sql)
            with suppress(sqlite3.OperationalError):
                connection.execute("PRAGMA query_only = OFF")
