"""Add a product: its form on the bench, its components, what the method must know of it."""

from __future__ import annotations

from dataclasses import dataclass, field

from isohume.bench.reading.preparation_guidance import FORMS
from isohume.bench.reading.scope import judge_scope
from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_words
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import DEVELOPER, MANAGER
from isohume.outlets.site.register.actions.fields import needed_words, refuse_taken
from isohume.outlets.site.register.models import Method, Product
from isohume.outlets.site.register.models.products import SCOPE_FLAGS

MOST_COMPONENTS = 20


@dataclass
class AddProduct(Action[Product]):
    """What is made. What the method cannot measure is registered all the same, and its scope is said with it."""

    name = "product_added"
    said = "Added a product"
    roles = frozenset({MANAGER, DEVELOPER})

    at_site: Site
    called: str
    form: str
    method: Method | None
    components: list[str] = field(default_factory=list)
    scope_flags: list[str] = field(default_factory=list)
    pack_atmosphere: str = ""

    @property
    def site(self) -> Site:
        """The plant that makes it."""
        return self.at_site

    def refusals(self, by: By) -> list[str]:
        """The method is the plant's own."""
        if self.method is not None and self.method.site_id != self.at_site.pk:
            return ["The method belongs to another plant."]
        return []

    def change(self, by: By) -> Done[Product]:
        """The trail keeps what the scope gate said on the day."""
        called = needed_words(self.called, "called", 120, "the product's name")
        refuse_taken(Product.objects.filter(site=self.at_site), "name", called, "called", "in this plant")
        if self.form not in FORMS:
            raise InputError("form", self.form, f"one of {', '.join(FORMS)}")
        if self.method is None:
            raise InputError("method", "nothing", "the method it is measured by")
        unknown = [flag for flag in self.scope_flags if flag not in SCOPE_FLAGS]
        if unknown:
            raise InputError("scope_flags", unknown[0], f"one of {', '.join(SCOPE_FLAGS)}")
        flags = [flag for flag in SCOPE_FLAGS if flag in self.scope_flags]
        product = Product.objects.create(
            site=self.at_site,
            name=called,
            form=self.form,
            components=read_components(self.components),
            scope_flags=flags,
            pack_atmosphere=read_words(self.pack_atmosphere, "pack_atmosphere", 120),
            method=self.method,
        )
        details = {
            "name": called,
            "form": self.form,
            "components": ", ".join(product.components),
            "scope_flags": ", ".join(flags),
            "pack_atmosphere": product.pack_atmosphere,
            "method": self.method.name,
            "scope": " ".join((judge_scope(flags).words + ".", *judge_scope(flags).reasons)),
        }
        return Done(product, product.ref, [self.method.ref], details)


def read_components(typed: list[str]) -> list[str]:
    """The components of a product, each once; none where the product is one piece."""
    found: list[str] = []
    for text in typed:
        component = read_words(text, "components", 60)
        if not component:
            continue
        if component.casefold() in {known.casefold() for known in found}:
            raise InputError("components", component, "each component once")
        found.append(component)
    if len(found) > MOST_COMPONENTS:
        raise InputError("components", f"{len(found)} components", f"at most {MOST_COMPONENTS}")
    return found
