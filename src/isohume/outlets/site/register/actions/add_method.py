"""Add a method with its first version."""

from __future__ import annotations

from dataclasses import dataclass, field

from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import MANAGER
from isohume.outlets.site.register.actions.fields import needed_words, refuse_taken
from isohume.outlets.site.register.actions.method_fields import Asks, make_version
from isohume.outlets.site.register.models import Method, MethodVersion


@dataclass
class AddMethod(Action[MethodVersion]):
    """A way of measuring. Until a budget is set its decisions use the starter budget of the published studies."""

    name = "method_added"
    said = "Added a method"
    roles = frozenset({MANAGER})

    at_site: Site
    called: str
    asks: Asks = field(default_factory=Asks)

    @property
    def site(self) -> Site:
        """The plant that uses it."""
        return self.at_site

    def change(self, by: By) -> Done[MethodVersion]:
        """The method and its first version are one change."""
        called = needed_words(self.called, "called", 120, "the method's name")
        refuse_taken(Method.objects.filter(site=self.at_site), "name", called, "called", "in this plant")
        method = Method.objects.create(site=self.at_site, name=called)
        version = make_version(method, self.asks, by.at)
        return Done(version, method.ref, [version.ref], {"name": called, **self.asks.as_typed()})
