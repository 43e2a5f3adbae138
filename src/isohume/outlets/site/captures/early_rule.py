"""What is needed to say, before a run has settled, whether waiting can still change its verdict; plain reading of SQL.

Nothing of it is Django's: the live process reads it by its own connection, the pages by theirs.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from isohume.bench.decision.budget import own_data_budget, starter_budget
from isohume.bench.decision.specification import DEFAULT_GUARD, Specification
from isohume.bench.decision.waiting import Waiting, waiting_could_change
from isohume.bench.record.lot_description import STARTER_U
from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.limits import Limit

COLUMNS = (
    "captured", "lower", "lower_operator", "upper", "upper_operator", "kind", "guard", "allow_conditional",
    "component", "sample_component", "estimates_validated", "basis", "u_other", "s_r", "s_reproducibility",
    "s_position", "corrected",
)  # fmt: skip

_SQL = """SELECT captured.id, spec.lower, spec.lower_operator, spec.upper, spec.upper_operator, spec.kind, spec.guard,
spec.allow_conditional, spec.component, sample.component, version.estimates_validated,
budget.basis, budget.u_other, budget.s_r, budget.s_reproducibility, budget.s_position,
(SELECT line.ended_at IS NULL OR line.ended_at > captured.started_at FROM adjustments_correction AS line
 WHERE line.instrument_id = captured.instrument_id AND line.since <= captured.started_at
 ORDER BY line.since DESC, line.version DESC LIMIT 1)
FROM captures_capturedrun AS captured
JOIN bench_portion AS portion ON portion.id = captured.portion_id
JOIN bench_sample AS sample ON sample.id = portion.sample_id
JOIN bench_lot AS lot ON lot.id = sample.lot_id
JOIN register_specificationversion AS spec ON spec.id = lot.specification_id
JOIN register_product AS product ON product.id = lot.product_id
JOIN register_methodversion AS version ON version.id = coalesce(
 (SELECT MAX(one.id) FROM register_methodversion AS one
  WHERE one.method_id = product.method_id AND one.since <= captured.started_at),
 (SELECT MIN(one.id) FROM register_methodversion AS one WHERE one.method_id = product.method_id))
LEFT JOIN register_budget AS budget ON budget.id =
 (SELECT MAX(one.id) FROM register_budget AS one WHERE one.method_version_id = version.id)
WHERE version.early_verdicts AND captured.id IN ({marks})"""


@dataclass(frozen=True, slots=True)
class EarlyRule:
    """The rule a run of a cup is judged by; `unsaid` is why nothing is said of it early, where that is so."""

    specification: Specification
    u_other: float
    estimates_validated: bool
    unsaid: str = ""

    def waiting(self, value: float, low: float, high: float, *, settled: bool = False) -> Waiting | None:
        """What waiting could still bring; None where nothing can be said."""
        if self.unsaid:
            return None
        try:
            return waiting_could_change(
                value,
                low,
                high,
                self.u_other,
                self.specification,
                settled=settled,
                estimates_validated=self.estimates_validated,
            )
        except InputError:  # the guard leaves no acceptance zone: the lot's own page says it
            return None

    def words(self, value: float, low: float, high: float, *, settled: bool = False) -> str:
        """The same in words; empty where nothing can be said and nobody needs to know why."""
        found = self.waiting(value, low, high, settled=settled)
        return self.unsaid if found is None else found.words


def early_sql(count: int, mark: str = "?") -> str:
    """The question for so many captured runs by their ids; runs whose method says nothing early have no row.

    count: how many ids are asked for, at least 1. mark: a parameter's place, `?` or `%s`.
    """
    return _SQL.format(marks=", ".join([mark] * count))


def early_rules_of(rows: Sequence[Sequence[Any]]) -> dict[int, EarlyRule]:
    """The rule of each captured run that has one.

    rows: the rows of `early_sql`.
    """
    named = [dict(zip(COLUMNS, row, strict=True)) for row in rows]
    return {row["captured"]: rule for row in named if (rule := early_rule(row)) is not None}


def early_rule(row: Mapping[str, Any]) -> EarlyRule | None:
    """A run's rule from its row; None for a reading of another component, which no limit judges."""
    ours, theirs = str(row["component"] or ""), str(row["sample_component"] or "")
    if ours and theirs and ours.casefold() != theirs.casefold():
        return None
    unsaid = "A correction is in force: nothing is said before the run has settled." if row["corrected"] else ""
    return EarlyRule(_specification(row), _u_of_one(row), bool(row["estimates_validated"]), unsaid)


def _specification(row: Mapping[str, Any]) -> Specification:
    lower, upper, guard = (_decimal(row[name]) for name in ("lower", "upper", "guard"))
    return Specification(
        None if lower is None else Limit(lower, row["lower_operator"] or ">="),
        None if upper is None else Limit(upper, row["upper_operator"] or "<="),
        row["kind"],
        DEFAULT_GUARD if guard is None else guard,
        bool(row["allow_conditional"]),
    )


def _u_of_one(row: Mapping[str, Any]) -> float:
    """The standard uncertainty of a settled value of one portion, by the budget in force; none is the starter's."""
    u_other, s_r, position = (_decimal(row[name]) for name in ("u_other", "s_r", "s_position"))
    if row["basis"] == "own data" and u_other is not None and s_r is not None:
        budget = own_data_budget(u_other, s_r, 1, False, "")
    else:
        budget = starter_budget(_decimal(row["s_reproducibility"]) or STARTER_U, s_r, 1, False, "")
    return math.hypot(budget.u, float(position or 0))


def _decimal(text: Any) -> Decimal | None:
    """A number as it was typed, with its decimal comma where it has one."""
    return Decimal(str(text).replace(",", ".")) if text else None
