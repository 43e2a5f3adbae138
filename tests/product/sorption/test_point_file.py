"""Points read from rows: the basis, the uncertainty carried over to it, and every refusal with its place."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from isohume.foundation.quantity.errors import InputError
from isohume.product.sorption.point_file import PointTable, read_point_rows

FEW = settings(derandomize=True, deadline=None, max_examples=100)


def table(header: str, *rows: str, notes: dict[int, list[str]] | None = None) -> PointTable:
    """The points of a small table, the header in row 1."""
    names = header.split(",")
    numbered = [(i, dict(zip(names, row.split(","), strict=False))) for i, row in enumerate(rows, 2)]
    return read_point_rows(numbered, notes)


@pytest.mark.parametrize(
    ("column", "typed", "moisture_db"),
    # 8.0 % dry basis is 7.41 % wet basis, 8.0 % wet basis 8.70 % dry basis: X = w/(1 - w) by hand, 2/23 = 0.0869565
    [
        ("moisture_db", "0.08", 0.08),
        ("moisture_db_percent", "8.0", 0.08),
        ("moisture_wb", "0.08", 2 / 23),
        ("moisture_wb_percent", "8", 2 / 23),
    ],
)
def test_the_column_says_the_basis(column: str, typed: str, moisture_db: float) -> None:
    found = table(f"a_w,{column}", f"0.5,{typed}")
    assert found.moisture_column == column
    assert found.records[0].moisture_db == pytest.approx(moisture_db, rel=1e-12)


@given(w=st.floats(0.001, 0.95), u=st.floats(1e-5, 1e-3))
@FEW
def test_u_is_carried_over_to_dry_basis_with_the_slope_of_the_conversion(w: float, u: float) -> None:
    """Against the difference of two converted moistures, u apart: the plain way to carry an uncertainty over."""
    step = 1e-7
    slope = ((w + step) / (1 - w - step) - (w - step) / (1 - w + step)) / (2 * step)
    by_fraction = table("a_w,moisture_wb,u_moisture", f"0.5,{w!r},{u!r}").records[0]
    by_percent = table("a_w,moisture_wb_percent,u_moisture", f"0.5,{100 * w!r},{100 * u!r}").records[0]
    assert by_fraction.u_moisture == pytest.approx(u * slope, rel=1e-5)
    assert by_percent.u_moisture == pytest.approx(by_fraction.u_moisture, rel=1e-9)
    assert by_percent.moisture_db == pytest.approx(by_fraction.moisture_db, rel=1e-9)


def test_u_on_dry_basis_stays_or_is_a_hundredth() -> None:
    assert table("a_w,moisture_db,u_moisture", "0.5,0.1,0.002").records[0].u_moisture == 0.002
    found = table("a_w,moisture_db_percent,u_moisture", "0.5,10,0.2").records[0]
    assert found.u_moisture == pytest.approx(0.002, rel=1e-12)


def test_what_a_file_does_not_say_is_none() -> None:
    record = table("a_w,moisture_db", "0.5,0.1").records[0]
    assert (record.u_a_w, record.u_moisture, record.temperature_c, record.direction) == (None, None, None, None)
    blank = table("a_w,moisture_db,temperature_c,direction,u_a_w,u_moisture", "0.5,0.1,,,,", "0.6,0.12,,,,")
    assert {record.temperature_c for record in blank.records} == {None}


def test_every_optional_column_is_read() -> None:
    header = "product,a_w,moisture_db,temperature_c,direction,u_a_w,u_moisture"
    record = table(header, "oat,0.5,0.1,24.9,Desorption,0.003,0.001").records[0]
    assert (record.temperature_c, record.direction) == (24.9, "desorption")
    assert (record.u_a_w, record.u_moisture, record.row) == (0.003, 0.001, 2)


def test_a_decimal_comma_is_read_and_said() -> None:
    notes: dict[int, list[str]] = {}
    names = ("a_w", "moisture_db_percent")
    found = read_point_rows([(2, dict(zip(names, ("0,5", "10,125"), strict=True)))], notes)
    assert found.records[0].moisture_db == pytest.approx(0.10125, rel=1e-12)
    assert notes == {
        2: ["moisture_db_percent: decimal comma in 10,125 read as 10.125", "a_w: decimal comma in 0,5 read as 0.5"]
    }


@pytest.mark.parametrize(
    ("header", "row", "field", "says"),
    [
        ("a_w,moisture_db", "65.2,0.1", "a_w", "was ERH in percent meant (a_w 0.652)?"),
        ("a_w,moisture_db", "1,0.1", "a_w", "below 1: at 1 no isotherm holds"),
        ("a_w,moisture_db", "0,0.1", "a_w", "leave the dry start out"),
        ("a_w,moisture_db", "0.000,0.1", "a_w", "greater than 0: "),
        ("a_w,moisture_db", ",0.1", "a_w", "it is blank"),
        ("a_w,moisture_db", "0.5,", "moisture_db", "it is blank"),
        ("a_w,moisture_db", "0.5,0", "moisture_db", "kg of water per kg of dry solids, greater than 0 and below 10"),
        ("a_w,moisture_db", "0.5,-0.1", "moisture_db", "greater than 0"),
        ("a_w,moisture_db", "0.5,12.5", "moisture_db", "was percent meant (column moisture_db_percent)?"),
        ("a_w,moisture_wb", "0.5,8.0", "moisture_wb", "kg of water per kg as is, greater than 0 and below 1; was"),
        ("a_w,moisture_wb_percent", "0.5,100", "moisture_wb_percent", "g of water per 100 g as is, greater than 0"),
        ("a_w,moisture_db_percent", "0.5,1200", "moisture_db_percent", "greater than 0 and below 1000"),
        ("a_w,moisture_db_percent", "0.5,8.0%", "moisture_db_percent", "without a percent sign"),
        ("a_w,moisture_db,u_moisture", "0.5,0.1,0", "u_moisture", "in the unit and basis of moisture_db"),
        ("a_w,moisture_db,u_a_w", "0.5,0.1,-1", "u_a_w", "a standard uncertainty in a_w"),
        ("a_w,moisture_db,temperature_c", "0.5,0.1,298.2", "temperature_c", "kelvin meant (25.0 degC)?"),
        ("a_w,moisture_db,direction", "0.5,0.1,up", "direction", "adsorption or desorption"),
    ],
)
def test_refusals_name_row_field_value_and_what_is_allowed(header: str, row: str, field: str, says: str) -> None:
    with pytest.raises(InputError) as refused:
        table(header, row)
    assert (refused.value.row, refused.value.field) == (2, field)
    assert says in refused.value.allowed


@pytest.mark.parametrize(
    ("header", "read"),
    [
        ("a_w,moisture", "a_w, moisture"),
        ("a_w,moisture_db,moisture_wb", "moisture_db, moisture_wb"),
    ],
)
def test_exactly_one_moisture_column(header: str, read: str) -> None:
    with pytest.raises(InputError, match="exactly one of moisture_db, moisture_wb, ") as refused:
        table(header, "0.5,0.1,0.09")
    assert (refused.value.value, refused.value.row) == (read, 1)


@pytest.mark.parametrize("column", ["temperature_c", "direction", "u_a_w", "u_moisture"])
def test_a_column_that_is_blank_in_some_rows_is_refused(column: str) -> None:
    value = {"temperature_c": "25", "direction": "adsorption"}.get(column, "0.01")
    with pytest.raises(InputError, match="a value in every row, or in none") as refused:
        table(f"a_w,moisture_db,{column}", f"0.5,0.1,{value}", "0.6,0.12,")
    assert (refused.value.row, refused.value.field) == (3, column)


def test_no_points_are_refused() -> None:
    with pytest.raises(InputError):
        read_point_rows([])


def test_numbers_that_look_like_the_other_unit_are_asked_about() -> None:
    (said,) = table("a_w,moisture_db", "0.3,5.2", "0.5,8.1").cautions
    assert said == "row 2: 5.2 kg/kg dry basis at a_w 0.3 is rare. Was percent meant (column moisture_db_percent)?"
    (said,) = table("a_w,moisture_wb_percent", "0.3,0.052", "0.5,0.081").cautions
    assert said == "every moisture is below 1 %: was a fraction meant (column moisture_wb)?"
    assert table("a_w,moisture_wb_percent", "0.3,0.9", "0.5,8.1").cautions == ()
    assert table("a_w,moisture_db", "0.3,0.05", "0.97,2.1").cautions == ()
