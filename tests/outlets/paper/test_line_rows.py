"""The table of a line says the same as the picture."""

from __future__ import annotations

from isohume.outlets.paper.line_rows import LineRow, line_table
from isohume.outlets.paper.line_spec import LimitMark, Reference, Speaks, ValueMark, fitted

RUNS = [ValueMark(f"run {i}", 0.630 + i / 1000, f"0.63{i}0", "reading") for i in range(8)]


def test_every_mark_has_a_row() -> None:
    spec = fitted(
        "t",
        (Reference("NaCl", 0.75296, 0.7542, False), Reference("KCl", 0.8434)),
        Speaks(0.328, 0.753),
        [LimitMark(0.65, "<=", "0.650", 0.6438, "0.6438"), LimitMark(0.6, ">", "0.60")],
        [ValueMark("mean of 2", 0.6323, "0.6323", half_width=0.0075, half_width_typed="0.0075", note="k = 2")],
    )
    assert line_table(spec) == (
        LineRow("Mean of 2", "0.6323", "0.6248 to 0.6398", "k = 2"),
        LineRow("Upper limit", "≤ 0.650", "0.6438 to 0.650", "guard band; acceptance limit ≤ 0.6438"),
        LineRow("Lower limit", "> 0.60", "", ""),
        LineRow("Reference NaCl", "0.7530", "", "read 0.7542, not within its limit"),
        LineRow("Reference KCl", "0.8434", "", "not read yet"),
        LineRow("The instrument may speak", "", "0.3280 to 0.7530", "the thick part of the line"),
    )


def test_many_readings_are_summed_up_where_asked_and_whole_otherwise() -> None:
    spec = fitted("t", values=RUNS)
    assert len(line_table(spec)) == 8
    assert line_table(spec, most_readings=6) == (
        LineRow("8 readings that count", "", "0.6300 to 0.6370", "lowest to highest"),
    )
