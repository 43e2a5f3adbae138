"""A whole run as evidence, and its exports: what comes back is what went in, and other programs can read it."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import duckdb
import pytest

from isohume.bench.reading.settling import Sample, read_trace
from isohume.bench.reading.settling.exports import samples_csv, samples_parquet
from isohume.bench.reading.settling.kept_run import RunHeader, pack_run, unpack_run
from isohume.foundation.quantity.errors import InputError

HEADER = RunHeader("r7", "Bench 1", "OW-1", "OW1-0417", "0042", "2026-09-16T09:00:00+00:00", "", "end line")
SAMPLES = (
    Sample(Decimal("1.0"), Decimal("0.4010"), Decimal("24.9"), Decimal("25.0"), Decimal("0.45"), "measuring"),
    Sample(Decimal("2.0"), Decimal("0.4100"), None, Decimal("25.0"), None, "=1+1"),
)


def test_header_and_samples_come_back() -> None:
    header, samples = unpack_run(pack_run(HEADER, SAMPLES))
    assert header == HEADER
    assert [str(one.a_w) for one in samples] == ["0.4010", "0.4100"]
    assert unpack_run(pack_run(HEADER, ()))[1] == ()


def test_the_file_says_what_it_is_to_whoever_opens_it() -> None:
    kept = pack_run(HEADER, SAMPLES)
    first, second = kept.split(b"\n")[:2]
    assert first == b"isohume captured run 1"
    assert b'"instrument":"OW-1"' in second


@pytest.mark.parametrize("kept", [b"", b"isohume captured run 1\n", b"isohume captured run 1\n{}\n", b"other"])
def test_other_bytes_are_refused(kept: bytes) -> None:
    with pytest.raises(InputError):
        unpack_run(kept)


def test_the_csv_is_read_again_digit_for_digit(tmp_path: Path) -> None:
    file = tmp_path / "trace.csv"
    file.write_text(samples_csv(SAMPLES), encoding="utf-8")
    trace = read_trace(file)
    assert [str(one) for one in trace.typed] == ["0.4010", "0.4100"]
    assert trace.room_humidity[0] == 0.45
    assert "'=1+1" in file.read_text(encoding="utf-8")


def test_duckdb_reads_the_parquet(tmp_path: Path) -> None:
    """DuckDB's own reader is the outside check of the file."""
    file = tmp_path / "trace.parquet"
    file.write_bytes(samples_parquet(SAMPLES))
    rows = duckdb.sql(f"SELECT elapsed_s, a_w, a_w_as_read, sample_temperature_c FROM '{file}' ORDER BY 1").fetchall()
    assert rows == [(1.0, 0.401, "0.4010", 24.9), (2.0, 0.41, "0.4100", None)]


STATES = ("-", "=1+1", "'a", 'the "lid", open', "+", "", "two\nlines", " ", "NULL")


def test_the_parquet_holds_every_digit_and_every_state_as_it_came(tmp_path: Path) -> None:
    """Nothing of what protects a spreadsheet's reader is in it; the texts are those that went in."""
    samples = [
        Sample(Decimal(f"{n}.00"), Decimal("0.65123456789"), Decimal("24.90"), Decimal("25.0"), Decimal("0.450"), state)
        for n, state in enumerate(STATES)
    ]
    samples.append(Sample(Decimal("99"), Decimal("0.6500"), None, None, None, "end"))
    file = tmp_path / "trace.parquet"
    file.write_bytes(samples_parquet(samples))
    found = duckdb.sql(f"SELECT * FROM '{file}' ORDER BY elapsed_s")
    names = [name for name in Sample._fields if name != "state"]
    assert found.columns == [*names, "state", *(f"{name}_as_read" for name in names)]
    rows = [dict(zip(found.columns, row, strict=True)) for row in found.fetchall()]
    assert [row["state"] for row in rows] == [*STATES, "end"]
    for row, sample in zip(rows, samples, strict=True):
        for name in names:
            read = getattr(sample, name)
            assert row[f"{name}_as_read"] == (None if read is None else str(read))
            assert row[name] == (None if read is None else float(read))


def test_a_state_that_a_spreadsheet_would_run_has_a_sign_before_it_in_the_csv() -> None:
    samples = [Sample(Decimal(n), Decimal("0.65"), None, None, None, state) for n, state in enumerate(("-", "'a", "a"))]
    assert [line.rsplit(",", 1)[1] for line in samples_csv(samples).splitlines()[1:]] == ["'-", "''a", "a"]
