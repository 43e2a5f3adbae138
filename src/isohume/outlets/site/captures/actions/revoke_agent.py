"""Revoke a bench agent's token: it brings nothing more; what it brought stays."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from isohume.outlets.site.captures.models import Agent
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import MANAGER
from isohume.outlets.site.register.actions.fields import needed_words


@dataclass
class RevokeAgent(Action[Agent]):
    """At once and for good. Its spool goes on under the token of an agent that is registered in its place."""

    name = "agent_revoked"
    said = "Revoked a bench agent's token"
    roles = frozenset({MANAGER})

    agent: Agent
    reason: str

    @property
    def site(self) -> Site:
        """Its plant."""
        return self.agent.site

    def refusals(self, by: By) -> Iterable[str]:
        """Once only."""
        self.agent.refresh_from_db(fields=["revoked_at"])
        if self.agent.revoked_at is not None:
            yield f"The token of {self.agent.name} is revoked already."

    def change(self, by: By) -> Done[Agent]:
        """Its next request is refused."""
        reason = needed_words(self.reason, "reason", 300, "why, such as computer replaced, or token seen by others")
        self.agent.revoked_at = by.at
        self.agent.save(update_fields=["revoked_at"])
        waiting = {"entries_that_waited": str(self.agent.backlog)} if self.agent.backlog else {}
        return Done(self.agent, self.agent.ref, details=waiting, reason=reason)
