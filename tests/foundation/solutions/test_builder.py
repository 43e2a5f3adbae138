"""The data files are what the builder writes from the published tables, and their sources are listed."""

import importlib.util
import json
from pathlib import Path

import pytest

from isohume.foundation.quantity.sources import sources
from isohume.outlets.validate.check import read_table

ROOT = Path(__file__).parents[3]
DATA = ROOT / "src" / "isohume" / "foundation" / "solutions" / "data"
SPEC = importlib.util.spec_from_file_location("builder_of_solutions", ROOT / "builders" / "solutions.py")
builder = importlib.util.module_from_spec(SPEC)
SPEC.loader.exec_module(builder)


def kept(name):
    return json.loads((DATA / f"{name}.json").read_text(encoding="utf-8"))


def test_saturated_salts_are_the_printed_tables():
    more = builder.rows_of(builder.MORE / "more_table_rows.csv")
    assert builder.saturated(read_table("saturated_salts.csv"), more) == kept("saturated")


def test_electrolytes_are_the_printed_tables():
    limits = builder.rows_of(builder.MORE / "pitzer_ranges.csv")
    found = builder.electrolytes(read_table("unsaturated_solutions.csv"), limits)
    builder.with_temperature_terms(found)
    assert found == kept("electrolytes")


def test_the_builder_stops_at_a_row_that_its_polynomial_does_not_give():
    rows = [dict(row) for row in read_table("saturated_salts.csv")]
    next(row for row in rows if row["kind"] == "polynomial_printed" and row["salt"] == "LiCl")["value2"] = "-0.00824245"
    with pytest.raises(SystemExit, match="LiCl at 5 degC"):
        builder.saturated(rows, [])


@pytest.mark.parametrize(("elements", "g_per_mol"), [("Na Cl", 58.443), ("Mg Cl2", 95.211), ("C12 H22 O11", 342.297)])
def test_molar_masses(elements, g_per_mol):
    # handbook molar masses, last printed digit
    masses = {row["element"]: float(row["g_per_mol"]) for row in builder.rows_of(builder.MORE / "atomic_masses.csv")}
    assert builder.molar_mass(elements, masses) == pytest.approx(g_per_mol, abs=0.002)


@pytest.mark.parametrize("name", ["electrolytes", "nonelectrolytes", "saturated", "sources", "substances"])
def test_each_data_file_is_small(name):
    assert (DATA / f"{name}.json").stat().st_size < 16_000


def test_every_source_key_is_in_the_list_of_sources():
    keys = kept("sources")
    assert set(keys) <= set(sources())
    assert all(sources()[key].verified == mark for key, mark in keys.items())
