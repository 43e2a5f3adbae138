"""What another uncertainty budget does: to guard bands and acceptance limits, and to lots already judged."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from isohume.bench.decision.budget import LotBudget, own_data_budget, starter_budget
from isohume.bench.decision.specification import Specification
from isohume.bench.decision.verdict import Decision, decide
from isohume.foundation.quantity.errors import InputError

_ANY = Decimal("0.002"), Decimal("0.001")
BASIC_NAMES = frozenset(
    part.name
    for n, is_median in ((1, False), (2, False), (2, True))
    for budget in (
        own_data_budget(*_ANY, n, is_median, ""),
        starter_budget(*_ANY, n, is_median, ""),
        starter_budget(_ANY[0], None, n, is_median, ""),
    )
    for part in budget.components
)
"""The components that a budget gives every lot; what a lot adds (a warm sample, positions) is called otherwise."""


@dataclass(frozen=True, slots=True)
class GuardEffect:
    """Guard band and acceptance limits (lower, upper; None for no limit) of a specification, before and after."""

    guard_before: Decimal
    guard_after: Decimal
    accepted_before: tuple[Decimal | None, Decimal | None]
    accepted_after: tuple[Decimal | None, Decimal | None]
    refused_after: str = ""


def guard_effect(specification: Specification, u_before: float, u_after: float) -> GuardEffect:
    """Guard bands and acceptance limits of a specification by two budgets.

        w = r u; acceptance limit = limit moved inwards by w
    specification: the limits and the guard factor r [text].
    u_before: the present standard uncertainty [1], greater than zero.
    u_after: the proposed one [1], greater than zero.
    Returns: the GuardEffect [1]; `refused_after` says why nothing would be left inside, where that is so.
    Raises: InputError for a u that is not above zero.
    Example: <= 0.650, r 1.64, u 0.0035 then 0.0025: w 0.00574 then 0.0041, accepted to 0.64426 then 0.6459.
    Source: ILACG8, 4.2.
    """
    for name, u in (("u_before", u_before), ("u_after", u_after)):
        if not 0.0 < u < math.inf:
            raise InputError(name, u, "a finite standard uncertainty greater than zero")
    before, after = (specification.guard * Decimal(repr(float(u))) for u in (u_before, u_after))
    accepted_before, _ = _accepted(specification, before)
    accepted_after, refused = _accepted(specification, after)
    return GuardEffect(before, after, accepted_before, accepted_after, refused)


def _accepted(specification: Specification, guard: Decimal) -> tuple[tuple[Decimal | None, Decimal | None], str]:
    lower = specification.lower.moved(guard).value if specification.lower else None
    upper = specification.upper.moved(guard).value if specification.upper else None
    try:
        specification.guarded(guard)
    except InputError as error:
        return (lower, upper), str(error)
    return (lower, upper), ""


def judged_with(
    value: Decimal, components: Iterable[tuple[str, float]], specification: Specification, budget: LotBudget
) -> Decision | None:
    """What a lot would have been judged with another budget; for information, it changes no decision.

        u^2 = u_budget^2 + what the lot itself added
    value: the lot's value [1].
    components: name and u of the components of its record [1]; those of its budget are left out.
    specification: the limits it was judged against [text].
    budget: the other budget, for as many portions as the lot had [1].
    Returns: the Decision [text]; None where the guard would leave nothing inside.
    Source: JCGM106, 7; ILACG8, 4.2.
    """
    own = [u for name, u in components if name not in BASIC_NAMES]
    try:
        return decide(value, math.hypot(budget.u, *own), specification)
    except InputError:  # the guard leaves no acceptance zone: said where guard bands are compared
        return None
