"""Add another version of a method; the earlier ones stay with what was measured by them."""

from __future__ import annotations

from dataclasses import dataclass, field

from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import MANAGER
from isohume.outlets.site.register.actions.fields import needed_words
from isohume.outlets.site.register.actions.method_fields import Asks, make_version
from isohume.outlets.site.register.models import Budget, Method, MethodVersion

CARRIED = ("basis", "u_other", "s_r", "s_reproducibility", "s_position", "source")


@dataclass
class AddMethodVersion(Action[MethodVersion]):
    """In force from now on. The budget of the version before is carried over, and the trail says so."""

    name = "method_version_added"
    said = "Added a method version"
    roles = frozenset({MANAGER})

    method: Method
    reason: str
    asks: Asks = field(default_factory=Asks)

    @property
    def site(self) -> Site:
        """The plant that uses it."""
        return self.method.site

    def change(self, by: By) -> Done[MethodVersion]:
        """What was decided by an earlier version keeps it."""
        before = self.method.current
        version = make_version(self.method, self.asks, by.at)
        reason = needed_words(self.reason, "reason", 300, "what changed, and why")
        details: dict[str, object] = {
            **self.asks.as_typed(),
            "version": [before.version if before else "", version.version],
        }
        if before is not None and before.budget is not None:
            carried = {key: getattr(before.budget, key) for key in CARRIED}
            Budget.objects.create(method_version=version, since=by.at, **carried)
            details["budget carried over"] = ", ".join(f"{key} {value}" for key, value in carried.items() if value)
        about = [version.ref, *([before.ref] if before else [])]
        return Done(version, self.method.ref, about, details, reason)
