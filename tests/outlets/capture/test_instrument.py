"""The invented instrument: the same seed shows the same readings, and what it says again is what it said."""

from __future__ import annotations

import pytest

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.capture.instrument.cup import KINDS, Cup, read_cup, readings_of
from isohume.outlets.capture.instrument.machine import Machine


@pytest.mark.parametrize("kind", KINDS)
def test_the_same_seed_shows_the_same_run(kind: str) -> None:
    cup = Cup(0.6, kind)
    assert list(readings_of(cup, 1, 1)) == list(readings_of(cup, 1, 1))
    assert list(readings_of(cup, 1, 1)) != list(readings_of(cup, 2, 1))
    assert list(readings_of(cup, 1, 1)) != list(readings_of(cup, 1, 2))


def test_curves_end_where_their_kind_says() -> None:
    last = {kind: float(list(readings_of(Cup(0.6, kind, 600.0), 1, 1))[-1].a_w) for kind in KINDS}
    assert abs(last["plain"] - 0.6) < 0.002
    assert last["slow"] < 0.59
    assert last["volatile"] > 0.65
    assert last["leak"] < 0.58
    assert last["wet"] > 0.99
    assert all(0 <= float(one.a_w) <= 1 for kind in KINDS for one in readings_of(Cup(0.99, kind), 3, 1))


def test_a_warm_sample_overshoots_and_falls() -> None:
    shown = [float(one.a_w) for one in readings_of(Cup(0.6, "warm", 900.0), 1, 1)]
    assert max(shown) > 0.62
    assert abs(shown[-1] - 0.6) < 0.003


def test_it_says_again_word_for_word_what_it_said() -> None:
    machine = Machine([Cup(0.6, "plain", 20.0), Cup(0.7, "plain", 20.0)], 5)
    said = [line for line in machine.advance(200) if line.startswith("cup")]
    assert machine.answer("tell from 0") == ["telling from 0000", *said]
    second = next(i for i, line in enumerate(said) if line.startswith("cup 0002"))
    assert machine.answer("tell from 2") == ["telling from 0002", *said[second:]]
    assert machine.answer("tell me a story") == []


def test_how_far_time_is_moved_at_once_changes_nothing() -> None:
    one, other = (Machine([Cup(0.6, "plain", 30.0)], 5) for _ in range(2))
    steps = [line for i in range(1, 401) for line in one.advance(i * 0.25)]
    assert steps == other.advance(100.0)


def test_hands_lay_cups_in_and_take_them_out() -> None:
    machine = Machine([], 5)
    assert all(line.startswith("resting") for line in machine.advance(30))
    machine.lay_in(read_cup("0.632 slow"))
    assert "cup 0001 laid in" in machine.advance(40)
    machine.take_out()
    assert "cup 0001 taken out" in machine.advance(41)[-1] or machine.is_done
    assert machine.held[0].ended_after_s is not None


def test_a_cup_in_words() -> None:
    assert read_cup("0.7528") == Cup(0.7528)
    assert read_cup(" 0.52 volatile 600 s") == Cup(0.52, "volatile", 600.0)
    for words in ("65.2", "0.5 sticky", "wet", "0.5 slow soon"):
        with pytest.raises(InputError, match="how it behaves"):
            read_cup(words)
