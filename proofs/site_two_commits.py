"""A broken variant of the site, to show that the proof can see: the change and its ledger line are two commits.

`python -m proofs.site_two_commits serve ...` is `isohume serve` whose pages write so.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from types import SimpleNamespace
from typing import Any


def __getattr__(name: str) -> Any:
    if name != "application":
        raise AttributeError(name)
    from isohume.outlets.site.config.wsgi import application
    from isohume.outlets.site.ledger import actions, notes, writing

    sound = writing.writing

    @contextmanager
    def in_two(at: datetime) -> Iterator[Any]:
        """The register's changes commit one by one; the line comes after, in a transaction of its own."""

        def append(*line: Any) -> Any:
            with sound(at) as evidence:
                return evidence.append(*line)

        yield SimpleNamespace(append=append)

    actions.writing = notes.writing = in_two  # type: ignore[attr-defined]
    return application


def _serve(words: list[str]) -> int:
    from isohume.outlets.cli.main import main
    from isohume.outlets.serve import running

    sound = running.programs

    def with_broken_pages(*given: Any) -> list[Any]:
        web, *others = sound(*given)
        python, dash_m, _, *where = web.command
        return [running.Program("web", (python, dash_m, "proofs.site_two_commits", *where), web.environment), *others]

    running.programs = with_broken_pages
    return main(words)


if __name__ == "__main__":
    if sys.argv[1] == "serve":
        sys.exit(_serve(sys.argv[1:]))
    from isohume.outlets.serve import web

    web.APPLICATION = "proofs.site_two_commits:application"
    web.main(sys.argv[1], int(sys.argv[2]))
