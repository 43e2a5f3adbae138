"""Save the sampling plan of a product as a version."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import DEVELOPER, MANAGER
from isohume.outlets.site.register.actions.fields import needed_words
from isohume.outlets.site.register.models import Product
from isohume.outlets.site.strata.models import SamplingPlan
from isohume.outlets.site.strata.plans import find_plan


@dataclass
class SaveSamplingPlan(Action[SamplingPlan]):
    """The plan is found anew from what was typed: what is saved is what isohume computes, not what a page said."""

    name = "sampling_plan_saved"
    said = "Saved a sampling plan"
    roles = frozenset({DEVELOPER, MANAGER})

    product: Product
    typed: Mapping[str, str] = field(default_factory=dict)  # the plan's kind and its points, in percent
    reason: str = ""

    @property
    def site(self) -> Site:
        """The product's plant."""
        return self.product.site

    def change(self, by: By) -> Done[SamplingPlan]:
        """The next version; lots that were sampled before keep what they have."""
        found = find_plan(self.typed)
        reason = needed_words(
            self.reason, "reason", 300, "why: the fraction that matters, and where the risks come from"
        )
        last = self.product.sampling_plans.order_by("-version").first()
        saved = SamplingPlan.objects.create(
            product=self.product,
            version=last.version + 1 if last else 1,
            kind=found.kind,
            given=found.given,
            n=found.n,
            c=found.c,
            k=found.k,
            reason=reason,
            since=by.at,
            by=by.person,
        )
        given = {name: text for name, text in found.given.items() if text}
        details = {"version": str(saved.version), "kind": found.kind, **given, "portions": str(found.n)}
        if found.c is not None:
            details["accepted beyond the limit"] = str(found.c)
        if found.k:
            details["acceptability constant"] = found.k
        return Done(saved, saved.ref, [self.product.ref, *([last.ref] if last else [])], details, reason)
