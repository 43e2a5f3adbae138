"""The rows of metrology.csv as outside checks: GUM, conformity, ISO 5725 and 13528, charts, Grubbs, Dixon.

The tolerance is half the last printed digit. Where a source truncates, or went on with its own rounded
numbers, it is what that does, said beside the row.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator, Sequence
from functools import cache

from isohume.foundation import metrology
from isohume.outlets.validate.check import Check, Left, last_digit, read_table

FILE = "metrology.csv"
Row = dict[str, str]

# rows that are none for another reason than their trust mark
_NO_RESULT = {
    "Q097": "holds the data of an example, no printed result",
    "Q207": "u of the laboratory is printed rounded; the digits used were inferred from the result itself",
}
# not half the last printed digit, with the reason
_OTHER_TOLERANCE = {
    # whole by nature: truncated degrees of freedom, the number of a sample
    "Q003": 0.0,
    "Q093": 0.0,
    # s_a 128 and s_b 85 are printed to the microvolt: F of such numbers is known to 2 (0.5/128 + 0.5/85) F
    "Q038": 2.0 * (0.5 / 128.0 + 0.5 / 85.0) * 2.25,
    # truncated in print: 52.58843 and 47.41157, 2.46876
    "Q088": 0.0001,
    "Q089": 0.0001,
    "Q098": 0.0001,
}
# sigma of the printed z scores is known to one unit of 0.00001 (column check: 0.00628 to 0.00629)
_SIGMA_KNOWN = 0.00001 / 0.00628
# tables worked out by hand: the largest difference of a printed ratio from the exact distribution is 0.0053
_DIXON_BY_HAND = 0.006
_GEAR_S = re.compile(r"s = ([\d.]+)")


def checks() -> Iterator[Check]:
    """Every row of the table that is a check of ours."""
    return (outcome for outcome in _outcomes() if isinstance(outcome, Check))


def left_out() -> Iterator[Left]:
    """Every row of the table that is none, with the reason."""
    return (outcome for outcome in _outcomes() if isinstance(outcome, Left))


def _outcomes() -> Iterator[Check | Left]:
    for row in read_table(FILE):
        if row["how"] == "memory" and not row["check"]:
            note = f" ({row['notes']})" if row["notes"].startswith("raw data") else ""
            yield Left(row["id"], FILE, f"from memory and confirmed by nothing{note}")
        elif row["id"] in _NO_RESULT:
            yield Left(row["id"], FILE, _NO_RESULT[row["id"]])
        else:
            yield _checked(row)


def _checked(row: Row) -> Check | Left:
    for start, check in _BY_EXAMPLE.items():
        if row["example"].startswith(start):
            return check(row)
    return Left(row["id"], FILE, f"no check of {row['example']} is known")


def _check(row: Row, computed: float, *, printed: str | None = None, tolerance: float | None = None) -> Check:
    """The printed value beside the computed one; half the last printed digit unless said otherwise."""
    printed = row["value"] if printed is None else printed
    wide = 0.5 * last_digit(printed) if tolerance is None else tolerance
    unit = f" [{row['units']}]" if row["units"] else ""
    return Check(
        id=row["id"],
        what=f"{row['example']}: {row['quantity']}{unit}",
        source=row["source"],
        how=row["how"],
        expected=float(printed),
        computed=float(computed),
        tolerance=_OTHER_TOLERANCE.get(row["id"], wide),
        file=FILE,
    )


def _worst(row: Row, computed: Sequence[float], *, unit: float) -> Check:
    """A printed row of numbers, checked at the one that is furthest off."""
    printed = row["value"].split()
    if len(printed) != len(computed):
        raise ValueError(f"{row['id']}: {len(printed)} printed numbers, {len(computed)} computed")
    pairs = zip(printed, computed, strict=True)
    text, value = max(pairs, key=lambda pair: abs(float(pair[0]) - pair[1]))
    return _check(row, value, printed=text, tolerance=unit)


def _numbers(text: str) -> list[float]:
    return [float(one) for one in text.split()]


def _between(text: str, start: str, end: str) -> list[float]:
    return _numbers(text.split(start, 1)[1].split(end, 1)[0])


@cache
def _end_gauge(second_order: bool) -> metrology.Propagation:
    """The model and inputs of the source; degrees of freedom as its budget has them."""

    def length(standard: float, d: float, d_alpha: float, theta: float, alpha: float, d_theta: float) -> float:
        return standard + d - standard * (d_alpha * theta + alpha * d_theta)

    parts = [(5.8, 24), (3.9, 5), (6.7, 8)]
    u_d, dof_d = math.hypot(*(u for u, _ in parts)), metrology.welch_satterthwaite(parts)
    return metrology.propagate(
        length,
        [50000623.0, 215.0, 0.0, -0.1, 11.5e-6, 0.0],
        [25.0, u_d, 0.58e-6, 0.41, 1.2e-6, 0.029],
        dof=[18, dof_d, 50, math.inf, math.inf, 2],
        second_order=second_order,
    )


def _gum_h1(row: Row) -> Check:
    found = _end_gauge(second_order=False)
    dof = found.dof or math.nan
    computed = {
        "l": found.value * 1e-6,
        "u_c(l)": found.u,
        "nu_eff": math.floor(dof),
        "k at 99 %": metrology.coverage_factor(0.99, dof),
        "U99": found.expanded_u(0.99),
        "u_c with second-order terms": _end_gauge(second_order=True).u,
    }
    return _check(row, computed[row["quantity"]])


def _gum_h3(row: Row) -> Check:
    read = _between(row["inputs"], "t_k:", ";")
    line = metrology.unweighted_line([t - 20.0 for t in read], _between(row["inputs"], "b_k:", ";"))
    computed = {
        "y1 (intercept)": line.offset,
        "s(y1)": line.u_offset,
        "y2 (slope)": line.slope,
        "s(y2)": line.u_slope,
        "r(y1,y2)": line.correlation,
        "s (residual)": line.residual_s or math.nan,
        "b(30 degC)": line.predict(10.0),
        "u_c[b(30)]": line.predict_u(10.0),
    }
    return _check(row, computed[row["quantity"]])


def _gum_h5(row: Row) -> Check:
    means = _between(row["inputs"], "(10 V + uV):", ";")
    found = metrology.components_from_summaries(means, _between(row["inputs"], "s(uV):", ";"), [5] * len(means), "day")
    (day,) = found.levels
    computed = {
        "grand mean": 10.0 + found.grand_mean * 1e-6,
        "s(Vbar_j)": math.sqrt(day.mean_square / 5.0),
        "s_a": math.sqrt(day.mean_square),
        "s_b": found.s_r,
        "F = s_a^2/s_b^2": found.f_ratio(),
        "F0.95(9,40)": found.f_critical(0.95),
        "F0.975(9,40)": found.f_critical(0.975),
        "s_B between-day": math.sqrt(day.variance),
        "u(mean) with between-day": found.u_mean,
    }
    return _check(row, computed[row["quantity"]])


def _named(text: str) -> dict[str, float]:
    """The numbers of 'aw=0.84, u=0.005' by name."""
    return {name: float(value) for name, value in re.findall(r"(\w+)=(-?[\d.]*\d)", text)}


def _breakdown_voltage(row: Row) -> Check:
    limit, estimate, u = (float(one) for one in re.findall(r"-?\d+\.\d+", row["inputs"]))
    return _check(row, metrology.probability_of_conformity(estimate, u, upper=limit))


def _road_speed(row: Row) -> Check:
    limit, relative_u, percent = (float(one) for one in re.findall(r"\d+(?:\.\d+)?", row["inputs"]))
    return _check(row, metrology.acceptance_limit_relative(limit, relative_u, percent / 100.0, "above"))


def _conformity(row: Row) -> Check:
    given = _named(row["inputs"])
    return _check(row, metrology.probability_of_conformity(given["aw"], given["u"], upper=0.85))


def _acceptance(row: Row) -> Check:
    given = _named(row["inputs"])
    guard = metrology.guard_band(given["u"], metrology.guard_factor_for(given["p_c"]))
    _, upper = metrology.acceptance_limits(None, 0.85, guard)
    return _check(row, math.nan if upper is None else upper)


def _repeatability(row: Row) -> Check:
    return _check(row, metrology.repeatability_limit(1.0), printed=row["value"].split()[0])


def _z_score(row: Row) -> Check:
    sigma = _GEAR_S.search(row["notes"])
    value = row["quantity"].removeprefix("z for y=")
    computed = metrology.z_score(float(value), 1.0, float(sigma[1]) if sigma else math.nan)
    tolerance = 0.5 * last_digit(row["value"]) + _SIGMA_KNOWN * abs(float(row["value"]))
    return _check(row, computed, tolerance=tolerance)


def _action_limits(row: Row) -> Check:
    """The printed limits, each tried a hair below and above."""
    warning, action = (float(one) for one in re.findall(r">(\d+)", row["value"]))
    tried = (warning - 1e-9, warning + 1e-9, action - 1e-9, action + 1e-9)
    return Check(
        id=row["id"],
        what="z score just below and above the warning limit and the action limit",
        source=row["source"],
        how=row["how"],
        expected="acceptable, warning, warning, action",
        computed=", ".join(metrology.score_word(z) for z in tried),
        tolerance=0.0,
        file=FILE,
    )


def _e_n(row: Row) -> Check:
    x, u_x, reference, u_reference = (float(one) for one in re.findall(r"[xXU]=([\d.]+)", row["inputs"]))
    return _check(row, metrology.e_n(x, u_x, reference, u_reference))


def _individuals(row: Row) -> Check:
    chart = metrology.individuals_chart(_numbers(row["inputs"]))
    computed = {
        "mean": chart.mean,
        "mean moving range": chart.mean_moving_range,
        "UCL": chart.upper,
        "LCL": chart.lower,
    }
    return _check(row, computed[row["quantity"]])


def _ewma(row: Row) -> Check:
    values = _numbers(row["inputs"].split(";")[0])
    given = _named(row["inputs"])
    chart = metrology.ewma_chart(values, given["EWMA0"], given["s"], given["lambda"])
    if row["quantity"] == "EWMA sequence":
        # the source goes on from its rounded averages: one unit of the last printed digit
        return _worst(row, chart.averages, unit=0.01)
    return _check(row, chart.upper if row["quantity"] == "UCL" else chart.lower)


def _cusum(row: Row) -> Check:
    values, given = _numbers(row["inputs"].split(";")[0]), _named(row["inputs"])
    target = float(re.findall(r"target (\d+)", row["inputs"])[0])
    chart = metrology.cusum_chart(values, target, given["k"], given["h"])
    if row["quantity"] == "S_hi 13..20":
        return _worst(row, chart.high[12:], unit=0.00005)
    computed = {
        "S_lo max": max(chart.low),
        "first signal index": chart.signals[0],
        "S_hi(5)": chart.high[4],
    }
    return _check(row, computed[row["quantity"]])


def _cumulative(row: Row) -> Check:
    data, target = row["inputs"].split("; target")
    return _check(row, metrology.cumulative_sums(_numbers(data), float(target))[-1])


def _uranium(row: Row) -> Check:
    hint = metrology.grubbs(_numbers(row["inputs"]), two_sided=False)
    return _check(row, hint.statistic if row["quantity"] == "G" else hint.critical)


def _cell(row: Row) -> tuple[int, float]:
    n, alpha = (part.split("=")[1] for part in row["quantity"].split())
    return int(n), float(alpha)


def _grubbs(row: Row) -> Check:
    n, alpha = _cell(row)
    return _check(row, metrology.grubbs_critical(n, alpha, row["example"].endswith("two-sided")))


def _dixon_two_sided(row: Row) -> Check:
    n, alpha = _cell(row)
    exact = metrology.dixon_critical_exact(n, 0.5 * alpha, "r10")
    return _check(row, exact, tolerance=_DIXON_BY_HAND)


def _dixon_one_sided(row: Row) -> Check:
    n, alpha = _cell(row)
    ratio = next(name for most, name in ((7, "r10"), (10, "r11"), (13, "r21"), (25, "r22")) if n <= most)
    return _check(row, metrology.dixon_critical_exact(n, alpha, ratio), tolerance=_DIXON_BY_HAND)


_BY_EXAMPLE: dict[str, Callable[[Row], Check]] = {
    "GUM H.1": _gum_h1,
    "GUM H.3": _gum_h3,
    "GUM H.5": _gum_h5,
    "JCGM 106 conformance": _breakdown_voltage,
    "JCGM 106 guard band applied": _acceptance,
    "JCGM 106 guard band": _road_speed,
    "JCGM 106 applied": _conformity,
    "ISO 5725 repeatability limit": _repeatability,
    "ISO 13528 z-score": _z_score,
    "ISO 13528 action limits": _action_limits,
    "ISO 13528 E_n": _e_n,
    "individuals chart": _individuals,
    "EWMA chart": _ewma,
    "tabular CUSUM": _cusum,
    "cumulative sum": _cumulative,
    "Grubbs, uranium": _uranium,
    "Grubbs critical value": _grubbs,
    "Dixon r10": _dixon_two_sided,
    "Dixon critical value, one-sided": _dixon_one_sided,
}
