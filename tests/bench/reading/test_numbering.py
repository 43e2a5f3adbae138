"""Gaps, repeats and new beginnings in an instrument's own numbers; the cases are written by hand."""

from __future__ import annotations

import pytest

from isohume.bench.reading.numbering import account, split_number


def said(*numbers: str, before: str = "") -> list[tuple[tuple[str, ...], int, str]]:
    return [(one.before, one.missing, one.said) for one in account(numbers, before)]


NOTHING = ((), 0, "")


def test_numbers_one_after_the_other_say_nothing() -> None:
    assert said("0041", "0042", "0043") == [NOTHING] * 3


def test_a_gap_is_said_in_words_with_the_width_of_the_numbers() -> None:
    assert said("0042", "0046")[1] == (("0043 to 0045 never came",), 3, "")
    assert said("0042", "0044")[1] == (("0043 never came",), 1, "")


def test_plant_d_s_gummy_lot_three_runs_in_the_instrument_and_one_in_the_record() -> None:
    """Job 8 D: 0.607, 0.604, 0.596 in the instrument, the record holds only the last."""
    assert said("0103", before="0100")[0] == (("0101 to 0102 never came",), 2, "")


def test_a_deleted_row_of_an_import_is_seen() -> None:
    """Row 16 of the trade's list: delete row 3 of an import, and the gap is said."""
    assert [one[0] for one in said("1", "2", "4", "5")] == [(), (), ("3 never came",), ()]


def test_a_number_that_comes_late_closes_its_gap() -> None:
    assert said("0042", "0045", "0043", "0044") == [NOTHING] * 4
    assert [one[1] for one in said("0042", "0046", "0044")] == [0, 2, 0]


def test_a_number_that_comes_twice_is_said() -> None:
    assert said("0042", "0042")[1] == ((), 0, "this number came before")


def test_counting_that_begins_again_is_said_and_is_no_gap() -> None:
    assert said("0998", "0999", "0001", "0002") == [NOTHING, NOTHING, ((), 0, "the numbers begin again here"), NOTHING]
    assert said("0999", "0001", "0004")[2] == (("0002 to 0003 never came",), 2, "")


def test_a_counter_put_back_hides_nothing_however_little_it_had_counted() -> None:
    """1 to 5, then 1 and 5 again: counting began anew, and three runs of the new count never came."""
    again, last = said("0001", "0002", "0003", "0004", "0005", "0001", "0005")[-2:]
    assert again == ((), 0, "the numbers begin again here")
    assert last == (("0002 to 0004 never came",), 3, "")
    assert said("1", "2", "3", "1", "2", "3")[3:] == [((), 0, "the numbers begin again here"), NOTHING, NOTHING]


def test_a_counter_put_back_over_night_is_seen_though_only_the_last_number_before_is_known() -> None:
    again, last = said("0001", "0005", before="0005")
    assert (again, last) == (((), 0, "the numbers begin again here"), (("0002 to 0004 never came",), 3, ""))
    assert said("0002", "0001", "0003") == [NOTHING] * 3  # it came late, and counting goes on


def test_counting_that_begins_again_begins_at_one() -> None:
    numbers = [f"{n:04d}" for n in range(1, 100)]
    assert said(*numbers, "0005")[-1] == (("0001 to 0004 never came",), 4, "the numbers begin again here")
    assert said("0005", before="0099") == [(("0001 to 0004 never came",), 4, "the numbers begin again here")]
    assert said(*numbers, "0000", "0001")[-2:] == [((), 0, "the numbers begin again here"), NOTHING]
    # what comes late in the new count closes its gap; what the old one had does not
    assert said(*numbers, "0003", "0001", "0002")[-3:] == [((), 0, "the numbers begin again here"), NOTHING, NOTHING]


def test_a_number_that_comes_twice_while_counting_goes_on_is_no_new_beginning() -> None:
    assert said("1", "2", "3", "4", "5", "3", "6", "7")[5:] == [((), 0, "this number came before"), NOTHING, NOTHING]


def test_runs_without_a_number_and_other_names_stand_apart() -> None:
    assert said("A-7", "", "B-1", "A-9") == [NOTHING, NOTHING, NOTHING, (("A-8 never came",), 1, "")]


def test_a_gap_over_the_beginning_of_the_span_is_seen() -> None:
    assert said("0044", before="0042")[0] == (("0043 never came",), 1, "")
    assert said("0043", before="0042") == [NOTHING]
    assert said("0043", before="no number") == [NOTHING]


def test_an_enormous_gap_is_one_stretch() -> None:
    assert said("1", "999999999")[1][1] == 999999997


@pytest.mark.parametrize(
    ("number", "read"), [("0042", ("", 42)), ("R-7", ("R-", 7)), ("", None), ("x", None), ("7a", None)]
)
def test_the_digits_at_the_end_count(number: str, read: tuple[str, int] | None) -> None:
    assert split_number(number) == read
