"""The compact form of a trace: every digit comes back, in few bytes, and broken bytes are refused.

The form is our own, so the outside check is the form itself: what comes back is compared with what went in by text,
and a small trace is written out by hand, byte for byte, from the description in the module.
"""

from __future__ import annotations

from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from isohume.bench.reading.settling import Sample, growing, pack, trace_of_samples, unpack
from isohume.foundation.quantity.errors import InputError


def decimals(low: int = -(10**9), high: int = 10**9) -> st.SearchStrategy[Decimal]:
    return st.builds(
        lambda whole, places, minus: Decimal((int(minus), tuple(map(int, str(abs(whole)))), -places)),
        st.integers(low, high),
        st.integers(-3, 12),
        st.booleans(),
    )


samples_ = st.lists(
    st.builds(
        Sample,
        decimals(),
        decimals(),
        st.none() | decimals(),
        st.none() | decimals(),
        st.none() | decimals(),
        st.sampled_from(["", "measuring", "warming up", "μ ° é"]),
    ),
    max_size=60,
)


def as_text(samples: tuple[Sample, ...] | list[Sample]) -> list[tuple[str, ...]]:
    """By text: Decimal("0.650") equals Decimal("0.65"), and the zero must not be lost."""
    return [tuple(str(field) for field in one) for one in samples]


@given(samples_)
def test_every_digit_comes_back(samples: list[Sample]) -> None:
    assert as_text(unpack(pack(samples))) == as_text(samples)


@given(samples_)
def test_the_same_samples_give_the_same_bytes(samples: list[Sample]) -> None:
    assert pack(samples) == pack(list(unpack(pack(samples))))


@given(samples_, st.data())
def test_bytes_cut_short_or_followed_by_more_are_refused(samples: list[Sample], data: st.DataObject) -> None:
    packed = pack(samples)
    with pytest.raises(InputError):
        unpack(packed[: data.draw(st.integers(0, len(packed) - 1))])
    with pytest.raises(InputError):
        unpack(packed + b"\x00")


@given(st.binary(max_size=80))
def test_any_other_bytes_are_refused_or_read_and_never_anything_else(body: bytes) -> None:
    for packed in (body, b"a_wtrc\x01" + body):
        try:
            samples = unpack(packed)
        except InputError:
            continue
        assert all(one.a_w.is_finite() for one in samples)


def test_a_small_trace_byte_for_byte() -> None:
    """By hand: a zero run of r is 2r + 1; a number z is 4z (positive) or 4|z| - 2 (negative); kind 1 + 2 (12 + exp)."""
    samples = [Sample(Decimal("0"), Decimal("0.50"), None, None, None, "a"), Sample(Decimal("1"), Decimal("0.49"))]
    by_hand = bytes(
        [*b"a_wtrc\x01", 2]
        + [0, 25, 2, 3, 4]  # times: no decimals; kind 25 twice; second differences 0 and 1
        + [2, 21, 2, 200, 1, 2]  # a_w: two decimals; kind 21 twice; 50 (200 takes two bytes), -1
        + [0, 0, 2] * 3  # three columns of which nothing was read
        + [2, 1, 97, 0, 0, 1, 1, 1]  # two states, "a" and "", each once
    )
    assert pack(samples) == by_hand


def at_one_a_second(n: int, with_all: bool) -> list[Sample]:
    draw = np.random.default_rng(3)
    a_w = 0.65 - 0.2 * np.exp(-np.arange(n) / 120) + draw.normal(0, 0.0002, n)
    return [
        Sample(
            Decimal(f"{t + draw.normal(0, 0.004):.3f}"),
            Decimal(f"{a_w[t]:.4f}"),
            Decimal(f"{24.9 + draw.normal(0, 0.03):.2f}") if with_all else None,
            Decimal(f"{25.0 + draw.normal(0, 0.03):.2f}") if with_all else None,
            None,
            "measuring",
        )
        for t in range(n)
    ]


@pytest.mark.parametrize(("with_all", "most"), [(False, 2.5), (True, 4.2)])
def test_a_sample_takes_two_to_four_bytes(with_all: bool, most: float) -> None:
    """An hour at one reading a second, noise in the last digit and a clock of milliseconds that jitters."""
    assert len(pack(at_one_a_second(3600, with_all))) / 3600 < most


@pytest.mark.parametrize("number", ["NaN", "Infinity", "1E-13", "1E+4", "1234567890123456"])
def test_numbers_that_cannot_be_kept_exactly_are_refused(number: str) -> None:
    with pytest.raises(InputError, match="a_w"):
        pack([Sample(Decimal(0), Decimal(number))])


def test_a_long_state_is_refused() -> None:
    with pytest.raises(InputError, match="state"):
        pack([Sample(Decimal(0), Decimal("0.5"), state="x" * 61)])


def test_a_trace_leaves_out_readings_whose_clock_went_back() -> None:
    samples = [Sample(Decimal(t), Decimal(a)) for t, a in (("0", "0.5"), ("2", "0.6"), ("1", "0.7"), ("3", "0.65"))]
    assert [str(one.a_w) for one in growing(samples)] == ["0.5", "0.6", "0.65"]
    trace = trace_of_samples(samples)
    assert trace.n == 3
    assert trace.typed == (Decimal("0.5"), Decimal("0.6"), Decimal("0.65"))
    assert np.isnan(trace.sample_temperature_c).all()
    with pytest.raises(InputError, match="a_w"):
        trace_of_samples([])
