"""What a stored check lets its instrument do, in the terms of the bench's own rules."""

from __future__ import annotations

from decimal import Decimal
from zoneinfo import ZoneInfo

from isohume.bench.assurance import Standing
from isohume.bench.decision.budget import own_data_budget, starter_budget
from isohume.bench.record.lot_description import STARTER_SOURCE, STARTER_U
from isohume.foundation.quantity.limits import Limit
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.register.models import MethodVersion, SpecificationVersion


def standing_of(check: Check) -> Standing:
    """The standing a check gave, as it was judged and kept."""
    low, high = check.covers_low, check.covers_high
    zone = ZoneInfo(check.instrument.site.time_zone)
    return Standing(
        may_measure=check.may_measure,
        covers_a_w=None if low is None or high is None else (low, high),
        since=check.last_read_at.astimezone(zone),
        until=check.until.astimezone(zone),
        closing_passed=None,
        reasons=tuple(check.result["reasons"]) or _too_few(check),
    )


def _too_few(check: Check) -> tuple[str, ...]:
    if check.may_measure or check.covers_low is not None:
        return ()
    return ("Fewer than two different reference solutions passed: no range is covered.",)


def limits_of(specification: SpecificationVersion) -> tuple[Limit, ...]:
    """The limits of a specification, lower first."""
    typed = (
        (specification.lower, specification.lower_operator),
        (specification.upper, specification.upper_operator),
    )
    return tuple(Limit(Decimal(value), operator) for value, operator in typed if value)


def guard_band(specification: SpecificationVersion, method: MethodVersion) -> Decimal:
    """The guard the limits are judged with, from the method's budget for the portions it asks."""
    return Decimal(specification.guard) * Decimal(repr(_u(method)))


def _u(method: MethodVersion) -> float:
    budget, n = method.budget, max(method.portions, 1)
    if budget is None:
        return starter_budget(STARTER_U, None, n, False, STARTER_SOURCE).u
    s_r = Decimal(budget.s_r) if budget.s_r else None
    if budget.basis == "own data" and budget.u_other and s_r is not None:
        return own_data_budget(Decimal(budget.u_other), s_r, n, False, budget.source).u
    s_reproducibility = Decimal(budget.s_reproducibility) if budget.s_reproducibility else STARTER_U
    return starter_budget(s_reproducibility, s_r, n, False, budget.source).u
