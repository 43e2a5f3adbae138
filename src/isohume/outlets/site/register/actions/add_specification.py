"""Add a version of a product's specification: limits with operators, temperature, component, and their source."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from isohume.bench.record.lot_description import Method as BenchMethod
from isohume.bench.record.lot_description import ProductSpecification
from isohume.bench.record.lot_specification import read_specification
from isohume.bench.record.toml_section import Section
from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_words
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import DEVELOPER, MANAGER
from isohume.outlets.site.register.actions.fields import needed_code, needed_words, refuse_taken
from isohume.outlets.site.register.models import Product, SpecificationVersion

LOWER, UPPER = {">=": "minimum", ">": "above"}, {"<=": "maximum", "<": "below"}
"""Our operators and the keys of a lot file: both are judged by the same rules."""
ONE_COMPONENT = "one product, one component's specification; make another product for the other component"
OUR_FIELD = {"minimum": "lower", "above": "lower", "maximum": "upper", "below": "upper", "specification": "upper"}


@dataclass
class AddSpecification(Action[SpecificationVersion]):
    """In force from now on; lots received before keep theirs.

    The last version is the one in force, so all versions of a product are of one component: a version for another
    one would put the first one's limit out of force without saying so.
    """

    name = "specification_added"
    said = "Added a specification version"
    roles = frozenset({MANAGER, DEVELOPER})

    product: Product
    version: str
    temperature_c: str
    kind: str
    source: str
    component: str = ""
    lower: str = ""
    lower_operator: str = ">="
    upper: str = ""
    upper_operator: str = "<="
    guard: str = ""  # blank: the default factor
    allow_conditional: str = ""  # yes: only for a quality limit
    expected_a_w: str = ""
    reason: str = ""  # what changed, and why; the first version has none before it

    @property
    def site(self) -> Site:
        """The plant that makes it."""
        return self.product.site

    def refusals(self, by: By) -> list[str]:
        """The method says at which temperature a limit can be judged."""
        return [] if self.product.method.current else [f"{self.product.method.name} has no version yet."]

    def change(self, by: By) -> Done[SpecificationVersion]:
        """Read by the rules of a lot file, so that page and command line refuse the same."""
        found = self._judged()
        version = needed_code(self.version, "version", 20, "the version of the specification, such as 4")
        refuse_taken(self.product.specifications.all(), "version", version, "version", f"of {self.product.name}")
        before, rule, component = self.product.specification, found.rule, self._own_spelling(found.component)
        reason = self._reason(before)
        if before is not None and before.component.casefold() != component.casefold():
            raise InputError("component", component or "none", f"{before.component or 'none'}: {ONE_COMPONENT}")
        made = SpecificationVersion.objects.create(
            product=self.product,
            version=version,
            component=component,
            temperature_c=f"{found.temperature_c:f}",
            lower=f"{rule.lower.value:f}" if rule.lower else "",
            lower_operator=rule.lower.operator if rule.lower else "",
            upper=f"{rule.upper.value:f}" if rule.upper else "",
            upper_operator=rule.upper.operator if rule.upper else "",
            kind=rule.kind,
            guard=f"{rule.guard:f}",
            allow_conditional=rule.allow_conditional,
            expected_a_w=f"{found.expected_a_w:f}" if self.expected_a_w.strip() else "",
            source=found.source,
            since=by.at,
        )
        about = [self.product.ref, *([before.ref] if before else [])]
        return Done(made, made.ref, about, self._details(made, before), reason)

    def _reason(self, before: SpecificationVersion | None) -> str:
        """Needed where limits in force are put out of force."""
        if before is None:
            return read_words(self.reason, "reason", 300)
        return needed_words(self.reason, "reason", 300, "what changed, and why")

    def _judged(self) -> ProductSpecification:
        """What the lot file's reader makes of it; errors come back with our names of the fields."""
        product = {"name": self.product.name, "components": list(self.product.components)}
        if self.expected_a_w.strip():
            product["expected_a_w"] = self.expected_a_w
        current = self.product.method.current
        assert current is not None  # refusals asked
        method = BenchMethod(
            name=self.product.method.name,
            version=current.version,
            temperature_c=Decimal(current.temperature_c),
            temperature_tolerance_c=Decimal(current.temperature_tolerance_c),
        )
        try:
            return read_specification(Section("product", product), Section("specification", self._table()), method)
        except InputError as error:
            plain = error.field.removeprefix("specification.").removeprefix("product.")
            error.field = OUR_FIELD.get(plain, plain)
            raise error.at() from None

    def _own_spelling(self, component: str) -> str:
        """The component as the product spells it."""
        return next((own for own in self.product.components if own.casefold() == component.casefold()), component)

    def _table(self) -> dict[str, Any]:
        """The table [specification] that the form says; blank fields are not there."""
        typed: dict[str, Any] = {
            "version": self.version,
            "component": self.component,
            "temperature_c": self.temperature_c,
            "kind": self.kind,
            "guard": self.guard,
            "source": self.source,
            _key(LOWER, self.lower_operator, "lower_operator", self.lower): self.lower,
            _key(UPPER, self.upper_operator, "upper_operator", self.upper): self.upper,
        }
        present: dict[str, Any] = {key: text for key, text in typed.items() if text.strip()}
        if self.allow_conditional not in ("", "yes", "no"):
            raise InputError("allow_conditional", self.allow_conditional, "yes or no")
        return {**present, "allow_conditional": self.allow_conditional == "yes"}

    def _details(self, made: SpecificationVersion, before: SpecificationVersion | None) -> dict[str, Any]:
        """Old and new of every field that says what the product is allowed to be."""
        said = ("version", "component", "temperature_c", "lower", "lower_operator", "upper", "upper_operator")
        rest = ("kind", "guard", "allow_conditional", "expected_a_w", "source")
        return {key: [_plain(before, key), _plain(made, key)] for key in (*said, *rest)}


def _key(keys: dict[str, str], operator: str, field: str, value: str) -> str:
    """The key of a limit with its operator; an operator without a limit is passed over."""
    if operator not in keys:
        if value.strip():
            raise InputError(field, operator, " or ".join(keys))
        return next(iter(keys.values()))
    return keys[operator]


def _plain(version: SpecificationVersion | None, key: str) -> str:
    found = getattr(version, key) if version else ""
    return ("yes" if found else "no") if isinstance(found, bool) else str(found)
