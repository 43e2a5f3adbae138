"""The shipped tables: columns, ids, no web places; their number of rows."""

import re

import pytest

from isohume.outlets.validate.check import read_table

TABLES = {
    "water": ("W", 135),
    "saturated_salts": ("S", 242),
    "unsaturated_solutions": ("U", 97),
    "metrology": ("Q", 177),
    "isotherms": ("I", 439),
    "precision": ("PC", 90),
}


@pytest.mark.parametrize("name", TABLES)
def test_rows_and_ids(name):
    letter, count = TABLES[name]
    ids = [row["id"] for row in read_table(name)]
    assert len(ids) == len(set(ids)) == count
    assert all(re.fullmatch(rf"{letter}\d{{3,4}}", id_) for id_ in ids)


@pytest.mark.parametrize("name", TABLES)
def test_trust_marks_and_sources(name):
    for row in read_table(name):
        assert row["how"] in ("looked-up", "computed", "memory")
        assert row["source"]
        assert None not in row


SORPTION = {"measured_sets": 84, "measured_points": 2137, "isotherm_params": 31, "isotherm_refits": 54}


@pytest.mark.parametrize("name", SORPTION)
def test_rows_of_the_measured_sorption(name):
    rows = read_table(name)
    keys = [row["set_id" if name == "measured_sets" else "id"] for row in rows]
    assert len(keys) == len(set(keys)) == SORPTION[name]
    tables = ("measured_points", "measured_sets")
    of_points, of_sets = ({row["set_id"] for row in read_table(table)} for table in tables)
    assert of_points == of_sets


@pytest.mark.parametrize("name", [*TABLES, *SORPTION])
def test_no_web_places(name):
    place = re.compile(r"https?:|www\.|github|\b[\w-]+\.(com|org|net|gov|edu|io|pl)\b", re.IGNORECASE)
    for row in read_table(name):
        assert "address" not in row
        for cell in row.values():
            assert not place.search(cell), (row.get("id"), cell)
