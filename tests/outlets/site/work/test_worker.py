"""The worker: a job is claimed once, done or failed in words, and taken up again where a worker died."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.db import connection

from isohume.foundation.quantity.errors import InputError, UnknownNameError
from isohume.outlets.site.people.models import Person, Site
from isohume.outlets.site.work import handlers, queue, worker
from isohume.outlets.site.work.handlers import handler_of, handles
from isohume.outlets.site.work.models import Job

pytestmark = pytest.mark.usefixtures("site_db")


@pytest.fixture
def kind() -> Iterator[Callable[[Any], str]]:
    """`kind(handler)`: a kind of job that the test's own handler does."""
    made: list[str] = []

    def registered(handler: Any) -> str:
        made.append(f"of-the-test-{len(made)}")
        handles(made[-1])(handler)
        return made[-1]

    yield registered
    for name in made:
        del handlers.HANDLERS[name]


def queued(kind: str, **argument: Any) -> Job:
    """A queued job of the plant's only person."""
    plant, _ = Site.objects.get_or_create(key="harrow-lane", name="Harrow Lane Oat Works")
    ada, _ = Person.objects.get_or_create(site=plant, username="ada", printed_name="Ada")
    return Job.objects.create(site=plant, created_by=ada, kind=kind, argument=argument)


def seen(job: Job) -> Job:
    """The job as the database has it."""
    return Job.objects.get(pk=job.pk)


def test_a_job_is_done_and_its_result_lies_below_the_data_folder(kind: Any, site_db: Path) -> None:
    steps: list[tuple[str, int, str]] = []

    def handler(job: Job, report: Any) -> Path:
        report(40, "Setting the pages.")
        steps.append((seen(job).state, seen(job).progress, seen(job).message))
        made = site_db / "papers" / f"{job.argument['record']}.pdf"
        made.parent.mkdir(exist_ok=True)
        made.write_bytes(b"%PDF-")
        return made

    job = queued(kind(handler), record="R000007")
    assert worker.do_next()
    done = seen(job)
    assert steps == [("running", 40, "Setting the pages.")]
    assert (done.state, done.progress, done.result, done.attempts) == ("done", 100, "papers/R000007.pdf", 1)
    assert done.started_at is not None
    assert done.finished_at is not None
    assert done.started_at <= done.finished_at
    assert not worker.do_next(), "nothing waits any more"


def test_a_refusal_is_said_as_it_is(kind: Any) -> None:
    def handler(job: Job, report: Any) -> Path:
        raise InputError("record", "R9", "the id of a frozen record")

    job = queued(kind(handler))
    worker.do_next()
    assert seen(job).state == "failed"
    assert seen(job).message == "record: read 'R9'; allowed: the id of a frozen record"


def test_a_fault_is_said_in_words_without_its_inner_text(kind: Any, caplog: pytest.LogCaptureFixture) -> None:
    def handler(job: Job, report: Any) -> Path:
        raise ZeroDivisionError("at address 0x7f")

    job = queued(kind(handler))
    worker.do_next()
    assert seen(job).state == "failed"
    assert "ZeroDivisionError" in seen(job).message
    assert "0x7f" not in seen(job).message
    assert "at address 0x7f" in caplog.text


def test_a_file_outside_the_data_folder_is_no_result(kind: Any, tmp_path: Path) -> None:
    job = queued(kind(lambda job, report: tmp_path / "elsewhere.pdf"))
    worker.do_next()
    assert seen(job).state == "failed"


def test_a_kind_nobody_handles_fails_by_name() -> None:
    job = queued("dance")
    worker.do_next()
    assert "dance" in seen(job).message
    with pytest.raises(UnknownNameError):
        handler_of("dance")


def test_certificates_and_labels_have_handlers() -> None:
    assert callable(handler_of("certificate"))
    assert callable(handler_of("labels"))


def test_two_handlers_for_one_kind_are_refused(kind: Any) -> None:
    name = kind(lambda job, report: Path())
    with pytest.raises(TypeError, match="two handlers"):
        handles(name)(lambda job, report: Path())


def test_the_oldest_job_comes_first(kind: Any) -> None:
    name = kind(lambda job, report: settings.DATA / "x")
    first, second = queued(name), queued(name)
    claimed = queue.claim()
    assert claimed is not None
    assert claimed.pk == first.pk
    assert (seen(first).state, seen(second).state) == ("running", "queued")


def test_no_two_workers_get_the_same_job(kind: Any) -> None:
    name = kind(lambda job, report: settings.DATA / "x")
    wanted = {queued(name).pk for _ in range(20)}
    claimed: list[int] = []
    start = threading.Barrier(4)

    def claims() -> None:
        start.wait()
        while (job := queue.claim()) is not None:
            claimed.append(job.pk)
        connection.close()

    threads = [threading.Thread(target=claims) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(claimed) == sorted(wanted)


def test_what_a_dead_worker_left_is_done_at_the_next_start(kind: Any, site_db: Path) -> None:
    made = site_db / "x.pdf"
    made.write_bytes(b"")
    job = queued(kind(lambda job, report: made))
    assert queue.claim()
    assert seen(job).state == "running"
    turns = iter([False, True])
    worker.work(lambda: next(turns), look_every_s=0)
    assert seen(job).state == "done"
    assert seen(job).attempts == 2


def test_a_job_that_ends_every_worker_is_given_up_in_words(kind: Any) -> None:
    job = queued(kind(lambda job, report: Path()))
    for attempt in range(1, queue.MOST_ATTEMPTS + 1):
        assert queue.claim()
        assert seen(job).attempts == attempt
        queue.take_up_left_over()
    assert seen(job).state == "failed"
    assert seen(job).message.startswith("The worker ended 3 times while it did this")
    assert queue.claim() is None


def test_a_job_given_up_meanwhile_stays_so(kind: Any) -> None:
    """A page may have set it aside: what the worker says later does not bring it back."""
    job = queued(kind(lambda job, report: Path()))
    claimed = queue.claim()
    assert claimed is not None
    Job.objects.filter(pk=job.pk).update(state="failed", message="Set aside.")
    queue.note_progress(claimed, 50)
    queue.finish(claimed, "papers/x.pdf")
    assert (seen(job).state, seen(job).message, seen(job).result) == ("failed", "Set aside.", "")
