"""Run rules: each on points made by hand, on both sides, at its edges, and against a rule written anew."""

import numpy as np
import pytest

from isohume.foundation.metrology import run_rule_signals
from isohume.foundation.quantity import InputError

B3, B2, B1, SIDE, TREND = (
    "beyond 3 sigma",
    "2 of 3 beyond 2 sigma",
    "4 of 5 beyond 1 sigma",
    "8 on one side",
    "6 trending",
)
CASES = [
    # Western Electric 1956: the four tests; Nelson 1984, test 3. Points in units of sigma, and where the rule speaks
    (B3, [0.0, 3.1, 0.0], [1]),
    (B3, [0.0, -3.1], [1]),
    (B3, [3.0, -3.0], []),
    (B2, [2.1, 0.0, 2.1], [2]),
    (B2, [2.1, 2.1, 0.0], [1]),
    (B2, [2.1, -2.1, 0.0], []),
    (B2, [2.1, 0.0, 0.0, 2.1], []),
    (B2, [-2.1, 0.5, -2.4], [2]),
    (B1, [1.1, 1.1, 0.0, 1.1, 1.1], [4]),
    (B1, [1.1, 1.1, 1.1, 1.1], [3]),
    (B1, [1.1, 1.1, -1.1, -1.1, 1.1, 1.1], []),
    (B1, [-1.1, -1.2, -1.3, 0.4, -1.1], [4]),
    (SIDE, [0.1] * 7, []),
    (SIDE, [0.1] * 8, [7]),
    (SIDE, [-0.1] * 10, [7, 8, 9]),
    (SIDE, [0.1] * 7 + [0.0] + [0.1] * 7, []),
    (SIDE, [0.1] * 7 + [-0.1] + [0.1] * 8, [15]),
    (TREND, [0.0, 0.1, 0.2, 0.3, 0.4], []),
    (TREND, [0.0, 0.1, 0.2, 0.3, 0.4, 0.5], [5]),
    (TREND, [0.5, 0.4, 0.3, 0.2, 0.1, 0.0, -0.1], [5, 6]),
    (TREND, [0.0, 0.1, 0.2, 0.2, 0.3, 0.4, 0.5], []),
    (TREND, [0.9, 0.0, 0.1, 0.2, 0.3, 0.4, 0.5], [6]),
]


@pytest.mark.parametrize(("rule", "z", "where"), CASES)
def test_speaks_where_it_should(rule, z, where):
    assert [signal.index for signal in run_rule_signals(z, [rule])] == where
    mirrored = run_rule_signals([-value for value in z], [rule])
    assert [signal.index for signal in mirrored] == where
    assert [signal.side for signal in mirrored] == [-signal.side for signal in run_rule_signals(z, [rule])]


def test_a_point_as_typed_on_the_limit_is_not_beyond_it():
    # (0.753 - 0.75)/0.001 is 3.0000000000000027 in floats
    z = (0.753 - 0.75) / 0.001
    assert z > 3.0
    assert run_rule_signals([z]) == []


def test_the_first_point_of_what_a_rule_speaks_of():
    (signal,) = run_rule_signals([-1.0, *[0.2] * 8], [SIDE])
    assert (signal.first, signal.index) == (1, 8)
    (signal,) = run_rule_signals([0.9, 0.0, 0.1, 0.2, 0.3, 0.4, 0.5], [TREND])
    assert (signal.first, signal.index) == (1, 6)


def test_unknown_rule_is_refused():
    with pytest.raises(InputError, match="9 on one side"):
        run_rule_signals([0.0], ["9 on one side"])


def by_windows(z, rule):
    """The rules as sentences over whole windows, slow and plain."""
    z = np.asarray(z)
    found = []
    for i in range(len(z)):
        for side in (1, -1):
            y = side * z
            last = lambda n: y[max(0, i - n + 1) : i + 1]  # noqa: E731, B023
            speaks = {
                B3: y[i] > 3,
                B2: y[i] > 2 and (last(3) > 2).sum() >= 2,
                B1: y[i] > 1 and (last(5) > 1).sum() >= 4,
                SIDE: i >= 7 and (last(8) > 0).all(),
                TREND: i >= 5 and (np.diff(last(6)) > 0).all(),
            }[rule]
            if speaks:
                found.append((i, side))
    return sorted(found)


@pytest.mark.parametrize("rule", [B3, B2, B1, SIDE, TREND])
def test_long_random_series_against_whole_windows(rule):
    z = 1.3 * np.random.default_rng(11).standard_normal(4000) + 0.2
    z[1000:1600] = np.cumsum(np.random.default_rng(12).standard_normal(600)) / 8
    found = [(signal.index, signal.side) for signal in run_rule_signals(list(z), [rule])]
    assert found == by_windows(z, rule)
    assert len(found) > 5
