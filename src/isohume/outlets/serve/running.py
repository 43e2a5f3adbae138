"""The site as a whole: prepare the folder, keep its three processes running, say when the first page answers."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
from collections.abc import Callable
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from isohume.bench.record.tables import DATABASE
from isohume.foundation.quantity.errors import IsohumeError
from isohume.outlets.serve.address import Address, find_address
from isohume.outlets.serve.child import Program
from isohume.outlets.serve.data_folder import LOGS, make_folder, served_alone
from isohume.outlets.serve.first_page import first_page_answers
from isohume.outlets.serve.log_file import LogFile, without_secrets
from isohume.outlets.serve.prepare import BEING_MADE, TELL, refuse_another
from isohume.outlets.serve.supervisor import LOOK_EVERY_S, Asked, Supervisor, stop_when_asked

FIRST_PAGE_WITHIN_S = 120.0


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is asked of `isohume serve`."""

    folder: Path
    host: str
    port: int
    name: str | None
    demo: str  # which demonstration plant is made in a folder without data; "" is none
    until_ready: bool
    plant: str = ""  # the demonstration plant that was named; "" where whatever the folder holds is meant


@dataclass(frozen=True, slots=True)
class Ready:
    """What a person needs to know once the first page answers."""

    folder: Path
    address: str
    live: str
    setup_link: str | None
    sign_in: str | None


def serve(wanted: Wanted, say: Callable[[Ready], None], tell: Callable[[str], None]) -> None:
    """Run the site until it is asked to stop; `say` is called once, when the first page answers.

    tell: called with lines of progress while the demonstration is made.

    Raises: InputError for a folder or port that cannot be used; IsohumeError where the site does not come up.
    """
    folder = make_folder(wanted.folder)
    with ExitStack() as held:
        asked = held.enter_context(stop_when_asked())
        held.enter_context(served_alone(folder))
        address = find_address(wanted.host, wanted.port, wanted.name)
        environment = environment_of(folder, address)
        if wanted.plant:
            refuse_another(folder, wanted.plant)
        if wanted.demo and not (folder / DATABASE).exists():
            place = {"ISOHUME_DATA": str(folder / BEING_MADE)}
            _prepared(folder, environment | place, asked, tell, "--demo", wanted.demo)
        found = {} if asked.stop else _prepared(folder, environment, asked, tell)
        if asked.stop:
            return
        supervisor = held.enter_context(Supervisor(programs(address, environment), folder / LOGS))
        if _until_ready(supervisor, address, asked, folder):
            say(
                Ready(
                    folder, f"http://{address.pages}/", f"http://{address.live}/", found["setup_link"], found["sign_in"]
                )
            )
            while not (asked.stop or wanted.until_ready):
                supervisor.tend()
                time.sleep(LOOK_EVERY_S)


def environment_of(folder: Path, address: Address) -> dict[str, str]:
    """What every process of the site is told."""
    hosts = [host for host in (*os.environ.get("ISOHUME_HOSTS", "").split(","), address.name) if host]
    return {
        **os.environ,
        "ISOHUME_DATA": str(folder),
        "ISOHUME_ADDRESS": address.pages,
        "ISOHUME_LIVE": address.live,
        "ISOHUME_HOSTS": ",".join(dict.fromkeys(hosts)),
        "DJANGO_SETTINGS_MODULE": "isohume.outlets.site.config.settings",
        "PYTHONUNBUFFERED": "1",
    }


def programs(address: Address, environment: dict[str, str]) -> list[Program]:
    """The three processes of the site."""
    python = (sys.executable, "-m")
    return [
        Program("web", (*python, "isohume.outlets.serve.web", address.host, str(address.port)), environment),
        Program(
            "live", (*python, "isohume.outlets.site.live.server", address.host, str(address.live_port)), environment
        ),
        Program("worker", (*python, "isohume.outlets.site.work.worker"), environment),
    ]


def _prepared(
    folder: Path, environment: dict[str, str], asked: Asked, tell: Callable[[str], None], *words: str
) -> dict[str, Any]:
    command = (sys.executable, "-m", "isohume.outlets.serve.prepare", *words)
    pipe, log, last = subprocess.PIPE, LogFile(folder / LOGS, "prepare"), ""
    with subprocess.Popen(command, env=environment, stdin=pipe, stdout=pipe, stderr=pipe) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        for line in process.stderr:
            text = line.decode("utf-8", "backslashreplace").rstrip()
            if text.startswith(TELL):
                tell(text.removeprefix(TELL))
            elif text:
                last = without_secrets(text)
                log.say(text)
            if asked.stop:
                process.terminate()
        said = process.stdout.read()
    log.close()
    if asked.stop:
        return {}
    if process.returncode != 0:
        why = last or f"exit status {process.returncode}"
        raise IsohumeError(f"the data folder could not be made ready ({why}); see {log.path}")
    found: dict[str, Any] = json.loads(said)
    if "refused" in found:
        raise IsohumeError(str(found["refused"]))
    return found


def _until_ready(supervisor: Supervisor, address: Address, asked: Asked, folder: Path) -> bool:
    until = time.monotonic() + FIRST_PAGE_WITHIN_S
    while not asked.stop:
        supervisor.tend()
        if first_page_answers(_reached(address.host), address.port, address.name):
            return True
        if time.monotonic() > until:
            raise IsohumeError(
                f"the first page did not answer within {FIRST_PAGE_WITHIN_S:.0f} s; see {folder / LOGS / 'web.log'}"
            )
        time.sleep(LOOK_EVERY_S)
    return False


def _reached(host: str) -> str:
    return {"0.0.0.0": "127.0.0.1", "::": "::1"}.get(host, host)
