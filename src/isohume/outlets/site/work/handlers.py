"""What the worker can do: one handler for each kind of job, found by name."""

from __future__ import annotations

from collections.abc import Callable
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING

from isohume.foundation.quantity.errors import UnknownNameError

if TYPE_CHECKING:
    from isohume.outlets.site.work.models import Job

Report = Callable[[float, str], None]
"""report(percent, message): how far it is, in words."""
Handler = Callable[["Job", Report], Path]

MODULES = (
    "isohume.outlets.site.work.papers",
    "isohume.outlets.site.studies.jobs",
    "isohume.outlets.site.lookback.jobs",
)
HANDLERS: dict[str, Handler] = {}


def handles(kind: str) -> Callable[[Handler], Handler]:
    """Register a handler for a kind of job; it returns the file it made, below the data folder."""

    def registered(handler: Handler) -> Handler:
        known = HANDLERS.setdefault(kind, handler)
        if known is not handler:
            raise TypeError(f"two handlers for jobs of kind {kind}")
        return handler

    return registered


def handler_of(kind: str) -> Handler:
    """The handler for a kind of job.

    Raises: UnknownNameError where there is none.
    """
    for module in MODULES:
        import_module(module)
    try:
        return HANDLERS[kind]
    except KeyError:
        raise UnknownNameError("job.kind", kind, sorted(HANDLERS)) from None
