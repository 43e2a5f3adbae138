"""From what is typed to a sampling plan and its operating characteristic; the same for the page and for saving it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from isohume.foundation.metrology import (
    acceptance_probability,
    acceptance_probability_in_lot,
    plan_by_attributes,
    plan_by_variables,
    portions_to_see,
    variables_acceptance,
)
from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_decimal
from isohume.outlets.site.register.actions.fields import read_whole
from isohume.outlets.site.strata.models import KINDS

SEEING, ATTRIBUTES, VARIABLES = KINDS
POINTS = ("aql_percent", "producer_risk_percent", "lq_percent", "consumer_risk_percent")
FIELDS = {SEEING: ("fraction_percent", "confidence_percent", "lot_size"), ATTRIBUTES: POINTS, VARIABLES: POINTS}
STARTS = {
    "kind": SEEING,
    "fraction_percent": "10",
    "confidence_percent": "95",
    "lot_size": "",
    "aql_percent": "1",
    "producer_risk_percent": "5",
    "lq_percent": "10",
    "consumer_risk_percent": "10",
}
STEPS = 60
LARGEST_LOT = 10_000
OURS = {"aql": "aql_percent", "producer_risk": "producer_risk_percent", "lq": "lq_percent",
        "consumer_risk": "consumer_risk_percent", "fraction": "fraction_percent",
        "confidence": "confidence_percent"}  # fmt: skip


@dataclass(frozen=True, slots=True)
class PlanFound:
    """A plan with what it was made from, and its operating characteristic: fraction of the lot, probability."""

    kind: str
    given: dict[str, str]
    n: int
    c: int | None
    k: str
    curve: tuple[tuple[float, float], ...]
    points: tuple[tuple[str, float, float], ...]


def find_plan(typed: Mapping[str, str]) -> PlanFound:
    """The plan of what is typed, in percent of the lot.

    Raises: InputError naming the field as the form calls it.
    """
    kind = typed.get("kind", "")
    if kind not in KINDS:
        raise InputError("kind", kind or "nothing", ", ".join(KINDS))
    given = {name: typed.get(name, "").strip() for name in FIELDS[kind]}
    try:
        return _seeing(given) if kind == SEEING else _two_points(kind, given)
    except InputError as error:
        if error.field not in OURS:
            raise
        raise InputError(OURS[error.field], given.get(OURS[error.field], ""), error.allowed) from None


def _seeing(given: dict[str, str]) -> PlanFound:
    n = portions_to_see(_share(given, "fraction_percent"), _share(given, "confidence_percent"), _lot(given))
    return with_curve(SEEING, given, n, 0, "")


def _two_points(kind: str, given: dict[str, str]) -> PlanFound:
    aql, alpha, lq, beta = (_share(given, name) for name in POINTS)
    if kind == ATTRIBUTES:
        plan = plan_by_attributes(aql, alpha, lq, beta)
        return with_curve(kind, given, plan.n, plan.c, "")
    found = plan_by_variables(aql, alpha, lq, beta)
    return with_curve(kind, given, found.n, None, f"{found.k:.4f}")


def with_curve(kind: str, given: dict[str, str], n: int, c: int | None, k: str) -> PlanFound:
    """A plan with its operating characteristic and the points it was made for; also of one that was saved."""
    if kind == SEEING:
        fraction = _share(given, "fraction_percent")
        wanted, last = {"wet fraction to be seen": fraction}, min(1.0, max(3 * fraction, 0.02))
    else:
        lq = _share(given, "lq_percent")
        wanted, last = {"AQL": _share(given, "aql_percent"), "LQ": lq}, min(1.0, 2.0 * lq)
    lot = _lot(given)
    curve = tuple((f, _accepted(f, n, c, k, lot)) for f in _places(last))
    points = tuple((name, f, _accepted(f, n, c, k, lot)) for name, f in wanted.items())
    return PlanFound(kind, given, n, c, k, curve, points)


def _accepted(fraction: float, n: int, c: int | None, k: str, lot: int | None) -> float:
    """The probability that a lot passes; in a lot of units a fraction is a whole number of them."""
    if k:
        return variables_acceptance(min(max(fraction, 1e-9), 1 - 1e-9), n, float(k))
    if lot is None:
        return acceptance_probability(fraction, n, c or 0)
    wet = min(math.ceil(fraction * lot - 1e-9), lot)
    return acceptance_probability_in_lot(wet, lot, n, c or 0)


def _lot(given: Mapping[str, str]) -> int | None:
    return read_whole(given["lot_size"], "lot_size", 1, LARGEST_LOT, "units") if given.get("lot_size") else None


def _places(last: float) -> list[float]:
    return [last * i / STEPS for i in range(STEPS + 1)]


def _share(given: Mapping[str, str], name: str) -> float:
    """A share typed in percent."""
    allowed = "a share in percent, above 0 and below 100"
    number = read_decimal(given[name], name, allowed)
    if not 0 < number < 100:
        raise InputError(name, given[name] or "nothing", allowed)
    return float(number / Decimal(100))
