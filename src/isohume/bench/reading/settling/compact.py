"""A trace in a compact form that keeps every number exactly as it was read, trailing zeros too.

Seven bytes of name and version, then the samples column by column. A number is kept as a whole number of its column's
finest decimal place, beside runs that say how many decimals were read; columns hold differences (of the times:
differences of differences), small numbers take one byte and a run of zeros takes one token. The bytes follow from the
samples alone, so their digest can stand in a record.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from decimal import Decimal
from typing import NamedTuple

import numpy as np

from isohume.bench.reading.settling.trace import Array, Trace, trace_of
from isohume.bench.reading.settling.varints import Reader, put_runs, put_text, put_varint, put_zigzags
from isohume.foundation.quantity.errors import InputError

MAGIC = b"a_wtrc\x01"
MOST_SAMPLES = 2_000_000
FINEST, COARSEST, MOST_DIGITS = -12, 3, 15
LONGEST_STATE = 60
ABSENT = 0


class Sample(NamedTuple):
    """One reading of a run as the instrument gave it; None where it gave none."""

    elapsed_s: Decimal
    a_w: Decimal
    sample_temperature_c: Decimal | None = None
    block_temperature_c: Decimal | None = None
    room_humidity: Decimal | None = None
    state: str = ""


NUMBERS = Sample._fields[:5]
REQUIRED = NUMBERS[:2]


def pack(samples: Sequence[Sample]) -> bytes:
    """The samples in the compact form.

        column by column: the differences of whole numbers, small ones in one byte
    samples: the readings in the order in which they came [s, 1, degC].
    Returns: the bytes, the same for the same samples [bytes].
    Raises: InputError for a number that is not finite, has more than 15 digits or 12 decimals, a required number that
        is absent, a state of more than 60 characters, or more than 2,000,000 samples.
    Source: none.
    """
    if len(samples) > MOST_SAMPLES:
        raise InputError("samples", len(samples), f"at most {MOST_SAMPLES}")
    out = bytearray(MAGIC)
    put_varint(out, len(samples))
    for field in NUMBERS:
        _put_numbers(out, field, [getattr(one, field) for one in samples])
    _put_states(out, [one.state for one in samples])
    return bytes(out)


def unpack(packed: bytes) -> tuple[Sample, ...]:
    """The samples of a compact form.

        the inverse of pack, digit for digit
    packed: what pack made [bytes].
    Returns: the samples in their order [s, 1, degC].
    Raises: InputError where the bytes are not that form, end early or go on after the end.
    Source: none.
    """
    if not packed.startswith(MAGIC):
        raise InputError("trace", bytes(packed[:8]).hex(), f"a compact trace, which begins with {MAGIC.hex()}")
    reader = Reader(packed, len(MAGIC))
    count = reader.at_most(MOST_SAMPLES, "number of samples")
    columns = [_numbers(reader, field, count) for field in NUMBERS]
    states = _states(reader, count)
    reader.must_be_done()
    return tuple(Sample(*row) for row in zip(*columns, states, strict=True))


def growing(samples: Iterable[Sample]) -> tuple[Sample, ...]:
    """The samples whose time is later than of all before them.

        t_1 < t_2 < ... < t_n
    samples: the readings in the order in which they came [s, 1, degC].
    Returns: those that a trace can hold [s, 1, degC]: an instrument whose clock went back gave readings that stay in
        the record and cannot be judged.
    Source: none.
    """
    kept: list[Sample] = []
    for one in samples:
        if not kept or one.elapsed_s > kept[-1].elapsed_s:
            kept.append(one)
    return tuple(kept)


def trace_of_samples(samples: Sequence[Sample]) -> Trace:
    """The trace of samples as an instrument gave them.

        t_1 < t_2 < ... < t_n
    samples: the readings in the order in which they came, at least one [s, 1, degC].
    Returns: the Trace [1]; readings whose time did not grow are left out (see `growing`).
    Raises: InputError where there is no reading.
    Source: none.
    """
    kept = growing(samples)
    others = [_floats([getattr(one, field) for one in kept]) for field in NUMBERS[2:]]
    return trace_of([float(one.elapsed_s) for one in kept], [one.a_w for one in kept], *others)


def _floats(column: Sequence[Decimal | None]) -> Array:
    return np.array([float("nan") if one is None else float(one) for one in column], dtype=float)


def _put_numbers(out: bytearray, field: str, column: Sequence[Decimal | None]) -> None:
    kinds = [_kind(field, one) for one in column]
    finest = min((_exponent_of(kind)[0] for kind in kinds if kind != ABSENT), default=0)
    finest = min(finest, 0)
    wholes = [int(one.scaleb(-finest)) for one in column if one is not None]
    put_varint(out, -finest)
    put_runs(out, kinds)
    put_zigzags(out, _differences(wholes, 2 if field == "elapsed_s" else 1))


def _kind(field: str, number: Decimal | None) -> int:
    """How a number was written: 0 where there is none, else its decimals, and whether it is a zero with a minus."""
    if number is None:
        if field in REQUIRED:
            raise InputError(field, "nothing", "a number in every sample")
        return ABSENT
    sign, digits, exponent = number.as_tuple()
    if not isinstance(exponent, int):
        raise InputError(field, number, "a finite number")
    if not FINEST <= exponent <= COARSEST or len(digits) > MOST_DIGITS:
        raise InputError(field, number, f"at most {MOST_DIGITS} digits and {-FINEST} decimals")
    return 1 + 2 * (exponent - FINEST) + int(bool(sign) and number == 0)


def _exponent_of(kind: int) -> tuple[int, bool]:
    return (kind - 1) // 2 + FINEST, bool((kind - 1) % 2)


def _numbers(reader: Reader, field: str, count: int) -> list[Decimal | None]:
    finest = -reader.at_most(-FINEST, "decimals")
    kinds = reader.runs(count, 1 + 2 * (COARSEST - FINEST) + 1)
    wholes = iter(_sums(reader.zigzags(sum(kind != ABSENT for kind in kinds)), 2 if field == "elapsed_s" else 1))
    return [None if kind == ABSENT else _number(next(wholes), finest, kind) for kind in kinds]


def _number(whole: int, finest: int, kind: int) -> Decimal:
    exponent, minus_zero = _exponent_of(kind)
    digits, left = divmod(abs(whole), 10 ** max(exponent - finest, 0))
    if left or exponent < finest or (minus_zero and whole):
        raise InputError("trace", whole, "a number with the decimals that stand beside it")
    return Decimal((int(whole < 0 or minus_zero), tuple(map(int, str(digits))), exponent))


def _put_states(out: bytearray, states: Sequence[str]) -> None:
    names = {name: place for place, name in enumerate(dict.fromkeys(states))}
    for name in names:
        if len(name) > LONGEST_STATE:
            raise InputError("state", name[:LONGEST_STATE], f"at most {LONGEST_STATE} characters")
    put_varint(out, len(names))
    for name in names:
        put_text(out, name)
    put_runs(out, [names[name] for name in states])


def _states(reader: Reader, count: int) -> list[str]:
    names = [reader.text() for _ in range(reader.at_most(count, "number of states"))]
    return [names[place] for place in reader.runs(count, len(names) - 1)]


def _differences(numbers: Sequence[int], order: int) -> list[int]:
    column = list(numbers)
    for _ in range(order):
        column = [now - before for now, before in zip(column, [0, *column], strict=False)]
    return column


def _sums(differences: Sequence[int], order: int) -> list[int]:
    column = list(differences)
    for _ in range(order):
        total = 0
        for place, one in enumerate(column):
            total += one
            column[place] = total
    return column
