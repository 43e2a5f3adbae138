"""A trace from a file, and what is refused."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from isohume.bench.reading.settling.trace_file import read_trace
from isohume.foundation.quantity.errors import InputError


def test_columns_that_were_not_taken_are_missing(tmp_path: Path) -> None:
    path = tmp_path / "run.csv"
    path.write_text("elapsed_s,a_w,room_humidity,sample_temperature_c\n0,0,0.45,\n2.5,0.6120,0.46,26.1\n")
    trace = read_trace(path)
    assert trace.elapsed_s.tolist() == [0.0, 2.5]
    assert str(trace.typed[1]) == "0.6120"
    assert np.isnan(trace.sample_temperature_c).tolist() == [True, False]
    assert np.isnan(trace.block_temperature_c).all()
    assert trace.until(1.0).n == 1


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ("5,65.2,,", "a_w"),
        ("5,-0.1,,", "a_w"),
        ("0,0.5,,", "more than 0"),
        ("x,0.5,,", "elapsed_s"),
        ("5,0.5,45,", "room_humidity"),
        ("5,0.5,,400", "sample_temperature_c"),
    ],
)
def test_a_bad_row_is_named_with_what_is_allowed(tmp_path: Path, row: str, said: str) -> None:
    path = tmp_path / "run.csv"
    path.write_text(f"elapsed_s,a_w,room_humidity,sample_temperature_c\n0,0.5,,\n{row}\n")
    with pytest.raises(InputError, match=said) as refused:
        read_trace(path)
    assert "row 3" in str(refused.value)


def test_an_empty_file_and_a_missing_column(tmp_path: Path) -> None:
    path = tmp_path / "run.csv"
    path.write_text("elapsed_s,a_w\n")
    with pytest.raises(InputError, match="at least one row"):
        read_trace(path)
    path.write_text("t,a_w\n0,0.5\n")
    with pytest.raises(InputError, match="elapsed_s"):
        read_trace(path)
