"""Set the uncertainty budget that a method version decides with."""

from __future__ import annotations

from dataclasses import dataclass

from isohume.bench.record.lot_file import _uncertainty as read_uncertainty
from isohume.bench.record.toml_section import Section
from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_decimal
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import MANAGER
from isohume.outlets.site.register.actions.fields import needed_words
from isohume.outlets.site.register.models import Budget, MethodVersion

BASES = ("own data", "collaborative study")
NUMBERS = {"u_other": "u_other", "s_r": "s_r", "s_reproducibility": "s_R", "s_position": "s_position"}
"""Our fields and how a lot file calls them: both are judged by the same rules."""


@dataclass
class SetBudget(Action[Budget]):
    """Own data: u_other and s_r; collaborative study: s_R in place of u_other. Old decisions keep the old budget."""

    name = "budget_set"
    said = "Set an uncertainty budget"
    roles = frozenset({MANAGER})

    method_version: MethodVersion
    basis: str
    u_other: str = ""
    s_r: str = ""
    s_reproducibility: str = ""
    s_position: str = ""
    source: str = ""
    reason: str = ""

    @property
    def site(self) -> Site:
        """The plant of the method."""
        return self.method_version.method.site

    def change(self, by: By) -> Done[Budget]:
        """Read by the rules of a lot file; blank fields are not there."""
        if self.basis not in BASES:
            raise InputError("basis", self.basis, " or ".join(BASES))
        typed = {ours: getattr(self, ours).strip() for ours in NUMBERS}
        typed = {ours: text for ours, text in typed.items() if text}
        found = self._judge(typed)
        reason = needed_words(self.reason, "reason", 300, "why it is set: every decision from now on stands on it")
        before = self.method_version.budget
        budget = Budget.objects.create(
            method_version=self.method_version,
            basis=self.basis,
            source=found,
            since=by.at,
            **{ours: f"{read_decimal(text, ours):f}" for ours, text in typed.items()},
        )
        details = {"basis": self.basis, **typed, "source": found}
        about = [self.method_version.ref, self.method_version.method.ref, *([before.ref] if before else [])]
        return Done(budget, budget.ref, about, details, reason)

    def _judge(self, typed: dict[str, str]) -> str:
        """The source of a budget that holds; errors come back with our names of the fields."""
        content: dict[str, str] = {"basis": self.basis, **{NUMBERS[ours]: text for ours, text in typed.items()}}
        if self.source.strip():
            content["source"] = self.source
        try:
            return read_uncertainty(Section("", content)).source
        except InputError as error:
            error.field = next((ours for ours, theirs in NUMBERS.items() if theirs == error.field), error.field)
            raise error.at() from None
