"""The pages' process: Granian with one worker process of several threads, which suits the embedded database.

`python -m isohume.outlets.serve.web HOST PORT`, started by the supervisor.
"""

from __future__ import annotations

import multiprocessing
import sys
from collections.abc import Callable
from importlib import import_module
from typing import Any

from granian import Granian
from granian.constants import Interfaces

from isohume.outlets.serve.lifeline import follow_parent_process, follow_supervisor
from isohume.outlets.serve.warm import warm_behind

APPLICATION = "isohume.outlets.site.config.wsgi:application"
THREADS = 4  # people wait for the disk and for each other's writes, seldom for the processor
STOP_WITHIN_S = 5


def load(application: str) -> Callable[..., Any]:
    """In the worker process: tie it to its parent, then import the site."""
    follow_parent_process()
    module, _, name = application.partition(":")
    found: Callable[..., Any] = getattr(import_module(module), name)
    warm_behind()
    return found


def main(host: str, port: int) -> None:
    """Serve until SIGTERM."""
    follow_supervisor()
    multiprocessing.set_start_method("spawn")
    Granian(
        APPLICATION,
        address=host,
        port=port,
        interface=Interfaces.WSGI,
        workers=1,
        blocking_threads=THREADS,
        websockets=False,
        log_access=False,  # addresses of people and of set-up links are nobody's to keep
        respawn_failed_workers=True,
        workers_kill_timeout=STOP_WITHIN_S,
        reload=False,
    ).serve(target_loader=load)


if __name__ == "__main__":
    main(sys.argv[1], int(sys.argv[2]))
