"""One direction and one temperature of a file: chosen where there is one, asked for where there are several."""

from __future__ import annotations

import pytest

from isohume.foundation.quantity.errors import InputError
from isohume.product.sorption.point_file import PointRecord, PointTable
from isohume.product.sorption.point_selection import points_of, select_points

ADS, DES = "adsorption", "desorption"


def table(*points: tuple[float | None, str | None]) -> PointTable:
    """A table of points at these temperatures and in these directions, wetter from row to row."""
    records = [
        PointRecord(i + 2, 0.1 * (i + 1), 0.02 * (i + 1), temperature_c=at, direction=way)
        for i, (at, way) in enumerate(points)
    ]
    return PointTable(tuple(records), "moisture_db")


BOTH = table((25.0, ADS), (25.0, ADS), (25.0, DES), (35.0, ADS))


def test_a_file_that_says_neither_is_taken_whole() -> None:
    found = select_points(table((None, None), (None, None)))
    assert len(found.records) == 2
    assert (found.direction, found.temperature_c, found.by_temperature) == (None, None, {})


def test_the_only_direction_and_temperature_need_no_word() -> None:
    found = select_points(table((25.0, ADS), (25.0, ADS)))
    assert (found.direction, found.temperature_c, len(found.records)) == (ADS, 25.0, 2)
    assert found.notes == ()


def test_two_directions_must_be_chosen_between() -> None:
    with pytest.raises(InputError, match=r"direction: read 'nothing'.*adsorption \(3 points\), desorption \(1 points"):
        select_points(BOTH)


def test_two_temperatures_must_be_chosen_between() -> None:
    with pytest.raises(InputError, match=r"temperature_c: read 'nothing'.*25 \(2 points\), 35 \(1 points\)"):
        select_points(BOTH, ADS)


def test_the_choice_leaves_the_other_temperatures_for_the_heat() -> None:
    found = select_points(BOTH, ADS, 35.0)
    assert [record.row for record in found.records] == [5]
    assert {at: len(group) for at, group in found.by_temperature.items()} == {25.0: 2, 35.0: 1}


def test_all_temperatures_together() -> None:
    found = select_points(BOTH, ADS, together=True)
    assert [record.row for record in found.records] == [2, 3, 5]
    assert found.temperature_c is None
    assert select_points(BOTH, ADS, 25.0, together=True).temperature_c == 25.0


@pytest.mark.parametrize(
    ("made", "direction", "temperature", "says"),
    [
        (BOTH, ADS, 30.0, "one of the file's temperatures: 25 (2 points), 35 (1 points)"),
        (table((25.0, ADS)), DES, None, "one of the file's directions: adsorption (1 points)"),
        (table((25.0, None)), DES, None, "a file with a column direction: this one has none"),
        (table((None, None)), None, 25.0, "a file with a column temperature_c: this one has none"),
    ],
)
def test_a_choice_that_leads_nowhere_is_refused(
    made: PointTable, direction: str | None, temperature: float | None, says: str
) -> None:
    with pytest.raises(InputError) as refused:
        select_points(made, direction, temperature)
    assert refused.value.allowed == says


def test_readings_of_one_temperature_scatter() -> None:
    found = select_points(table((24.8, ADS), (25.0, ADS), (25.2, ADS), (34.9, ADS), (35.1, ADS)), None, 25.0)
    assert [record.row for record in found.records] == [2, 3, 4]
    assert found.temperature_c == pytest.approx(25.0)
    assert found.notes[0] == "temperature_c: 24.8 to 25.2 taken as one temperature, 25 degC"
    assert sorted({record.temperature_c for record in found.levelled()}) == pytest.approx([25.0, 35.0])


def test_a_ladder_of_temperatures_is_not_one() -> None:
    ladder = table((20.0, None), (20.8, None), (21.6, None), (22.4, None))
    with pytest.raises(InputError) as refused:
        select_points(ladder)
    assert refused.value.allowed.count("points)") == 2


def test_points_carry_what_the_file_says() -> None:
    points = points_of(BOTH.records[:2])
    assert points.count == 2
    assert list(points.a_w) == [0.1, 0.2]
    assert list(points.moisture_db) == [0.02, 0.04]
    assert points.temperature_c is not None
    assert list(points.temperature_c) == [25.0, 25.0]
    assert points.direction == (ADS, ADS)
    assert points.u_a_w is None
