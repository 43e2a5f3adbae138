"""`isohume VERB`: finds the verb, runs it, and turns every refusal into one clear line and an exit status.

0 done or positive, 1 the judgement is negative, 2 bad input, 3 an internal fault. A verb's module is imported only
when it is asked for, so that a small verb starts fast.
"""

from __future__ import annotations

import sys
from importlib import import_module

from isohume.foundation.quantity.errors import InputError, IsohumeError

VERBS = {
    "reference": "what a solution of known a_w should read",
    "check": "does an instrument tell the truth?",
    "decide": "does a value conform?",
    "certify": "a lot from files to a verifiable certificate",
    "verify": "can the record be proved?",
    "demo": "write plant A's day as input files and run it",
    "validate": "every outside check on this installation",
}


def main(arguments: list[str] | None = None) -> int:
    """Run one verb.

    arguments: the command line after `isohume` [text]; None takes the process's own.
    Returns: the exit status [1].
    Source: none.
    """
    given = sys.argv[1:] if arguments is None else arguments
    if not given or given[0] in ("-h", "--help", "help"):
        print(_overview())
        return 0 if given else 2
    if given[0] in ("-V", "--version"):
        from isohume.version import __version__

        print(f"isohume {__version__}")
        return 0
    if given[0] not in VERBS:
        return _refuse(f"verb: read {given[0]!r}; allowed: {', '.join(VERBS)}")
    return _run(given[0], given[1:])


def _run(verb: str, arguments: list[str]) -> int:
    try:
        status = import_module(f"isohume.outlets.cli.{verb}").run(arguments)
        sys.stdout.flush()
        return int(status)
    except InputError as error:
        return _refuse(str(error))
    except IsohumeError as error:
        return _refuse(str(error), 1)
    except BrokenPipeError:
        sys.stderr.close()
        return 0
    except KeyboardInterrupt:
        return _refuse("stopped by the keyboard; nothing half saved", 130)
    except OSError as error:
        return _refuse(f"file: read {error.filename or error}; allowed: a file that can be opened ({error.strerror})")
    except Exception as error:
        return _internal_fault(verb, error)


def _refuse(text: str, status: int = 2) -> int:
    print(f"isohume: {text}", file=sys.stderr)
    return status


def _internal_fault(verb: str, error: Exception) -> int:
    """One line, and the traceback in a file that a person can send: never on the screen."""
    import tempfile
    import traceback

    with tempfile.NamedTemporaryFile("w", prefix="isohume-fault-", suffix=".txt", delete=False) as report:
        traceback.print_exc(file=report)
    text = f"internal fault in {verb}: {type(error).__name__}: {str(error).splitlines()[0] if str(error) else ''}"
    return _refuse(f"{text}; please report it with the file {report.name}", 3)


def _overview() -> str:
    width = max(map(len, VERBS))
    verbs = "\n".join(f"  {verb:<{width}}  {what}" for verb, what in VERBS.items())
    return f"usage: isohume VERB [options]\n\n{verbs}\n\nisohume VERB --help shows one worked example."


def run() -> None:
    """The console script."""
    sys.exit(main())
