"""The worker process: takes queued jobs one after the other, and says in words what came of each.

`python -m isohume.outlets.site.work.worker`, started by the supervisor. There is one worker on a data folder, so
whatever is marked as running when it starts was left by one that died.
"""

from __future__ import annotations

import logging
import signal
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from isohume.foundation.quantity.errors import IsohumeError
from isohume.outlets.serve.lifeline import follow_supervisor

if TYPE_CHECKING:
    from isohume.outlets.site.work.models import Job

LOOK_EVERY_S = 0.5
log = logging.getLogger("isohume.worker")


def do_next() -> bool:
    """Take one job and do it; false where nothing waited."""
    from isohume.outlets.site.work import queue

    job = queue.claim()
    if job is None:
        return False
    log.info("job %s (%s), attempt %s", job.pk, job.kind, job.attempts)
    try:
        result = _done(job)
    except IsohumeError as error:
        log.warning("job %s refused: %s", job.pk, error)
        queue.fail(job, str(error))
    except Exception as error:
        log.exception("job %s failed", job.pk)
        queue.fail(job, f"This could not be done ({type(error).__name__}). The worker's log has the details.")
    else:
        queue.finish(job, result)
        log.info("job %s done", job.pk)
    return True


def work(stopping: Callable[[], bool], look_every_s: float = LOOK_EVERY_S) -> None:
    """Do what waits until asked to stop; a job in hand is finished first."""
    from isohume.outlets.site.work import queue

    left = queue.take_up_left_over()
    if left:
        log.warning("%s jobs were left by a worker that died", left)
    while not stopping():
        if not do_next():
            time.sleep(look_every_s)


def main() -> None:
    """Work until SIGTERM."""
    follow_supervisor(at_once=True)  # a job cut short is taken up again
    asked: list[int] = []
    for number in (signal.SIGTERM, signal.SIGINT):
        signal.signal(number, lambda given, _frame: asked.append(given))
    logging.basicConfig(level=logging.INFO, format="%(levelname)s %(message)s")
    import django

    django.setup()
    work(lambda: bool(asked))


def _done(job: Job) -> str:
    from django.conf import settings

    from isohume.outlets.site.work import queue
    from isohume.outlets.site.work.handlers import handler_of

    made: Path = handler_of(job.kind)(job, partial(queue.note_progress, job))
    return made.resolve().relative_to(settings.DATA.resolve()).as_posix()


if __name__ == "__main__":
    main()
