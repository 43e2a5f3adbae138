"""Keep a fitted set as the product's isotherm: a version, signed with the password given again."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from isohume.bench.record.canonical_form import canonical
from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.ledger.writing import writing
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.proof import Proof
from isohume.outlets.site.people.roles import DEVELOPER, MANAGER
from isohume.outlets.site.register.actions.fields import needed_words
from isohume.outlets.site.studies.models import Isotherm, Study
from isohume.outlets.site.studies.queries import in_force

STATEMENT = (
    "I keep this isotherm for the product: the points are of the formula version named here, measured in the direction "
    "and at the temperature named here, and I have read the reasons for the model."
)


@dataclass
class KeepIsotherm(Action[Isotherm]):
    """The whole set is frozen with its digest; what was in force of the same direction and temperature no longer is."""

    name = "isotherm_kept"
    said = "Kept an isotherm for the product"
    roles = frozenset({DEVELOPER, MANAGER})

    study: Study
    direction: str
    temperature_c: str
    result_sha256: str  # of the result that was looked at
    reason: str
    proof: Proof | None

    @property
    def site(self) -> Site:
        """The study's plant."""
        return self.study.site

    def refusals(self, by: By) -> Iterable[str]:
        """No fresh proof, nothing fitted, another result than the one looked at, no model, kept already."""
        if self.proof is None or not self.proof.holds_for(by.person, by.at):
            yield "The password was not given again just now, or was wrong: nothing was signed."
            return
        self.study.refresh_from_db(fields=["result", "result_sha256"])
        if self.study.result is None:
            yield f"Study {self.study.pk} is not fitted yet."
            return
        if self.study.result_sha256 != self.result_sha256:
            yield "The study was fitted again since this page was opened: look at its result first."
        elif hashlib.sha256(canonical(self.study.result)).hexdigest() != self.result_sha256:
            yield "The stored result is not the one that was calculated: its digest differs. Fit the study again."
        fitted = self._fitted()
        if fitted is None:
            return
        if fitted["recommended"] is None:
            yield "No model describes these points, so there is no isotherm to keep: " + " ".join(fitted["reasons"])
        kept = Isotherm.objects.filter(study=self.study, digest=_digest(fitted)).first()
        if kept is not None:
            yield f"This is version {kept.version} of the product's isotherm already."

    def _fitted(self) -> dict[str, Any] | None:
        wanted = (self.direction, self.temperature_c)
        return next((one for one in self.study.sets if (one["direction"], one["temperature_c"]) == wanted), None)

    def change(self, by: By) -> Done[Isotherm]:
        """Freeze it under the next version."""
        fitted = self._fitted()
        if fitted is None:
            have = " or ".join(f"{one['direction']} at {one['temperature_c']} degC" for one in self.study.sets)
            raise InputError("direction", f"{self.direction} at {self.temperature_c} degC", have)
        reason = needed_words(self.reason, "reason", 300, "why it is kept: first isotherm, new recipe, measured again")
        product = self.study.product
        last = product.isotherms.order_by("-version").first()
        before = [one for one in in_force(product) if _same(one, fitted)]
        kept = Isotherm.objects.create(
            product=product,
            version=last.version + 1 if last else 1,
            study=self.study,
            formula_version=self.study.formula_version,
            direction=fitted["direction"],
            temperature_c=fitted["temperature_c"],
            model=fitted["recommended"],
            content=fitted,
            digest=_digest(fitted),
            reason=reason,
            since=by.at,
            by=by.person,
        )
        with writing(by.at) as evidence:
            evidence.keep_file(f"isotherm-{kept.pk}.json", canonical(fitted))
        about = [product.ref, self.study.ref, *(one.ref for one in before)]
        return Done(kept, kept.ref, about, self._details(kept, by), reason)

    def _details(self, kept: Isotherm, by: By) -> dict[str, Any]:
        return {
            "product": kept.product.name,
            "version": str(kept.version),
            "formula_version": kept.formula_version,
            "direction": kept.direction,
            "temperature_c": kept.temperature_c,
            "model": kept.model,
            "result": self.result_sha256,
            "sha256": kept.digest,
            "meaning": "kept",
            "printed_name": by.person.printed_name,
            "statement": STATEMENT,
        }


def _digest(fitted: dict[str, Any]) -> str:
    return hashlib.sha256(canonical(fitted)).hexdigest()


def _same(one: Isotherm, fitted: dict[str, Any]) -> bool:
    return (one.direction, one.temperature_c) == (fitted["direction"], fitted["temperature_c"])
