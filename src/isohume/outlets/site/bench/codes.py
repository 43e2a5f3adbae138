"""Codes of lots, samples and cups: no look-alikes, and the next free one where none is given."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from itertools import count
from string import ascii_uppercase

from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_words


def read_code(typed: str, field: str, most: int) -> str:
    """A code as typed; what only looks like a plain sign would make a lot of its own, so it is refused.

    The same rule as for the lot id of a lot file.
    """
    code = read_words(typed, field, most)
    if not code:
        raise InputError(field, "nothing", f"a code of at most {most} characters")
    plain = unicodedata.normalize("NFKC", code)
    if plain != code or not all(c.isalnum() or (c.isascii() and c.isprintable()) for c in plain):
        raise InputError(field, code, "letters, digits and plain signs; write other dashes as -")
    return code


def next_letter(taken: Iterable[str]) -> str:
    """The next free cup letter: A to Z, then A2 and so on."""
    used = {code.casefold() for code in taken}
    rounds = (f"{letter}{number if number > 1 else ''}" for number in count(1) for letter in ascii_uppercase)
    return next(code for code in rounds if code.casefold() not in used)


def next_number(taken: Iterable[str]) -> str:
    """The next free sample number of a lot."""
    used = {code.casefold() for code in taken}
    return next(str(number) for number in count(1) if str(number) not in used)
