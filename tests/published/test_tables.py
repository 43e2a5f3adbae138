"""The shipped tables: columns, ids, no web places; their number of rows."""

import re

import pytest

from isohume.outlets.validate.check import read_table

TABLES = {
    "water": ("W", 135),
    "saturated_salts": ("S", 242),
    "unsaturated_solutions": ("U", 97),
    "metrology": ("Q", 177),
}


@pytest.mark.parametrize("name", TABLES)
def test_rows_and_ids(name):
    letter, count = TABLES[name]
    ids = [row["id"] for row in read_table(name)]
    assert len(ids) == len(set(ids)) == count
    assert all(re.fullmatch(rf"{letter}\d{{3}}", id_) for id_ in ids)


@pytest.mark.parametrize("name", TABLES)
def test_trust_marks_and_sources(name):
    for row in read_table(name):
        assert row["how"] in ("looked-up", "computed", "memory")
        assert row["source"]
        assert None not in row


@pytest.mark.parametrize("name", TABLES)
def test_no_web_places(name):
    place = re.compile(r"https?:|www\.|github|\b[\w-]+\.(com|org|net|gov|edu|io|pl)\b", re.IGNORECASE)
    for row in read_table(name):
        assert "address" not in row
        for cell in row.values():
            assert not place.search(cell), (row["id"], cell)
