"""The bench site: a list of 50 lots against an empty view of the same server, and 20 people clicking.

    python -m benchmarks.site [--folder DIR] [--seconds 120] [--people 20]

The site runs as it is served (one web process, the demonstration plant's 90 days). The empty view is a Django view
that answers "ok", once past the same sign-in and once without it. People follow links they see, with a moment of
thought between; each page is timed from request to last byte.
"""

from __future__ import annotations

import argparse
import os
import random
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from importlib import import_module
from pathlib import Path
from typing import Any

from proofs.site_browser import Browser, NoAnswerError

from isohume.outlets.serve.address import find_address
from isohume.outlets.serve.first_page import first_page_answers
from isohume.outlets.serve.running import environment_of

ROUNDS = 200
GOAL = 1 / 12
THOUGHT_S = (0.5, 2.5)
USERS = ("rhale", "tlisle", "mfarrow", "dpell", "jsorrel", "avance")
NOT_CLICKED = ("/static/", "/sign-out/", "/lock/", "/jobs/", "/set-up/", "/empty", "#")
LIST = "/lots/"


def __getattr__(name: str) -> Any:
    """The site's own application with two addresses more: the empty views it is compared with."""
    if name != "application":
        raise AttributeError(name)
    application = import_module("isohume.outlets.site.config.wsgi").application  # first: it makes Django ready
    from django.http import HttpResponse
    from django.urls import path

    from isohume.outlets.site.config import urls
    from isohume.outlets.site.people.pages import public, shown_to
    from isohume.outlets.site.people.roles import EVERYONE

    urls.urlpatterns += [
        path("empty/", public(lambda request: HttpResponse("ok"))),
        path("empty-signed-in/", shown_to(EVERYONE)(lambda request: HttpResponse("ok"))),
    ]
    return application


@contextmanager
def served(folder: Path) -> Iterator[str]:
    """The demonstration plant's pages at an address; made where the folder is empty."""
    address = find_address("127.0.0.1", 0, None)
    isohume = [sys.executable, "-c", "from isohume.outlets.cli.main import run; run()"]
    make = [*isohume, "serve", "--demo", "--data", str(folder), "--port", "0", "--until-ready"]
    subprocess.run(make, check=True, stdout=subprocess.DEVNULL)
    command = [sys.executable, "-m", "benchmarks.site", "web", address.host, str(address.port)]
    with subprocess.Popen(command, env=environment_of(folder.resolve(), address), stdin=subprocess.PIPE) as web:
        while not first_page_answers(address.host, address.port, address.name):
            if web.poll() is not None:
                raise SystemExit("the pages' process did not start")
            time.sleep(0.1)
        try:
            yield f"http://{address.pages}/"
        finally:
            web.terminate()


def signed_in(address: str, username: str, password: str) -> Browser:
    """A browser of one of the plant's people."""
    browser = Browser(address)
    page = browser.sign_in(username, password)
    if page.status != 200 or "sessionid" not in browser.cookies:
        raise SystemExit(f"{username} could not sign in: {page.status} at {page.path}")
    return browser


def compare(browser: Browser) -> None:
    """Turns of the list and of both empty views, each first in a third of the turns."""
    paths = [LIST, "/empty/", "/empty-signed-in/"]
    times: dict[str, list[float]] = {path: [] for path in paths}
    rows = browser.get(LIST).text.count("<tr") - 1
    for turn in range(ROUNDS + 10):
        for path in paths[turn % 3 :] + paths[: turn % 3]:
            begun = time.perf_counter()
            status = browser.get(path).status
            times[path].append(time.perf_counter() - begun)
            if status != 200:
                raise SystemExit(f"{path} answered {status}")
    medians = {path: statistics.median(found[10:]) for path, found in times.items()}  # the first turns warm up
    print("| what | median | speed against the empty view | wanted |\n|---|---|---|---|")
    print(f"| empty view, nobody signed in | {1e3 * medians['/empty/']:.2f} ms | 1 | |")
    for path, what, wanted in (
        ("/empty-signed-in/", "empty view, signed in", ""),
        (LIST, f"list of {rows} lots", f"at least 1/{1 / GOAL:.0f}"),
    ):
        ratio = medians["/empty/"] / medians[path]
        print(f"| {what} | {1e3 * medians[path]:.2f} ms | 1/{1 / ratio:.1f} | {wanted} |")


@dataclass
class Seen:
    """What one person saw: seconds by page, and what went wrong."""

    seconds: list[float] = field(default_factory=list)
    errors: Counter[str] = field(default_factory=Counter)


def click(browser: Browser, seen: Seen, until: float, dice: random.Random) -> None:
    """Follow links until the time is over."""
    here = "/"
    while time.monotonic() < until:
        begun = time.perf_counter()
        try:
            page = browser.get(here)
        except NoAnswerError as error:
            seen.errors[str(error)] += 1
            here = "/"
            continue
        seen.seconds.append(time.perf_counter() - begun)
        if page.status != 200:
            seen.errors[f"{page.status} at {here}"] += 1
        links = [link for link in page.links if link.startswith("/") and not link.startswith(NOT_CLICKED)]
        here = dice.choice(links) if links and page.status == 200 else "/"
        time.sleep(dice.uniform(*THOUGHT_S))


def crowd(address: str, password: str, people: int, seconds: float) -> None:
    """Many people at once."""
    browsers = [signed_in(address, USERS[number % len(USERS)], password) for number in range(people)]
    seen = [Seen() for _ in browsers]
    until = time.monotonic() + seconds
    threads = [
        threading.Thread(target=click, args=(browser, one, until, random.Random(number)))
        for number, (browser, one) in enumerate(zip(browsers, seen, strict=True))
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    times = sorted(second for one in seen for second in one.seconds)
    errors: Counter[str] = sum((one.errors for one in seen), Counter())
    cuts = statistics.quantiles(times, n=100)
    print("| people | for | pages | median | 95 % within | longest | errors |\n|---|---|---|---|---|---|---|")
    print(
        f"| {people} | {seconds:.0f} s | {len(times)} | {1e3 * cuts[49]:.0f} ms | {1e3 * cuts[94]:.0f} ms "
        f"| {1e3 * times[-1]:.0f} ms | {errors.total()} |"
    )
    for what, count in errors.most_common(5):
        print(f"\n- {count} times {what}")


def main() -> None:
    """Both comparisons, as Markdown tables."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--folder", type=Path, default=None, help="a folder with the demonstration plant, or a new one")
    parser.add_argument("--seconds", type=float, default=120.0)
    parser.add_argument("--people", type=int, default=20)
    given = parser.parse_args(sys.argv[1:] if __name__ == "__main__" else [])
    with tempfile.TemporaryDirectory() as place:
        folder = given.folder or Path(place) / "plant"
        with served(folder) as address:
            password = (folder / "demo-sign-in.txt").read_text(encoding="utf-8").rpartition("password of all: ")[2]
            print(f"{os.cpu_count()} cores, which the people's own program shares.\n")
            compare(signed_in(address, "mfarrow", password.strip()))
            print()
            crowd(address, password.strip(), given.people, given.seconds)


if __name__ == "__main__":
    if sys.argv[1:2] == ["web"]:
        from isohume.outlets.serve import web

        web.APPLICATION = "benchmarks.site:application"
        web.main(sys.argv[2], int(sys.argv[3]))
    else:
        main()
