"""How parts of a record read in print."""

from __future__ import annotations

import pytest

from isohume.outlets.paper.record_words import limit_words, moment, pair, plain, probability, signed


@pytest.mark.parametrize(
    ("typed", "shown"),
    [
        ("2026-11-24T09:02:00+00:00", "2026-11-24T09:02Z"),
        ("2026-11-24T15:42:10+00:00", "2026-11-24T15:42:10Z"),
        ("2026-11-24T09:02:00+01:00", "2026-11-24T09:02+01:00"),
        ("2026-11-23", "2026-11-23"),
        ("yesterday, at Two", "yesterday, at Two"),
        (None, "–"),
    ],
)
def test_moments_are_iso_8601(typed: str | None, shown: str) -> None:
    assert moment(typed) == shown


@pytest.mark.parametrize(
    ("p", "shown"),
    [
        (0.9937903, "0.9938"),
        (0.5, "0.5000"),
        (0.99989, "0.9999"),
        (0.99995, "above 0.9999"),
        (1.0, "above 0.9999"),
        (0.00004, "below 0.0001"),
        (0.0, "below 0.0001"),
        (None, "not computed"),
    ],
)
def test_a_probability_never_rounds_to_certainty(p: float | None, shown: str) -> None:
    assert probability(p) == shown


def test_value_and_uncertainty_share_their_decimal_place() -> None:
    # JCGM 100, 7.2.6: u to two significant digits, the value to the same place
    assert pair(0.84623, 0.00377) == ("0.8462", "0.0038")
    assert pair(0.84623, 0.00377, 2.0) == ("0.8462", "0.0075")
    assert pair(0.84623, 0.012) == ("0.846", "0.012")
    assert pair(0.84623, None) == ("0.8462", "")


def test_limits_are_said_in_words_and_sign_as_typed() -> None:
    assert limit_words({"value": "0.650", "operator": "<="}) == "at most 0.650 (≤\u00a00.650)"
    assert limit_words({"value": "0.85", "operator": "<"}) == "below 0.85 (<\u00a00.85)"
    assert limit_words({"value": "0.10", "operator": ">="}) == "at least 0.10 (≥\u00a00.10)"
    assert limit_words({"value": "0.1", "operator": ">"}) == "above 0.1 (>\u00a00.1)"


def test_a_deviation_has_its_sign() -> None:
    assert signed(0.0006258, 4) == "+0.0006"
    assert signed(-0.0012, 4) == "−0.0012"


def test_any_value_reads_as_one_text() -> None:
    assert (
        plain({"replaces": "R000001", "at": "2026-11-24T09:02:00+00:00"}) == "replaces: R000001; at: 2026-11-24T09:02Z"
    )
    assert plain(["R000001", "R000002"]) == "R000001, R000002"
    assert plain(None) == "–"
    assert plain(0.0037749123456) == "0.003774912"
