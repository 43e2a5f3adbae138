"""A table of a TOML file read strictly: every key is asked for by name, and what nobody asked for is refused."""

from __future__ import annotations

import difflib
from decimal import Decimal
from typing import Any

from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_decimal, read_words

LONGEST_TEXT = 200
SMALLEST_U = Decimal("0.000001")
"""No instrument of the trade comes near it; below it nothing could be printed beside its value."""


class Section:
    """One table with the name it has in the file; `close` refuses keys that nobody asked for.

    `notes` collects remarks, such as a decimal comma read as a point, from this table and those inside it.
    """

    def __init__(self, name: str, content: Any, notes: list[str] | None = None) -> None:
        if not isinstance(content, dict):
            raise InputError(name or "file", content, f"a table [{name}]")
        self.name, self._content, self._asked = name, content, set[str]()
        self.notes: list[str] = [] if notes is None else notes

    def field(self, key: str) -> str:
        """The key with its table, as errors print it."""
        return f"{self.name}.{key}" if self.name else key

    def has(self, key: str) -> bool:
        """Whether the key is there."""
        self._asked.add(key)
        return key in self._content

    def text(self, key: str, default: str | None = None, most: int = LONGEST_TEXT) -> str:
        """A non-empty line of text; required where no default is given."""
        if not self.has(key):
            if default is None:
                raise InputError(self.field(key), "nothing", "a text (it is required)")
            return default
        value = self._content[key]
        if not isinstance(value, str) or not value.strip():
            raise InputError(self.field(key), value, "a non-empty text")
        return read_words(value, self.field(key), most)

    def texts(self, key: str) -> tuple[str, ...]:
        """A list of texts; empty where the key is not there."""
        value = self.raw(key)
        if value is None:
            return ()
        if not isinstance(value, list) or not all(isinstance(item, str) and item.strip() for item in value):
            raise InputError(self.field(key), value, 'a list of texts such as ["filling", "base"]')
        return tuple(read_words(item, self.field(key)) for item in value)

    def choice(self, key: str, allowed: tuple[str, ...], default: str | None = None) -> str:
        """One of the allowed words."""
        value = self.text(key, default)
        if value not in allowed:
            raise InputError(self.field(key), value, " or ".join(allowed))
        return value

    def flag(self, key: str, default: bool) -> bool:
        """true or false."""
        if not self.has(key):
            return default
        value = self._content[key]
        if not isinstance(value, bool):
            raise InputError(self.field(key), value, "true or false")
        return value

    def decimal(self, key: str) -> Decimal | None:
        """A decimal as typed, number or text; None where the key is not there."""
        if not self.has(key):
            return None
        return read_decimal(self._content[key], self.field(key), notes=self.notes)

    def needed(self, key: str) -> Decimal:
        """A decimal that must be there."""
        value = self.decimal(key)
        if value is None:
            raise InputError(self.field(key), "nothing", "a number (it is required)")
        return value

    def within(self, error: InputError) -> InputError:
        """The same error with this table before its field, for a judge that knows the key alone."""
        error.field = self.field(error.field.removeprefix(f"{self.name}."))
        return error.at()

    def raw(self, key: str) -> Any:
        """The value as TOML read it; None where the key is not there."""
        return self._content[key] if self.has(key) else None

    def section(self, key: str) -> Section | None:
        """A table inside; None where it is not there."""
        return Section(self.field(key), self._content[key], self.notes) if self.has(key) else None

    def required(self, key: str) -> Section:
        """A table inside that must be there."""
        found = self.section(key)
        if found is None:
            raise InputError(self.field(key), "nothing", f"a table [{self.field(key)}] (it is required)")
        return found

    def sections(self, key: str) -> list[Section]:
        """A list of tables; empty where it is not there."""
        value = self.raw(key)
        if value is None:
            return []
        if not isinstance(value, list):
            raise InputError(self.field(key), value, f"tables [[{self.field(key)}]]")
        return [Section(f"{self.field(key)}[{i}]", item, self.notes) for i, item in enumerate(value, 1)]

    def close(self) -> None:
        """Refuse the first key that nobody asked for, naming the nearest that exists."""
        for key in self._content:
            if key not in self._asked:
                near = difflib.get_close_matches(key, sorted(self._asked), 1)
                hint = f"; did you mean {near[0]!r}?" if near else ""
                raise InputError(self.field(key), self._content[key], f"one of {', '.join(sorted(self._asked))}{hint}")
