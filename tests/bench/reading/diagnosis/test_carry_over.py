"""Carry-over from the sequence of runs: job.md row 13, plant C."""

from __future__ import annotations

from pathlib import Path

import pytest

from isohume.bench.reading.diagnosis.carry_over import SequenceRun, carried_over
from isohume.bench.reading.diagnosis.sequence_file import read_sequence
from isohume.foundation.quantity.errors import InputError

CLOVE = SequenceRun("clove", 0.57)


def test_the_reference_after_the_cloves_is_flagged_and_that_one_only() -> None:
    runs = [
        SequenceRun("NaCl", 0.7535, 0.7529),
        CLOVE,
        SequenceRun("MgCl2 first", 0.341, 0.3278),
        SequenceRun("MgCl2 again", 0.329, 0.3278),
    ]
    (found,) = carried_over(runs, 0.003)
    assert (found.run, found.after) == ("MgCl2 first", "clove")
    assert found.share == pytest.approx(0.0132 / 0.2422)


@pytest.mark.parametrize(
    "runs",
    [
        [CLOVE, SequenceRun("low", 0.315, 0.3278), SequenceRun("next", 0.328, 0.3278)],  # away from the sample
        [CLOVE, SequenceRun("off", 0.341, 0.3278), SequenceRun("next", 0.341, 0.3278)],  # the instrument is off
        [CLOVE, SequenceRun("last", 0.341, 0.3278)],  # nothing tells whether it reads right again
        [CLOVE, SequenceRun("fine", 0.333, 0.3278), SequenceRun("next", 0.328, 0.3278)],  # within three u
        [SequenceRun("wet", 0.95), SequenceRun("sample", 0.7), SequenceRun("next", 0.328, 0.3278)],  # nothing expected
    ],
)
def test_what_is_no_carry_over(runs: list[SequenceRun]) -> None:
    assert carried_over(runs, 0.003) == ()


def test_a_folder_of_runs(tmp_path: Path) -> None:
    rows = "run,file,a_w,expected,u_expected\nclove,r1.csv,,,\nMgCl2,,0.341,0.3278,0.0008\n"
    (tmp_path / "sequence.csv").write_text(rows)
    (tmp_path / "r1.csv").write_text("elapsed_s,a_w\n0,0.40\n5,0.57\n")
    assert read_sequence(tmp_path) == [SequenceRun("clove", 0.57), SequenceRun("MgCl2", 0.341, 0.3278, 0.0008)]


@pytest.mark.parametrize(
    ("row", "field"),
    [("a,,,,", "a_w"), ("a,r.csv,0.5,,", "a_w"), (",,0.5,,", "run"), ("a,../r.csv,,,", "file"), ("a,,65,,", "a_w")],
)
def test_a_bad_row_is_named(tmp_path: Path, row: str, field: str) -> None:
    (tmp_path / "sequence.csv").write_text(f"run,file,a_w,expected,u_expected\nfirst,,0.5,,\n{row}\n")
    with pytest.raises(InputError, match=field) as refused:
        read_sequence(tmp_path)
    assert "row 3" in str(refused.value)
