"""The error family: every refusal of bad input says the field, what was read and what is allowed.

    IsohumeError
    ├── InputError            a field holds something that is not allowed
    │   ├── RangeError        a number lies outside the valid range of a model or a field
    │   └── UnknownNameError  a name is not known; the nearest known names are given
    └── IntegrityError        a stored record or ledger line is not what it was

A negative judgement (a failed check, a lot on hold) is a result with reasons, never an exception.
"""

from __future__ import annotations

from collections.abc import Sequence


class IsohumeError(Exception):
    """The root of the family; catching it catches everything isohume raises on purpose."""


class InputError(IsohumeError):
    """A field holds something that is not allowed; the text is one line a person can act on."""

    def __init__(
        self,
        field: str,
        value: object,
        allowed: str,
        *,
        row: int | None = None,
        file: str | None = None,
    ) -> None:
        self.field, self.value, self.allowed, self.row, self.file = field, value, allowed, row, file
        super().__init__(self._text())

    def _text(self) -> str:
        place = f"{self.file}: " if self.file else ""
        place += f"row {self.row}: " if self.row is not None else ""
        return f"{place}{self.field}: read {shown(self.value)}; allowed: {self.allowed}"

    def at(self, *, row: int | None = None, file: str | None = None) -> InputError:
        """The same error with its place in a file, for readers that know the place only later."""
        self.row = self.row if row is None else row
        self.file = self.file if file is None else file
        self.args = (self._text(),)
        return self

    def __str__(self) -> str:
        return self._text()


class RangeError(InputError):
    """A number lies outside the valid range; nothing was clamped.

    `low` and `high` are the limits in the field's unit, `offending` the positions of the bad elements
    (empty for a single number).
    """

    def __init__(
        self,
        field: str,
        value: object,
        low: float,
        high: float,
        *,
        unit: str = "",
        offending: Sequence[int] = (),
        why: str = "",
        row: int | None = None,
        file: str | None = None,
    ) -> None:
        self.low, self.high, self.unit, self.offending = low, high, unit, tuple(offending)
        allowed = f"{low:.6g} to {high:.6g}{' ' + unit if unit else ''}{' (' + why + ')' if why else ''}"
        super().__init__(field, value, allowed, row=row, file=file)


class UnknownNameError(InputError):
    """A name is not known; `nearest` holds up to three known names that look like it."""

    def __init__(self, field: str, value: object, nearest: Sequence[str], *, note: str = "") -> None:
        self.nearest = tuple(nearest)
        listed = ", ".join(self.nearest) or "none known"
        super().__init__(field, value, f"a known name; nearest: {listed}{note}")


class IntegrityError(IsohumeError):
    """A stored record or ledger line is not what it was, or a guard of the store is missing."""


def shown(value: object) -> str:
    """A value as an error message prints it: one line, no control characters, at most 80 characters."""
    text = value if isinstance(value, str) else str(value)
    text = "".join(c if c.isprintable() else "\N{REPLACEMENT CHARACTER}" for c in text)
    text = text if len(text) <= 80 else text[:77] + "..."
    return repr(text) if isinstance(value, str) else text
