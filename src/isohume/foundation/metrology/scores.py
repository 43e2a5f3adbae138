"""Scores of a comparison with a reference value: E_n, z and zeta, and what they say."""

from __future__ import annotations

import math
from typing import Literal

from isohume.foundation.quantity.errors import InputError

ScoreWord = Literal["acceptable", "warning", "action"]


def e_n(value: float, expanded_u: float, reference: float, expanded_u_reference: float) -> float:
    """The E_n number: the deviation over the expanded uncertainty of the deviation.

        E_n = (x - X)/sqrt(U_x^2 + U_X^2), U with k = 2
    value: the laboratory's value x [any unit].
    expanded_u: its expanded uncertainty U_x [same unit], zero or more.
    reference: the reference value X [same unit].
    expanded_u_reference: its expanded uncertainty U_X [same unit], zero or more.
    Returns: E_n [1], signed; abs(E_n) <= 1 agrees.
    Raises: InputError for numbers that are not finite or two uncertainties of zero.
    Example: f(0.757, 0.004, 0.753, 0.0024) = 0.8575.
    Source: ISO13528, 9.7.
    """
    return _over(value - reference, expanded_u, expanded_u_reference)


def zeta_score(value: float, u: float, reference: float, u_reference: float) -> float:
    """The zeta score: the deviation over the standard uncertainty of the deviation.

        zeta = (x - X)/sqrt(u_x^2 + u_X^2)
    value: the laboratory's value x [any unit].
    u: its standard uncertainty [same unit], zero or more.
    reference: the reference value X [same unit].
    u_reference: its standard uncertainty [same unit], zero or more.
    Returns: zeta [1], signed.
    Raises: InputError for numbers that are not finite or two uncertainties of zero.
    Example: f(0.757, 0.002, 0.753, 0.0012) = 1.7150.
    Source: ISO13528, 9.6.
    """
    return _over(value - reference, u, u_reference)


def z_score(value: float, reference: float, sigma: float) -> float:
    """The z score: the deviation over the scheme's standard deviation.

        z = (x - X)/sigma_pt
    value: the laboratory's value x [any unit].
    reference: the assigned value X [same unit].
    sigma: standard deviation for the assessment sigma_pt [same unit], greater than zero.
    Returns: z [1], signed.
    Raises: InputError for numbers that are not finite or a sigma not above zero.
    Example: f(0.988, 1, 0.006279) = -1.911 (a public reference manual).
    Source: ISO13528, 9.4.
    """
    if not 0.0 < sigma < math.inf:
        raise InputError("sigma", sigma, "a finite standard deviation greater than zero")
    return _finite(value - reference) / sigma


def score_word(score: float) -> ScoreWord:
    """What a z or zeta score says.

        abs(score) < 2 acceptable; from 2 warning; from 3 action (the limits themselves on the cautious side)
    score: z or zeta [1], signed.
    Returns: "acceptable", "warning" or "action" [text].
    Raises: InputError for a score that is not finite.
    Example: f(-2.07) = "warning".
    Source: ISO13528, 9.4.2.
    """
    size = abs(_finite(score))
    if size >= 3.0:
        return "action"
    return "warning" if size >= 2.0 else "acceptable"


def _over(deviation: float, first: float, second: float) -> float:
    for one in (first, second):
        if not 0.0 <= one < math.inf:
            raise InputError("uncertainty", one, "a finite uncertainty of zero or more")
    combined = math.hypot(first, second)
    if combined == 0.0:
        raise InputError("uncertainty", 0.0, "at least one uncertainty greater than zero")
    return _finite(deviation) / combined


def _finite(number: float) -> float:
    if not math.isfinite(number):
        raise InputError("value", number, "finite numbers")
    return number
