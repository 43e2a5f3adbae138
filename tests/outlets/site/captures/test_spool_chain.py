"""A spool that was copied or put back counts on from the same numbers: its digests tell it from the spool itself."""

from __future__ import annotations

import hashlib
import json
import shutil
import sqlite3
import threading
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from tests.outlets.capture.conftest import Hands
from tests.outlets.site.bench.shift import NOW
from tests.outlets.site.captures.bench_agent import BenchAgent, iso, make_captures

from isohume.bench.record.entry_chain import chain_after, chain_begun
from isohume.outlets.capture.delivery import Delivery
from isohume.outlets.capture.entry import Entry
from isohume.outlets.capture.spool import Outgoing, Spool
from isohume.outlets.capture.status import read_status
from isohume.outlets.capture.wire import Answer
from isohume.outlets.site.captures import models
from isohume.outlets.site.captures.kept import samples_of
from isohume.outlets.site.captures.models import CapturedRun


@pytest.fixture
def agent(site_db: Path) -> BenchAgent:
    return make_captures()[1]


class Line:
    """The agent's line to the site of the tests; what it sent is kept."""

    site = "the site of the tests"

    def __init__(self, agent: BenchAgent) -> None:
        self.agent, self.sent = agent, list[dict[str, Any]]()

    def post(self, token: str, body: dict[str, Any], key: str) -> Answer:
        self.sent.append(body)
        sent = json.loads(json.dumps(body))
        self.agent.spool = sent.pop("spool")
        del sent["now"]  # the tests' clock tells it
        found = self.agent.post(sent.pop("entries"), server=NOW + timedelta(hours=1), **sent)
        return Answer(found.status_code, found.json())

    def close(self) -> None:
        """Nothing is open."""


class Bench:
    """A bench computer: a spool and its delivery."""

    def __init__(self, folder: Path, agent: BenchAgent) -> None:
        self.folder, self.line, self.said = folder, Line(agent), list[str]()
        folder.mkdir(exist_ok=True)
        self.token = folder.parent / "token"
        self.token.write_text("a-token-of-the-tests-0123", encoding="ascii")
        self.token.chmod(0o600)

    def reads(self, key: str, values: list[str], *, ends: bool = True) -> None:
        """A run's entries to disk."""
        spool = Spool(self.folder)
        entries = [Entry("start", "OW-1", key, iso(NOW))]
        entries += [
            Entry("reading", "OW-1", key, iso(NOW), {"elapsed_s": f"{5 * i}.0", "a_w": a_w})
            for i, a_w in enumerate(values)
        ]
        spool.commit([*entries, *([Entry("end", "OW-1", key, iso(NOW), {}, "end line")] if ends else [])], {}, {})
        spool.close()

    def delivers(self) -> None:
        """Until all is delivered, or nothing more is sent."""
        one = Delivery(self.folder, self.line, self.token, Hands(), self.said.append)  # type: ignore[arg-type]
        stop = threading.Event()
        timer = threading.Timer(5.0, stop.set)
        timer.start()
        one.run(stop, lambda: True)
        timer.cancel()

    def copied(self, folder: Path) -> Bench:
        """The same disk once more."""
        shutil.copytree(self.folder, folder)
        return Bench(folder, self.line.agent)


def readings() -> dict[str, list[str]]:
    return {run.key: [str(one.a_w) for one in samples_of(run)] for run in CapturedRun.objects.order_by("pk")}


def test_the_digest_is_sha256_over_the_one_before_and_the_entry() -> None:
    begun = hashlib.sha256(b"0123:0").hexdigest()
    assert chain_begun("0123", 0) == begun
    text = '{"a_w":"0.65\\u00e9","n":1}'
    assert chain_after(begun, {"n": 1, "a_w": "0.65é"}) == hashlib.sha256(f"{begun}{text}".encode()).hexdigest()


def test_a_cloned_disk_is_told_and_nothing_of_it_is_taken(tmp_path: Path, agent: BenchAgent) -> None:
    one = Bench(tmp_path / "one", agent)
    one.reads("run-000001", ["0.5"])
    one.delivers()
    other = one.copied(tmp_path / "other")
    one.reads("run-000002", ["0.61", "0.62"])
    one.delivers()
    other.reads("run-000002", ["0.71", "0.72", "0.73", "0.74", "0.75"])
    other.delivers()
    assert readings() == {"run-000001": ["0.5"], "run-000002": ["0.61", "0.62"]}
    assert "another spool under this name" in other.said[-1]
    assert read_status(other.folder).refused == other.said[-1]
    assert read_status(other.folder).waiting == 7  # everything stays
    sent = len(other.line.sent)
    assert sent == 1
    one.reads("run-000003", ["0.63"])  # the spool itself goes on
    one.delivers()
    assert readings()["run-000003"] == ["0.63"]


def test_a_spool_put_back_gives_its_trace_to_no_other_cup(tmp_path: Path, agent: BenchAgent) -> None:
    """Three entries were delivered; the spool is put back, and another sample is read under the same numbers."""
    one = Bench(tmp_path / "one", agent)
    one.reads("run-000001", ["0.5"])
    one.delivers()
    put_back = one.copied(tmp_path / "back")
    one.reads("run-000002", ["0.61", "0.62"], ends=False)
    one.delivers()
    put_back.reads("run-000002", ["0.70"], ends=False)  # fewer than the site holds: the agent's own word
    put_back.delivers()
    assert "put back from an older copy" in put_back.said[-1]
    put_back.reads("run-000003", ["0.70", "0.71"])
    put_back.delivers()
    assert "another spool under this name" in put_back.said[-1]
    assert readings() == {"run-000001": ["0.5"], "run-000002": ["0.61", "0.62"]}


def test_entries_that_all_lie_behind_are_told_by_the_agent_itself(tmp_path: Path, agent: BenchAgent) -> None:
    """The site has only the digest at its last entry, and says it; the agent holds it against its own."""
    one = Bench(tmp_path / "one", agent)
    one.reads("run-000001", ["0.5"])
    other = one.copied(tmp_path / "other")
    one.reads("run-000002", ["0.61"] * 3)
    one.delivers()
    other.reads("run-000002", ["0.71"] * 9)
    out = Outgoing(other.folder)
    few = out.after(0, 4, 10**6)
    one_delivery = Delivery(other.folder, other.line, other.token, Hands(), other.said.append)  # type: ignore[arg-type]
    answer = one_delivery._send(out, few, 0)
    assert (answer.status, answer.last) == (200, 8)
    assert one_delivery._taken(out, answer, few, out.marks()[0]) is None
    assert out.marks()[1] == 0  # nothing is said to be delivered
    assert "another spool under this name" in read_status(other.folder).refused
    out.close()


def test_the_same_entries_sent_again_are_no_other_spool(tmp_path: Path, agent: BenchAgent) -> None:
    one = Bench(tmp_path / "one", agent)
    one.reads("run-000001", ["0.5", "0.6"])
    one.delivers()
    for acknowledged in (0, 2, 3):
        db = sqlite3.connect(one.folder / "spool.sqlite3", isolation_level=None)
        db.execute("UPDATE mark SET acknowledged = ?", (acknowledged,))
        db.close()
        one.reads(f"run-00001{acknowledged}", ["0.5"])
        one.delivers()
        assert one.said[-1] == "delivers"
    assert list(readings()) == ["run-000001", "run-000010", "run-000012", "run-000013"]


def test_a_changed_entry_under_the_same_numbers_is_refused(tmp_path: Path, agent: BenchAgent) -> None:
    one = Bench(tmp_path / "one", agent)
    one.reads("run-000001", ["0.5", "0.6"])
    one.delivers()
    body = json.loads(json.dumps(one.line.sent[0]))
    assert one.line.post("", body, "").status == 200
    body["entries"][1]["a_w"] = "0.9"
    assert one.line.post("", body, "").content["field"] == "chain_after"  # not what the agent wrote down
    digest = body["chain_before"]
    for entry in body["entries"]:
        digest = chain_after(digest, entry)
    body["chain_after"] = digest
    answer = one.line.post("", body, "")
    assert (answer.status, answer.another_spool, answer.last) == (409, True, None)
    del body["chain_before"], body["chain_after"]
    assert one.line.post("", body, "").another_spool  # nor as an older agent's
    assert readings() == {"run-000001": ["0.5", "0.6"]}


def test_a_spool_of_an_older_agent_goes_on_and_has_its_digests_from_then(tmp_path: Path, agent: BenchAgent) -> None:
    one = Bench(tmp_path / "one", agent)
    one.reads("run-000001", ["0.5"])
    one.reads("run-000002", ["0.6", "0.7"])
    db = sqlite3.connect(one.folder / "spool.sqlite3", isolation_level=None)
    rows = db.execute("SELECT n, body FROM entry ORDER BY n").fetchall()
    for column in ("mark DROP COLUMN chain", "entry DROP COLUMN before"):
        db.execute(f"ALTER TABLE {column}")
    db.execute("UPDATE mark SET format = '1', acknowledged = 4")
    key = db.execute("SELECT spool FROM mark").fetchone()[0]
    db.close()
    old = [{"n": n, **json.loads(body)} for n, body in rows]
    older = {"spool": key, "now": iso(NOW), "waiting": 0}
    assert one.line.post("", {**older, "entries": old[:5]}, "").status == 200  # the answer to the fifth was lost
    assert models.Spool.objects.get().chain == ""
    Spool(one.folder).close()
    one.delivers()
    one.reads("run-000003", ["0.8"])
    one.delivers()
    assert readings() == {"run-000001": ["0.5"], "run-000002": ["0.6", "0.7"], "run-000003": ["0.8"]}
    assert models.Spool.objects.get().chain == Spool(one.folder)._chain
    models.Spool.objects.update(last=2, chain="")  # a site put back to a day before the digests
    out = Outgoing(one.folder)
    assert [len(out.after(n, 2000, 10**6)) for n in (2, 4)] == [2, len(rows) - 4 + 3]  # those without, then those with
    out.close()


@pytest.mark.parametrize("field", ["chain_before", "chain_after"])
def test_no_digest(agent: BenchAgent, field: str) -> None:
    answer = agent.post([agent.entry("state")], **{"chain_before": "a" * 64, "chain_after": "b" * 64, field: "x"})
    assert (answer.status_code, answer.json()["field"]) == (422, field)
