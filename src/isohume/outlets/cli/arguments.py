"""Arguments of a verb: argparse with one-line errors that name the field, and one worked example in the help."""

from __future__ import annotations

import argparse
from decimal import Decimal
from typing import Any, NoReturn

from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_decimal


class Arguments(argparse.ArgumentParser):
    """A parser for one verb; a wrong word is an InputError, not a page of usage."""

    def __init__(self, verb: str, what: str, example: str) -> None:
        super().__init__(
            prog=f"isohume {verb}",
            description=what,
            epilog=f"example:\n  {example}",
            formatter_class=argparse.RawDescriptionHelpFormatter,
            allow_abbrev=False,
        )
        self.add_argument("--json", action="store_true", help="one JSON object on standard output and nothing else")

    def error(self, message: str) -> NoReturn:
        """Raise instead of printing usage and leaving."""
        raise InputError("arguments", message, f"see {self.prog} --help")

    def decimal(self, flag: str, **options: Any) -> None:
        """An option that holds a decimal as typed."""
        field = flag.lstrip("-").replace("-", "_")
        self.add_argument(
            flag, type=lambda text: Typed(text, field), metavar=flag.rsplit("-", 1)[-1].upper(), **options
        )


class Typed:
    """A number of the command line: kept as text until the verb reads it, so that the error names its field."""

    def __init__(self, text: str, field: str) -> None:
        self.text, self.field = text, field

    def decimal(self, allowed: str = "a number") -> Decimal:
        """The decimal exactly as typed."""
        return read_decimal(self.text, self.field, allowed)


def positive(typed: Typed | None, allowed: str, *, zero: bool = False) -> Decimal | None:
    """The decimal of an option that must be above zero (or not below it); None where it was not given."""
    if typed is None:
        return None
    number = typed.decimal(allowed)
    if number < 0 or (number == 0 and not zero):
        raise InputError(typed.field, typed.text, allowed)
    return number
