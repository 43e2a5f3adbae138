"""The uncertainty of a lot's value, component by component, and which budget it stands on."""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import Decimal

from isohume.bench.decision.unverified_budget import is_unverified
from isohume.foundation.metrology.budget import Component, combine
from isohume.foundation.metrology.replicates import u_of_route

COVERAGE_FACTOR = 2.0
NOT_YET_OWN = "historical, unverified data, until the budget is refreshed from the laboratory's own"


@dataclass(frozen=True, slots=True)
class LotBudget:
    """Independent components in quadrature, with the label of the budget they belong to."""

    label: str
    source: str
    components: tuple[Component, ...]

    @property
    def u(self) -> float:
        """The combined standard uncertainty."""
        return combine(self.components).combined_u

    def plus(self, name: str, u: float, source: str) -> LotBudget:
        """The budget with one more component; one of zero changes nothing and is left out."""
        if u == 0:
            return self
        return LotBudget(self.label, self.source, (*self.components, Component(name, u, source=source)))

    def as_json(self) -> dict[str, object]:
        """The budget as the record keeps it, with each component's share of the variance."""
        combined = combine(self.components)
        u = combined.combined_u
        return {
            "label": self.label,
            "source": self.source,
            "components": [
                {"name": c.name, "u": c.u, "share": share, "source": c.source}
                for c, share in zip(self.components, combined.shares, strict=True)
            ],
            "u": u,
            "k": COVERAGE_FACTOR,
            "expanded": COVERAGE_FACTOR * u,
        }


def own_data_budget(u_other: Decimal, s_r: Decimal, n: int, is_median: bool, source: str) -> LotBudget:
    """The budget of a laboratory that has its own data.

        u^2 = u_other^2 + s_r^2/n, the second term times pi/2 for a median
    u_other: everything but repeatability [1], above zero.
    s_r: the laboratory's repeatability standard deviation [1], above zero.
    n: number of portions [1], 1 or more.
    is_median: whether the value is a median [text].
    source: where the figures come from [text].
    Returns: the LotBudget [1]; where the source says "historical, unverified" the label does too.
    Source: JCGM100, 5.1; ISO5725-6, 5.2.
    """
    return LotBudget(
        NOT_YET_OWN if is_unverified(source) else "the laboratory's own data",
        source,
        (
            Component("everything but repeatability", float(u_other), source=source),
            _repeatability(s_r, n, is_median),
        ),
    )


def starter_budget(s_reproducibility: Decimal, s_r: Decimal | None, n: int, is_median: bool, source: str) -> LotBudget:
    """The first day's budget: the published reproducibility of collaborative studies, never the instrument's leaflet.

        u^2 = (s_R^2 - s_r^2) + s_r^2/n; without a known s_r, u = s_R whatever n is
    s_reproducibility: the reproducibility standard deviation s_R [1], above zero.
    s_r: the laboratory's repeatability standard deviation [1], below s_R; None where not known.
    n: number of portions [1], 1 or more.
    is_median: whether the value is a median [text].
    source: where s_R comes from [text].
    Returns: the LotBudget [1], labelled as a starter budget.
    Example: s_R 0.009 -> 0.842 against <= 0.85 conforms with probability 0.81.
    Source: ISO21748, 7.1.
    """
    label = "starter budget: reproducibility of collaborative studies, until the laboratory has its own data"
    if s_r is None:
        return LotBudget(label, source, (Component("reproducibility s_R", float(s_reproducibility), source=source),))
    between = math.sqrt(float(s_reproducibility) ** 2 - float(s_r) ** 2)
    return LotBudget(
        label,
        source,
        (
            Component("between laboratories (s_R without s_r)", between, source=source),
            _repeatability(s_r, n, is_median),
        ),
    )


def _repeatability(s_r: Decimal, n: int, is_median: bool) -> Component:
    name = "repeatability of the median" if is_median else "repeatability of the mean" if n > 1 else "repeatability"
    formula = "s_r sqrt(pi / (2 n))" if is_median else "s_r / sqrt(n)"
    return Component(name, u_of_route(0.0, float(s_r), n, is_median), source=f"{formula}, s_r = {s_r}, n = {n}")
