"""Writes docs/reference from the docstrings and the verbs' help, so that there is one telling of each fact.

`python builders/reference_docs.py` writes; a test compares what is committed with what this would write.
"""

from __future__ import annotations

import contextlib
import importlib
import inspect
import io
import os
from pathlib import Path

from isohume.foundation.quantity.sources import sources
from isohume.outlets.cli.main import VERBS, main

DOCS = Path(__file__).parents[1] / "docs" / "reference"
PARTS = (
    "isohume.foundation.quantity",
    "isohume.foundation.water",
    "isohume.foundation.solutions",
    "isohume.foundation.metrology",
    "isohume.bench.reading",
    "isohume.bench.reading.settling",
    "isohume.bench.reading.diagnosis",
    "isohume.bench.assurance",
    "isohume.bench.decision",
    "isohume.bench.record",
    "isohume.product.sorption",
    "isohume.desk",
)
MADE = "<!-- Made by builders/reference_docs.py from the code; edit the docstrings instead. -->"


def pages() -> dict[str, str]:
    """File name -> content of every generated page."""
    made = {f"{part.removeprefix('isohume.').replace('.', '-')}.md": _part(part) for part in PARTS}
    made["command-line.md"] = _command_line()
    made["sources.md"] = _sources()
    return made


def _part(part: str) -> str:
    package = importlib.import_module(part)
    sections = [MADE, f"# {part}", inspect.getdoc(package) or ""]
    things = [getattr(package, name) for name in package.__all__]
    sections.extend(_function(thing) for thing in things if inspect.isfunction(thing))
    classes = [thing for thing in things if inspect.isclass(thing)]
    if classes:
        sections.append("## Objects")
        sections.append("\n".join(f"- **{c.__name__}**: {(inspect.getdoc(c) or '').splitlines()[0]}" for c in classes))
    return "\n\n".join(sections) + "\n"


def _function(function: object) -> str:
    names = ", ".join(inspect.signature(function).parameters)  # type: ignore[arg-type]
    return f"## {function.__name__}({names})\n\n```text\n{inspect.getdoc(function)}\n```"  # type: ignore[attr-defined]


def _command_line() -> str:
    # argparse folds its help to the terminal; a fixed width makes the page the same everywhere
    os.environ["COLUMNS"] = "100"
    sections = [MADE, "# The command line"]
    for verb, what in VERBS.items():
        with contextlib.redirect_stdout(io.StringIO()) as printed, contextlib.suppress(SystemExit):
            main([verb, "--help"])
        sections.append(f"## isohume {verb}: {what}\n\n```text\n{printed.getvalue().rstrip()}\n```")
    return "\n\n".join(sections) + "\n"


def _sources() -> str:
    rows = [f"| {key} | {found} | {found.note} |" for key, found in sorted(sources().items())]
    head = "| key | source | note |\n|---|---|---|"
    return "\n\n".join([MADE, "# Sources", "\n".join([head, *rows])]) + "\n"


def write() -> None:
    """Write every page."""
    for name, content in pages().items():
        (DOCS / name).write_text(content, encoding="utf-8")


if __name__ == "__main__":
    write()
