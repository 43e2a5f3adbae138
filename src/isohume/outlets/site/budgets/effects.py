"""What a proposed budget would do: guard bands of every product, and the last lots as they would have been judged."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from isohume.bench.decision.budget_effect import GuardEffect, guard_effect, judged_with
from isohume.bench.decision.specification import LimitKind, Specification
from isohume.outlets.site.budgets.proposal import Proposal
from isohume.outlets.site.checks.standing_of import limits_of
from isohume.outlets.site.lots.frozen import frozen
from isohume.outlets.site.lots.models import LotRecord
from isohume.outlets.site.register.figures import budget_of
from isohume.outlets.site.register.models import Product, SpecificationVersion
from isohume.outlets.site.register.rules import limit_words

LAST_LOTS = 20


@dataclass(frozen=True, slots=True)
class Otherwise:
    """A lot that would have been judged otherwise; for information."""

    record: LotRecord
    was: str
    would_be: str


@dataclass(frozen=True, slots=True)
class ProductEffect:
    """What changes for one product."""

    product: Product
    limits: str
    effect: GuardEffect
    lots: int
    otherwise: tuple[Otherwise, ...]

    @property
    def accepted(self) -> tuple[str, str]:
        """The acceptance limits in words, now and proposed."""
        return _between(self.effect.accepted_before), _between(self.effect.accepted_after)


def effects_of(proposal: Proposal) -> list[ProductEffect]:
    """Every product of the method that has a specification."""
    version = proposal.version
    n = max(version.portions, 1)
    before, after = budget_of(version).u, proposal.lot_budget(n).u
    found = []
    for product in version.method.products.order_by("name"):
        spec = product.specification
        if spec is not None:
            records = _last_records(product)
            otherwise = tuple(_otherwise(records, proposal))
            effect = guard_effect(rule_of(spec), before, after)
            found.append(ProductEffect(product, limit_words(spec), effect, len(records), otherwise))
    return found


def rule_of(spec: SpecificationVersion) -> Specification:
    """A specification as the bench judges by it."""
    limits = limits_of(spec)
    lower = next((limit for limit in limits if not limit.is_upper), None)
    upper = next((limit for limit in limits if limit.is_upper), None)
    kind: LimitKind = "safety" if spec.kind == "safety" else "quality"
    return Specification(lower, upper, kind, Decimal(spec.guard), spec.allow_conditional)


def _last_records(product: Product) -> list[LotRecord]:
    """The last record of each of the last lots that has a value."""
    found = LotRecord.objects.filter(lot__product=product).exclude(value=None).exclude(u=None)
    last: dict[int, LotRecord] = {}
    for record in found.select_related("lot__specification").order_by("-pk")[: 2 * LAST_LOTS]:
        last.setdefault(record.lot_id, record)
    return list(last.values())[:LAST_LOTS]


def _otherwise(records: list[LotRecord], proposal: Proposal) -> Iterator[Otherwise]:
    for record in records:
        content: dict[str, Any] = frozen(record.record).content
        budget, found = content["budget"], content["determination"]
        if not budget or not found or found["n"] is None:
            continue
        components = [(part["name"], part["u"]) for part in budget["components"]]
        proposed = proposal.lot_budget(found["n"], str(found["route"]).startswith("median"))
        value, rule = Decimal(str(record.value)), rule_of(record.lot.specification)
        decision = judged_with(value, components, rule, proposed)
        would_be = "no verdict" if decision is None else decision.verdict
        if would_be != record.verdict:
            yield Otherwise(record, record.verdict, would_be)


def _between(sides: tuple[Decimal | None, Decimal | None]) -> str:
    lower, upper = sides
    words = [f"from {lower:.4f}"] if lower is not None else []
    if upper is not None:
        words.append(f"to {upper:.4f}")
    return " ".join(words)
