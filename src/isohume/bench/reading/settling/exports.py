"""A captured trace for other programs: CSV with every digit as it was read, Parquet with numbers and the digits."""

from __future__ import annotations

import csv
import io
import tempfile
from collections.abc import Sequence
from pathlib import Path

from isohume.bench.reading.settling.compact import Sample
from isohume.foundation.quantity.errors import InputError

COLUMNS = Sample._fields
NUMBERS = COLUMNS[:-1]
WANTS = "the optional part of isohume: pip install 'isohume[parquet]'"
_FORMULA = frozenset("=+-@\t\r'")
"""What a spreadsheet takes for the beginning of a formula; and the sign itself, so that it can be taken away again."""


def samples_csv(samples: Sequence[Sample]) -> str:
    """The samples as CSV, one row a reading, as `isohume trace` reads it again.

        elapsed_s,a_w,sample_temperature_c,block_temperature_c,room_humidity,state
    samples: the readings [s, 1, degC].
    Returns: the table [text]; a number that was not given is an empty cell, and before a state that a spreadsheet would
        take for a formula stands an apostrophe.
    Source: none.
    """
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(COLUMNS)
    writer.writerows((*row[:-1], _guarded(row[-1])) for row in map(_as_read, samples))
    return out.getvalue()


def _as_read(sample: Sample) -> list[str]:
    """A sample's cells with every digit that was read."""
    *numbers, state = sample
    return [*("" if number is None else f"{number:f}" for number in numbers), state]


def _guarded(state: str) -> str:
    """Words that a spreadsheet would take for a formula get a sign before them."""
    return f"'{state}" if state[:1] in _FORMULA else state


def samples_parquet(samples: Sequence[Sample]) -> bytes:
    """The samples as Parquet: each number as a double, and once more as the text that was read; states as they came.

        one row a reading
    samples: the readings [s, 1, degC].
    Returns: the file [bytes].
    Raises: InputError where the optional part that writes Parquet is not installed.
    Source: none.
    """
    try:
        import duckdb
    except ImportError:
        raise InputError("format", "parquet", WANTS) from None
    with tempfile.TemporaryDirectory(prefix="isohume-parquet-") as folder, duckdb.connect() as connection:
        source, target = Path(folder) / "trace.csv", Path(folder) / "trace.parquet"
        with source.open("w", encoding="utf-8", newline="") as out:
            writer = csv.writer(out, lineterminator="\n", quoting=csv.QUOTE_ALL)
            writer.writerow(COLUMNS)
            writer.writerows(map(_as_read, samples))
        connection.execute(f"COPY ({_QUESTION}) TO '{target.as_posix()}' (FORMAT parquet)", [source.as_posix()])
        return target.read_bytes()


_TYPES = ", ".join(f"'{name}': 'VARCHAR'" for name in COLUMNS)
_DOUBLES = ", ".join(f"TRY_CAST({name} AS DOUBLE) AS {name}" for name in NUMBERS)
_TEXTS = ", ".join(f"NULLIF({name}, '') AS {name}_as_read" for name in NUMBERS)
_READ = f"""read_csv(?, header = true, delim = ',', quote = '"', escape = '"', columns = {{{_TYPES}}})"""
_QUESTION = f"SELECT {_DOUBLES}, coalesce(state, '') AS state, {_TEXTS} FROM {_READ}"
