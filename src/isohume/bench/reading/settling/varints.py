"""Whole numbers in few bytes: seven bits a byte, small ones first, and runs of the same number once."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

from isohume.foundation.quantity.errors import InputError

LONGEST_VARINT = 24  # a column of 15 digits with up to 15 places between its finest and its coarsest number


def put_varint(out: bytearray, number: int) -> None:
    """A whole number of 0 or more, seven bits a byte, the last byte below 128."""
    while number > 127:
        out.append(number & 127 | 128)
        number >>= 7
    out.append(number)


def put_text(out: bytearray, text: str) -> None:
    """A text with its length before it."""
    body = text.encode()
    put_varint(out, len(body))
    out += body


def put_runs(out: bytearray, numbers: Sequence[int]) -> None:
    """Each number once with how often it follows itself."""
    for number, group in groupby(numbers):
        put_varint(out, number)
        put_varint(out, sum(1 for _ in group))


def put_zigzags(out: bytearray, numbers: Sequence[int]) -> None:
    """Numbers of both signs; the lowest bit tells a run of zeros from a number."""
    for number, group in groupby(numbers):
        times = sum(1 for _ in group)
        if number == 0:
            put_varint(out, times << 1 | 1)
            continue
        folded = number << 1 if number > 0 else (-number << 1) - 1
        for _ in range(times):
            put_varint(out, folded << 1)


class Reader:
    """Reads what the functions above wrote; whatever does not fit is an InputError."""

    def __init__(self, packed: bytes, at: int) -> None:
        self._packed = packed
        self._at = at

    def varint(self) -> int:
        """The next number of 0 or more."""
        number = 0
        for place in range(LONGEST_VARINT):
            if self._at >= len(self._packed):
                raise InputError("trace", f"{len(self._packed)} bytes", "a whole compact trace; this one ends early")
            byte = self._packed[self._at]
            self._at += 1
            number |= (byte & 127) << 7 * place
            if byte < 128:
                return number
        raise InputError("trace", f"byte {self._at}", f"a number of at most {LONGEST_VARINT} bytes")

    def at_most(self, largest: int, what: str) -> int:
        """The next number, which cannot be more than that."""
        number = self.varint()
        if number > largest:
            raise InputError("trace", f"{what}: {number}", f"at most {largest}")
        return number

    def text(self) -> str:
        """The next text."""
        size = self.at_most(len(self._packed) - self._at, "length of a text")
        body = self._packed[self._at : self._at + size]
        self._at += size
        try:
            return bytes(body).decode()
        except UnicodeDecodeError:
            raise InputError("trace", bytes(body).hex(), "a text in UTF-8") from None

    def runs(self, count: int, largest: int) -> list[int]:
        """So many numbers that stand as runs."""
        numbers: list[int] = []
        while len(numbers) < count:
            number = self.at_most(largest, "number of a run")
            numbers += [number] * self._length(count - len(numbers))
        return numbers

    def zigzags(self, count: int) -> list[int]:
        """So many numbers of both signs."""
        numbers: list[int] = []
        while len(numbers) < count:
            token = self.varint()
            if token & 1:
                numbers += [0] * self._within(token >> 1, count - len(numbers))
                continue
            folded = token >> 1
            numbers.append(folded >> 1 if folded % 2 == 0 else -(folded + 1 >> 1))
        return numbers

    def must_be_done(self) -> None:
        """Nothing may follow."""
        if self._at != len(self._packed):
            raise InputError("trace", f"{len(self._packed) - self._at} bytes after the end", "nothing after the end")

    def _length(self, left: int) -> int:
        return self._within(self.varint(), left)

    @staticmethod
    def _within(length: int, left: int) -> int:
        if not 1 <= length <= left:
            raise InputError("trace", f"a run of {length}", f"1 to {left}")
        return length
