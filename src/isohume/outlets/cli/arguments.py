"""Arguments of a verb: argparse with one-line errors that name the field, and one worked example in the help."""

from __future__ import annotations

import argparse
import re
from collections.abc import Callable, Sequence
from decimal import Decimal
from pathlib import Path
from typing import Any, NoReturn

from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_a_w, read_decimal, read_temperature_c

SMALLEST_U = Decimal("0.000001")
"""No instrument of the trade comes near it; below it nothing could be printed beside its value."""


class Arguments(argparse.ArgumentParser):
    """A parser for one verb; a wrong word is an InputError, not a page of usage.

    `notes` collects what was accepted and has to be said, such as a decimal comma read as a point.
    """

    def __init__(self, verb: str, what: str, example: str) -> None:
        super().__init__(
            prog=f"isohume {verb}",
            description=what,
            epilog=f"example:\n  {example}",
            formatter_class=argparse.RawDescriptionHelpFormatter,
            allow_abbrev=False,
        )
        self.notes: list[str] = []
        self.given: set[str] = set()
        self.add_argument("--json", action="store_true", help="one JSON object on standard output and nothing else")

    def error(self, message: str) -> NoReturn:
        """Raise instead of printing usage and leaving; the argument's name becomes the field."""
        see = f"see {self.prog} --help"
        if required := re.fullmatch(r"the following arguments are required: ([^,]+).*", message, re.DOTALL):
            field = required.group(1)
            raise InputError(_field(field), "nothing", f"{field} is needed; {see}")
        if about := re.fullmatch(r"argument (\S+): (.*)", message, re.DOTALL):
            field, what = about.groups()
            if "expected" in what and "argument" in what:
                raise InputError(_field(field), "nothing", f"a value after {field}; {see}")
            wrong = re.fullmatch(r"invalid choice: '(.*)' \(choose from (.*)\)", what, re.DOTALL)
            value, allowed = wrong.groups() if wrong else (what, see)
            raise InputError(_field(field), value, allowed.replace("'", ""))
        unknown = message.removeprefix("unrecognized arguments: ")
        raise InputError("arguments", unknown, f"the arguments of {self.prog}, spelt out; {see}")

    def how(self) -> None:
        """The option that prints how each figure was found."""
        self.add_argument("--how", action="store_true", help="print how each figure was found: formula, source, range")

    def once(self, flag: str, **options: Any) -> None:
        """An option that may be given once: given twice, nobody could say which was meant."""
        self.add_argument(flag, action=_Once, **options)

    def decimal(self, flag: str, metavar: str, **options: Any) -> None:
        """An option that holds a decimal as typed."""
        self.once(flag, type=lambda text: Typed(text, _field(flag), self.notes), metavar=metavar, **options)

    def path(self, name: str, **options: Any) -> None:
        """A file or folder, by option or by place; a blank is not the present folder."""
        field = _field(options.get("metavar", name) if not name.startswith("-") else name)
        kind: Callable[[str], Path] = lambda text: _path(text, field)  # noqa: E731 - argparse wants a callable
        add = self.once if name.startswith("-") else self.add_argument
        add(name, type=kind, **options)


class _Once(argparse.Action):
    """Stores a value, and refuses a second one."""

    def __call__(
        self,
        parser: argparse.ArgumentParser,
        namespace: argparse.Namespace,
        values: str | Sequence[Any] | None,
        option_string: str | None = None,
    ) -> None:
        assert isinstance(parser, Arguments)  # no other parser has such options
        if self.dest in parser.given:
            raise InputError(self.dest, getattr(values, "text", values), f"{option_string} once; it is given twice")
        parser.given.add(self.dest)
        setattr(namespace, self.dest, values)


def _field(flag: str) -> str:
    return flag.lstrip("-").replace("-", "_")


def _path(text: str, field: str) -> Path:
    if not text.strip() or "\0" in text:
        raise InputError(field, text, "the name of a file or folder")
    return Path(text)


class Typed:
    """A number of the command line: kept as text until the verb reads it, so that the error names its field."""

    def __init__(self, text: str, field: str, notes: list[str]) -> None:
        self.text, self.field, self._notes = text, field, notes

    def decimal(self, allowed: str = "a number") -> Decimal:
        """The decimal exactly as typed."""
        return read_decimal(self.text, self.field, allowed, self._notes)

    def a_w(self) -> Decimal:
        """A water activity exactly as typed."""
        return read_a_w(self.text, self.field, self._notes)

    def temperature_c(self) -> float:
        """A temperature in degrees Celsius."""
        return float(read_temperature_c(self.text, self.field, self._notes))


def positive(typed: Typed | None, allowed: str, *, zero: bool = False) -> Decimal | None:
    """The decimal of an option that must be above zero (or not below it); None where it was not given."""
    if typed is None:
        return None
    number = typed.decimal(allowed)
    if number < 0 or (number == 0 and not zero):
        raise InputError(typed.field, typed.text, allowed)
    return number


def small(typed: Typed | None, what: str, *, zero: bool = False) -> Decimal | None:
    """The decimal of an option that is a difference or an uncertainty of a_w; None where it was not given."""
    if typed is None:
        return None
    allowed = f"{what} in a_w, {'0, or ' if zero else ''}at least {SMALLEST_U:f} and below 1"
    number = typed.decimal(allowed)
    if not (SMALLEST_U <= number < 1 or (zero and number == 0)):
        raise InputError(typed.field, typed.text, allowed)
    return number
