"""`isohume VERB`: finds the verb, runs it, and turns every refusal into one clear line and an exit status.

0 done or positive, 1 the judgement is negative, 2 bad input, 3 an internal fault. A verb's module is imported only
when it is asked for, so that a small verb starts fast.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from contextlib import suppress
from importlib import import_module

from isohume.foundation.quantity.errors import InputError, IsohumeError, shown
from isohume.outlets.cli.output import print_error, print_text

VERBS = {
    "reference": "what a solution of known a_w should read",
    "check": "does an instrument tell the truth?",
    "decide": "does a value conform?",
    "trace": "can a reading be believed?",
    "isotherm": "points to models",
    "certify": "a lot from files to a verifiable certificate",
    "verify": "can the record be proved?",
    "chart": "is it drifting?",
    "lookback": "which lots are at risk since the last good check?",
    "capture": "bring runs from the instruments to the site",
    "serve": "the bench site in the browser",
    "demo": "write plant A's day as input files and run it",
    "validate": "every outside check on this installation",
}

LONGEST_PLACE = 80


def main(arguments: list[str] | None = None) -> int:
    """Run one verb.

    arguments: the command line after `isohume` [text]; None takes the process's own.
    Returns: the exit status [1].
    Source: none.
    """
    given = sys.argv[1:] if arguments is None else arguments
    if sys.stdout is None:
        return _refuse("standard output: read 'closed'; allowed: an open standard output")
    if not given:
        return _refuse(f"verb: read 'nothing'; allowed: {', '.join(VERBS)}; see isohume --help")
    if given[0] in ("-h", "--help", "help"):
        return _guarded("help", lambda: _said(_overview()))
    if given[0] in ("-V", "--version"):
        from isohume.version import __version__

        return _guarded("version", lambda: _said(f"isohume {__version__}"))
    if given[0] not in VERBS:
        return _refuse(f"verb: read {shown(given[0])}; allowed: {', '.join(VERBS)}")
    return _guarded(given[0], lambda: import_module(f"isohume.outlets.cli.{given[0]}").run(given[1:]))


def _said(text: str) -> int:
    print_text(text)
    return 0


def _guarded(verb: str, run: Callable[[], int]) -> int:
    try:
        status = _status_of(run)
        sys.stdout.flush()
        return status
    except InputError as error:
        return _refuse(str(error))
    except IsohumeError as error:
        return _refuse(str(error), 1)
    except BrokenPipeError:
        # Whoever asked has not read the answer: that must never look like a release.
        _forget_output()
        return _refuse("standard output: read 'closed by its reader'; allowed: a reader that reads to the end")
    except KeyboardInterrupt:
        return _refuse("stopped by the keyboard; nothing half saved", 130)
    except OSError as error:
        return _refuse(_about_file(error))
    except Exception as error:
        return _internal_fault(verb, error)


def _status_of(run: Callable[[], int]) -> int:
    try:
        return int(run())
    except SystemExit as leaving:  # argparse leaves so after --help
        return leaving.code if isinstance(leaving.code, int) else 0


def _about_file(error: OSError) -> str:
    why = error.strerror or type(error).__name__
    if error.filename is None:
        _forget_output()
        return f"output: read {shown(why)}; allowed: a place that can be written"
    return f"file: read {shown(_end_of(str(error.filename)))}; allowed: a file or folder that can be opened ({why})"


def _end_of(place: str) -> str:
    """The end of a long place: there stands the name that a person knows."""
    return place if len(place) <= LONGEST_PLACE else f"...{place[3 - LONGEST_PLACE :]}"


def _forget_output() -> None:
    """What could not be written stays in the buffer, and Python would try once more at its end, with a traceback."""
    with suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _refuse(text: str, status: int = 2) -> int:
    print_error(text)
    return status


def _internal_fault(verb: str, error: Exception) -> int:
    """One line, and the traceback in a file that a person can send: never on the screen."""
    import tempfile
    import traceback

    text = f"internal fault in {verb}: {type(error).__name__}: {shown(str(error))}; please report it"
    with suppress(OSError):
        with tempfile.NamedTemporaryFile("w", prefix="isohume-fault-", suffix=".txt", delete=False) as report:
            traceback.print_exception(error, file=report)
        text = f"{text} with the file {report.name}"
    return _refuse(text, 3)


def _overview() -> str:
    width = max(map(len, VERBS))
    verbs = "\n".join(f"  {verb:<{width}}  {what}" for verb, what in VERBS.items())
    return f"usage: isohume VERB [options]\n\n{verbs}\n\nisohume VERB --help shows one worked example."


def run() -> None:
    """The console script."""
    sys.exit(main())
