"""The queue: claim a job, note how far it is, finish it, and take up what a dead worker left."""

from __future__ import annotations

from typing import Any

from django.db import transaction
from django.utils import timezone

from isohume.outlets.site.work.models import Job

MOST_ATTEMPTS = 3
LONGEST_MESSAGE = 500


def claim() -> Job | None:
    """The oldest queued job, now running; None where nothing waits. Two workers never get the same one."""
    with transaction.atomic():  # begins IMMEDIATE: who looks already holds the write lock
        job = Job.objects.filter(state="queued").order_by("pk").first()
        if job is None:
            return None
        job.state, job.progress, job.message = "running", 0, ""
        job.started_at, job.finished_at = timezone.now(), None
        job.attempts += 1
        job.save()
    return job


def note_progress(job: Job, percent: float, message: str = "") -> None:
    """How far a running job is, for the page that waits for it."""
    job.progress = max(0, min(100, int(percent)))
    job.message = message[:LONGEST_MESSAGE]
    Job.objects.filter(pk=job.pk, state="running").update(progress=job.progress, message=job.message)


def finish(job: Job, result: str) -> None:
    """Done; the result is a path below the data folder."""
    _end(job, "done", result=result, progress=100, message="")


def fail(job: Job, message: str) -> None:
    """Failed, with a message that a person can read."""
    _end(job, "failed", message=message[:LONGEST_MESSAGE])


def take_up_left_over() -> int:
    """Queue again what a dead worker left running; what failed it three times is given up. Returns how many."""
    left = list(Job.objects.filter(state="running"))
    for job in left:
        if job.attempts >= MOST_ATTEMPTS:
            fail(job, f"The worker ended {job.attempts} times while it did this; it is not tried again.")
        else:
            Job.objects.filter(pk=job.pk, state="running").update(state="queued", progress=0, message="")
    return len(left)


def _end(job: Job, state: str, **values: Any) -> None:
    Job.objects.filter(pk=job.pk, state="running").update(state=state, finished_at=timezone.now(), **values)
