"""`isohume capture`: the bench agent; brings an instrument's runs to the site, each reading once."""

from __future__ import annotations

import signal
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.cli.arguments import Arguments
from isohume.outlets.cli.output import print_json, print_text

if TYPE_CHECKING:
    from argparse import Namespace
    from collections.abc import Callable

    from isohume.outlets.capture.agent import Agent
    from isohume.outlets.capture.clock import Clock
    from isohume.outlets.capture.delivery import Delivery
    from isohume.outlets.capture.wire import Wire

EXAMPLE = "isohume capture --rule demo-day/inputs/ow1.rule --try --lines demo-day/inputs/ow1-lines.txt"
MODES = ("try", "status", "systemd", "instrument_demo")


def run(arguments: list[str]) -> int:
    """Capture until it is stopped, or what one of the other modes does; 0 where all went well."""
    given = _parser().parse_args(arguments)
    asked = [mode for mode in MODES if getattr(given, mode)]
    if len(asked) > 1:
        raise InputError(asked[1], "given too", f"one of {', '.join(_flag(mode) for mode in MODES)}")
    mode = asked[0] if asked else ""
    _nothing_beside(given, mode)
    if mode == "status":
        return _status(given)
    if mode == "systemd":
        return _systemd(given)
    if mode == "instrument_demo":
        from isohume.outlets.cli.capture_demo import demonstrate

        return demonstrate(given)
    if given.rule is None:
        raise InputError("rule", "nothing", "--rule FILE is needed; see isohume capture --help")
    if mode == "try":
        from isohume.outlets.cli.capture_try import try_rule

        return try_rule(given)
    return _capture(given)


def _flag(name: str) -> str:
    return f"--{name.replace('_', '-')}"


def _parser() -> Arguments:
    parser = Arguments("capture", "Bring runs from instruments to the site, each reading once.", EXAMPLE)
    parser.path("--rule", metavar="FILE", help="the laboratory's rule (TOML): sources, and how a line is read")
    parser.once("--site", metavar="URL", help="the site; without it runs are kept in the spool and wait")
    parser.path("--token-file", metavar="FILE", help="the agent's token, in a file that only its owner may read")
    parser.path("--spool", metavar="FOLDER", help="where entries are kept on disk (default .isohume-capture at home)")
    parser.add_argument("--try", action="store_true", help="show what each line is read as; keep and send nothing")
    parser.path("--lines", metavar="FILE", help="with --try: lines from this file instead of the instrument")
    parser.once("--instrument", metavar="NAME", help="with --try: one instrument of a rule that has several")
    parser.add_argument("--status", action="store_true", help="show the spool: waiting, last delivered, refused")
    parser.add_argument("--systemd", action="store_true", help="print a systemd unit with these words filled in")
    parser.add_argument("--instrument-demo", action="store_true", help="the invented instrument on a port of its own")
    parser.once("--cups", metavar="LIST", help='with --instrument-demo: cups by commas, such as "0.7528, 0.632 slow"')
    parser.once("--pace", metavar="N", help="with --instrument-demo: so many times faster than the clock (default 1)")
    parser.once("--seed", metavar="N", help="with --instrument-demo: the same seed shows the same readings (default 1)")
    parser.path("--link", metavar="FILE", help="with --instrument-demo: a name for its port that stays the same")
    return parser


ONLY_WITH = {"lines": "try", "cups": "instrument_demo", "pace": "instrument_demo"} | {
    "seed": "instrument_demo",
    "link": "instrument_demo",
}


def _nothing_beside(given: Namespace, mode: str) -> None:
    """An option that this mode would not heed is refused: somebody meant something by it."""
    for name, needed in ONLY_WITH.items():
        if getattr(given, name) is not None and mode != needed:
            raise InputError(name, str(getattr(given, name)), f"--{name} only with {_flag(needed)}")
    if given.site is not None and mode in ("try", "status", "instrument_demo"):
        raise InputError("site", given.site, f"no --site with {_flag(mode)}: it sends nothing")


def spool_of(given: Namespace) -> Path:
    """The spool's folder."""
    folder: Path | None = given.spool
    return Path.home() / ".isohume-capture" if folder is None else folder


def say(line: str) -> None:
    """One line for whoever looks at the console or the journal."""
    if sys.stderr is not None:
        plain = "".join(c if c.isprintable() else "\N{REPLACEMENT CHARACTER}" for c in line)
        sys.stderr.write(f"{plain}\n")
        sys.stderr.flush()


def _capture(given: Namespace) -> int:
    from isohume.outlets.capture.agent import Agent
    from isohume.outlets.capture.clock import Clock
    from isohume.outlets.capture.rule_file import read_rule
    from isohume.outlets.capture.spool import Spool
    from isohume.outlets.capture.spool_lock import held_alone

    rule, folder, wire = read_rule(given.rule), spool_of(given), _wire(given)
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    with held_alone(folder):
        spool, clock = Spool(folder), Clock()
        try:
            agent = Agent(rule, spool, clock, say)
            _stopped_by_signals(agent.inbox.stop.set)  # before it says that it runs: who reads that may stop it
            _ready(given, agent, spool.key, folder)
            return 0 if agent.run(_delivery(given, folder, clock, wire)) else 1
        finally:
            spool.close()


def _wire(given: Namespace) -> Wire | None:
    """The line to the site, its token looked at first: what is wrong with it is better said now than at night."""
    from isohume.outlets.capture.token_file import read_token
    from isohume.outlets.capture.wire import Wire

    if given.site is None:
        if given.token_file is not None:
            raise InputError("site", "nothing", "--site URL, where a token file is given")
        return None
    wire = Wire(given.site)
    if given.token_file is None:
        raise InputError("token_file", "nothing", "--token-file FILE with the agent's token, made on the site")
    read_token(given.token_file)
    return wire


def _delivery(given: Namespace, folder: Path, clock: Clock, wire: Wire | None) -> Delivery | None:
    from isohume.outlets.capture.delivery import Delivery

    if wire is None:
        return None
    if wire.in_the_clear:
        say(f"caution: {wire.site} is not encrypted; whoever listens on the network can read the agent's token")
    return Delivery(folder, wire, given.token_file, clock, say)


def _ready(given: Namespace, agent: Agent, key: str, folder: Path) -> None:
    names = list(agent.readers)
    if given.json:
        print_json({"spool": key, "folder": str(folder), "instruments": names, "site": given.site})
    else:
        where = given.site or "nowhere: no --site was given, entries wait in the spool"
        print_text(f"Capturing {', '.join(names)}; spool {folder}; to {where}. Ctrl-C stops it.")
    sys.stdout.flush()


def _stopped_by_signals(stop: Callable[[], None]) -> None:
    for name in ("SIGTERM", "SIGINT", "SIGBREAK"):
        number = getattr(signal, name, None)
        if number is not None:
            signal.signal(number, lambda *_: stop())


def _status(given: Namespace) -> int:
    from isohume.outlets.capture.status import read_status
    from isohume.outlets.cli.capture_words import status_words

    status = read_status(spool_of(given))
    if given.json:
        print_json(status.as_json())
    else:
        print_text(status_words(status))
    return 1 if status.refused or status.disk else 0


def _systemd(given: Namespace) -> int:
    from isohume.outlets.capture.service import systemd_unit

    program = Path(sys.argv[0]).resolve() if Path(sys.argv[0]).name == "isohume" else Path("/usr/local/bin/isohume")
    rule = given.rule or Path("/etc/isohume/capture.toml")
    spool = given.spool or Path("/var/lib/isohume-capture")
    words = [str(program), "capture", "--rule", str(rule.absolute()), "--spool", str(spool.absolute())]
    if given.site is not None:
        token = given.token_file or Path("/etc/isohume/capture.token")
        words += ["--site", given.site, "--token-file", str(token.absolute())]
    unit = systemd_unit(words, str(spool.absolute()))
    if given.json:
        print_json({"unit": unit})
    else:
        print_text(unit.rstrip("\n"))
    return 0
