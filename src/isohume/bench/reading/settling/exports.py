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
WANTS = "the optional part of isohume: pip install 'isohume[parquet]'"


def samples_csv(samples: Sequence[Sample]) -> str:
    """The samples as CSV, one row a reading, as `isohume trace` reads it again.

        elapsed_s,a_w,sample_temperature_c,block_temperature_c,room_humidity,state
    samples: the readings [s, 1, degC].
    Returns: the table [text]; a number that was not given is an empty cell.
    Source: none.
    """
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(COLUMNS)
    writer.writerows([_cell(name, getattr(one, name)) for name in COLUMNS] for one in samples)
    return out.getvalue()


def _cell(name: str, value: object) -> str:
    """A number with its digits; words that a spreadsheet would take for a formula get a sign before them."""
    text = "" if value is None else f"{value:f}" if name != "state" else str(value)
    return f"'{text}" if name == "state" and text[:1] in {"=", "+", "-", "@"} else text


def samples_parquet(samples: Sequence[Sample]) -> bytes:
    """The samples as Parquet: each number as a double, and a_w once more as the text that was read.

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
        source.write_text(samples_csv(samples), encoding="utf-8")
        types = ", ".join(f"'{name}': 'VARCHAR'" for name in COLUMNS)
        doubles = ", ".join(f"TRY_CAST({name} AS DOUBLE) AS {name}" for name in COLUMNS[:5])
        rows = f"SELECT {doubles}, state, a_w AS a_w_as_read FROM read_csv(?, header = true, columns = {{{types}}})"
        connection.execute(
            f"COPY ({rows}) TO '{target.as_posix()}' (FORMAT parquet)",
            [source.as_posix()],
        )
        return target.read_bytes()
