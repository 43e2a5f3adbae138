"""How the figures of a check were found."""

from __future__ import annotations

from isohume.bench.assurance.check import Check
from isohume.bench.assurance.correction import Correction
from isohume.foundation.quantity.how import How


def how_checked(check: Check, u_instrument: float) -> tuple[How, ...]:
    """The explanations of a check's figures: expected values, deviations, the line.

    check: the check [text].
    u_instrument: standard uncertainty of the instrument's reading [1].
    Returns: one How a figure [text].
    Source: ISO17025, 7.11.6.
    """
    found = [_expected(check), _deviation(check, u_instrument)]
    if check.line is not None:
        found.append(_line(check))
    return tuple(found)


def _expected(check: Check) -> How:
    return How(
        "expected value of a reference solution",
        "saturated: a_w = sum(A_i t^i) / 100; by molality: a_w = exp(-nu m M_w phi)",
        ", ".join(sorted({s.source for s in check.solutions})),
        "the temperature range of each solution; refused beyond it",
        "the temperature of the solution",
        {
            f"{s.solution}{'' if s.molality is None else f' {s.molality:g} mol/kg'}": {
                "temperature_c": s.temperature_c,
                "expected": s.expected,
                "u": s.u_reference,
            }
            for s in check.solutions
        },
    )


def _deviation(check: Check, u_instrument: float) -> How:
    return How(
        "deviation and E_n of a reference solution",
        "deviation = mean(read - expected); u = sqrt(u_instrument^2 + s^2/n + u_reference^2); E_n = deviation / (2 u)",
        "ISO13528",
        "within = |deviation| <= limit and |E_n| <= 1",
        "the uncertainty of the reference solution",
        {"u_instrument": u_instrument, "limit": check.limit},
    )


def _line(check: Check) -> How:
    return How(
        "offset and slope",
        "mean(read) = offset + slope * mean(expected), weights 1/u^2",
        "JCGM100",
        "between the outermost references; never used to correct a reading here",
        "the outermost references",
        {"references": len(check.solutions)},
    )


def how_corrected(correction: Correction) -> How:
    """The explanation of a corrected reading.

    correction: the correction in force [text].
    Returns: the How [text].
    Source: ISO17025, 7.11.6.
    """
    return How(
        "corrected reading",
        "a = b0 + b1 r; u^2 = u(b0)^2 + r^2 u(b1)^2 + 2 r cov(b0, b1) + b1^2 u(r)^2",
        "ISOTS28037",
        f"readings from {correction.lowest_read} to {correction.highest_read}, from "
        f"{correction.since.isoformat(timespec='minutes')} on; never extrapolated",
        "the references it rests on",
        {
            "version": correction.version,
            "b0": f"{correction.offset:f}",
            "b1": f"{correction.slope:f}",
            "u(b0)": correction.u_offset,
            "u(b1)": correction.u_slope,
            "cov(b0, b1)": correction.covariance,
            "rests on": correction.source,
        },
    )
