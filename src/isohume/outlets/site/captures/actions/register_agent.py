"""Register a bench agent: its token is shown once, and only its digest is kept."""

from __future__ import annotations

from dataclasses import dataclass

from isohume.outlets.site.captures.models import Agent
from isohume.outlets.site.captures.tokens import digest_of, new_token
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import MANAGER
from isohume.outlets.site.register.actions.fields import needed_code, refuse_taken


@dataclass
class RegisterAgent(Action[tuple[Agent, str]]):
    """A bench computer that may bring runs to this plant. A name is never given again."""

    name = "agent_registered"
    said = "Registered a bench agent"
    roles = frozenset({MANAGER})

    at_site: Site
    called: str

    @property
    def site(self) -> Site:
        """The plant it brings runs to."""
        return self.at_site

    def change(self, by: By) -> Done[tuple[Agent, str]]:
        """Make its token."""
        called = needed_code(self.called, "called", 60, "a name of the bench computer, such as Bench room 2")
        refuse_taken(Agent.objects.filter(site=self.at_site), "name", called, "called", "at this plant")
        token = new_token()
        agent = Agent.objects.create(
            site=self.at_site, name=called, token_sha256=digest_of(token), registered_at=by.at, by=by.person
        )
        return Done((agent, token), agent.ref, details={"called": called})
