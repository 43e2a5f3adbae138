"""The rows of sampling.csv as outside checks: plans by attributes and by variables, tolerance factors, ranges.

The tolerance is half the last printed digit, or what the row's uncertainty says.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from isohume.foundation import metrology
from isohume.outlets.validate.check import Check, Left, last_digit, read_table

FILE = "sampling.csv"
Row = dict[str, str]


def checks() -> Iterator[Check]:
    """Every row of the table that is a check of ours."""
    return (outcome for outcome in _outcomes() if isinstance(outcome, Check))


def left_out() -> Iterator[Left]:
    """Every row of the table that is none, with the reason."""
    return (outcome for outcome in _outcomes() if isinstance(outcome, Left))


def _outcomes() -> Iterator[Check | Left]:
    for row in read_table(FILE):
        if row["how"] == "memory" and not row["check"]:
            yield Left(row["id"], FILE, "from memory and confirmed by nothing")
        else:
            yield _check(row, _BY_EXAMPLE[row["example"].split(" n=")[0]](row, _inputs(row)))


def _check(row: Row, computed: float) -> Check:
    digit = last_digit(row["value"])
    half = digit if "off by one unit" in row["notes"] else digit / 2
    tolerance = float(row["uncertainty"]) if row["uncertainty"] else half
    whole = row["quantity"] in ("n", "c") and not row["uncertainty"]
    return Check(
        id=row["id"],
        what=f"{row['example']}, {row['inputs']}: {row['quantity']}",
        source=row["source"],
        how=row["how"],
        expected=float(row["value"]),
        computed=computed,
        tolerance=0.0 if whole else tolerance,
        file=FILE,
    )


def _inputs(row: Row) -> dict[str, float]:
    pairs = (part.split("=") for part in row["inputs"].split("; "))
    return {name: float(value) for name, value in pairs}


def _attributes(row: Row, given: dict[str, float]) -> float:
    return metrology.acceptance_probability(given["f"], int(given["n"]), int(given["c"]))


def _attributes_plan(row: Row, given: dict[str, float]) -> float:
    plan = metrology.plan_by_attributes(given["aql"], given["alpha"], given["lq"], given["beta"])
    found = {"n": plan.n, "c": plan.c, "alpha": plan.producer_risk, "beta": plan.consumer_risk}
    return float(found[row["quantity"]])


def _to_see(row: Row, given: dict[str, float]) -> float:
    return float(metrology.portions_to_see(given["f"], given["P"]))


def _risk(row: Row, given: dict[str, float]) -> float:
    return 100.0 * (1.0 - metrology.variables_acceptance(given["f"], int(given["n"]), given["k"]))


def _tolerance(row: Row, given: dict[str, float]) -> float:
    return metrology.tolerance_factor(int(given["n"]), given["coverage"], given["confidence"])


def _variables_plan(row: Row, given: dict[str, float]) -> float:
    plan = metrology.plan_by_variables(given["aql"], given["alpha"], given["lq"], given["beta"])
    return float(plan.n) if row["quantity"] == "n" else plan.k


def _range(row: Row, given: dict[str, float]) -> float:
    return metrology.range_quantile(int(given["n"]), given["P"])


def _one_factor(row: Row, given: dict[str, float]) -> float:
    k = int(given["k"])
    return metrology.probability_all_conform([0.85] * k, [0.004] * k, 0.004, upper=0.85)


_BY_EXAMPLE: dict[str, Callable[[Row, dict[str, float]], float]] = {
    "attributes": _attributes,
    "attributes plan": _attributes_plan,
    "portions to see": _to_see,
    "variables risk at the AQL": _risk,
    "tolerance factor": _tolerance,
    "variables plan by nomograph": _variables_plan,
    "critical range": _range,
    "one-factor normal": _one_factor,
}
