"""`isohume serve --data DIR`: the bench site, one command that keeps its processes running until it is stopped."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.cli.arguments import Arguments
from isohume.outlets.cli.output import parts, print_json, print_text

if TYPE_CHECKING:
    from isohume.outlets.serve.running import Ready

EXAMPLE = "isohume serve --data my-plant --port 0 --until-ready"
HOST, PORT = "127.0.0.1", "8765"
PLANTS = "a (oat bars), b (dry-cured sausage), c (spices and dry mixes)"


def run(arguments: list[str]) -> int:
    """Serve until SIGTERM or Ctrl-C; 0 where it was stopped so."""
    parser = Arguments("serve", "The bench site: pages, live streams and worker, until it is stopped.", EXAMPLE)
    parser.path("--data", metavar="DIR", required=True, help="the data folder; made where it is not there")
    parser.once("--address", metavar="HOST", default=HOST, help=f"where to listen (default {HOST}: this computer only)")
    parser.once("--port", metavar="PORT", default=PORT, help=f"port of the pages (default {PORT}); 0 takes a free one")
    parser.once("--name", metavar="HOST", help="the name other computers use for this one, where it serves them")
    parser.add_argument("--demo", action="store_true", help="make the demonstration plant in a folder without data")
    parser.once("--plant", metavar="LETTER", help=f"which demonstration plant: {PLANTS} (default a)")
    parser.add_argument("--until-ready", action="store_true", help="stop as soon as the first page has answered")
    given = parser.parse_args(arguments)
    from isohume.outlets.serve.running import Wanted, serve

    def say(ready: Ready) -> None:
        _progress("")
        if given.json:
            print_json(as_json(ready))
        else:
            print_text(readable(ready))
        sys.stdout.flush()

    plant = _plant(given.demo, given.plant)
    port, named = _port(given.port), given.plant or ""
    wanted = Wanted(given.data, given.address, port, given.name, plant, given.until_ready, named)
    serve(wanted, say, lambda line: _progress(f"Making the demonstration plant: {line}"))
    return 0


def as_json(ready: Ready) -> dict[str, str | None]:
    """Where it is, and the one-time link where nobody can sign in yet."""
    where = {"address": ready.address, "live": ready.live, "data": str(ready.folder)}
    return {**where, "setup_link": ready.setup_link}


def readable(ready: Ready) -> str:
    """Where it is, how to get in, how to stop it."""
    first = ready.setup_link and (
        "Nobody can sign in yet. This link makes the first account; it works once and not for long:\n"
        f"  {ready.setup_link}"
    )
    where = f"The site is at {ready.address}"
    close = f"The data is in {ready.folder}, logs in its folder log. Ctrl-C stops the site."
    return parts(where, first or "", (ready.sign_in or "").strip(), close)


def _progress(line: str) -> None:
    """One line that is written over, where a person looks at a terminal."""
    if sys.stderr is not None and sys.stderr.isatty():
        sys.stderr.write(f"\r\033[K{line}")
        sys.stderr.flush()


def _plant(demo: bool, letter: str | None) -> str:
    if letter is not None and (not demo or letter not in ("a", "b", "c")):
        raise InputError("plant", letter, f"with --demo, one of {PLANTS}")
    return (letter or "a") if demo else ""


def _port(text: str) -> int:
    if not (text.isascii() and text.isdigit() and len(text) <= 5):
        raise InputError("port", text, "a whole number, 0 (any free port) to 65535")
    return int(text)
