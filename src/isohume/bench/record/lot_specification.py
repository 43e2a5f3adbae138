"""Reads the product and its specification from a lot file."""

from __future__ import annotations

from decimal import Decimal

from isohume.bench.decision.specification import DEFAULT_GUARD, Specification
from isohume.bench.reading.check_file import BENCH_HIGH_C, BENCH_LOW_C
from isohume.bench.record.lot_description import Method, ProductSpecification
from isohume.bench.record.toml_section import Section
from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.limits import Limit
from isohume.foundation.quantity.typed import read_a_w, read_temperature_c


def read_specification(product: Section, section: Section, method: Method) -> ProductSpecification:
    """A product's specification, with contradictions refused.

    product: the table [product] [text].
    section: the table [specification] [text].
    method: the method, whose temperature the limit must be stated at [text].
    Returns: the ProductSpecification [text].
    Raises: InputError naming the key, the value and what is allowed.
    Source: none.
    """
    lower = _limit(section, "minimum", ">=", "above", ">")
    upper = _limit(section, "maximum", "<=", "below", "<")
    guard = section.decimal("guard")
    kind = section.choice("kind", ("safety", "quality"))
    conditional = section.flag("allow_conditional", False)
    version, component, source = section.text("version"), section.text("component", ""), section.text("source")
    temperature = _spec_temperature(section, method)
    expected, name, components = product.raw("expected_a_w"), product.text("name"), product.texts("components")
    if components and component and component.casefold() not in {known.casefold() for known in components}:
        raise InputError(section.field("component"), component, f"one of product.components: {', '.join(components)}")
    if components and not component:
        raise InputError(section.field("component"), "nothing", f"which of {', '.join(components)} the limit is for")
    # Before the limits are weighed, so that a misspelt key is named rather than missed.
    product.close()
    section.close()
    try:
        rule = Specification(
            lower=lower,
            upper=upper,
            kind="safety" if kind == "safety" else "quality",
            guard=DEFAULT_GUARD if guard is None else guard,
            allow_conditional=conditional,
        )
    except InputError as error:
        raise error if error.field == section.name else section.within(error) from None
    return ProductSpecification(
        product=name,
        version=version,
        component=component,
        temperature_c=temperature,
        rule=rule,
        source=source,
        expected_a_w=_expected(rule) if expected is None else read_a_w(expected, "product.expected_a_w", product.notes),
        components=components,
    )


def _limit(section: Section, inclusive: str, inclusive_sign: str, strict: str, strict_sign: str) -> Limit | None:
    if section.has(inclusive) and section.has(strict):
        raise InputError(section.field(strict), section.raw(strict), f"either {inclusive} or {strict}, not both")
    for key, sign in ((inclusive, inclusive_sign), (strict, strict_sign)):
        if section.has(key):
            value = read_a_w(section.raw(key), section.field(key), section.notes)
            return Limit(value, sign)  # type: ignore[arg-type]  # the four signs come from the two calls above
    return None


def _spec_temperature(section: Section, method: Method) -> Decimal:
    temperature = read_bench_temperature(section, "the temperature the limit is stated at")
    if abs(temperature - method.temperature_c) > method.temperature_tolerance_c:
        raise InputError(
            "specification.temperature_c",
            temperature,
            f"the method's {method.temperature_c} +- {method.temperature_tolerance_c} degC: a reading is not restated "
            "at another temperature without a documented heat of sorption",
        )
    return temperature


def read_bench_temperature(section: Section, what: str) -> Decimal:
    """The key temperature_c of a section, as a bench has it.

    section: the table that holds it [text].
    what: what the temperature is, for the error [text].
    Returns: the temperature [degC], 0 to 60.
    Raises: InputError where it is missing or beyond the range.
    Source: none.
    """
    field = section.field("temperature_c")
    if not section.has("temperature_c"):
        raise InputError(field, "nothing", f"{what}, in degrees Celsius")
    return read_temperature_c(section.raw("temperature_c"), field, section.notes, BENCH_LOW_C, BENCH_HIGH_C)


def _expected(rule: Specification) -> Decimal:
    """Before a reading or a history exists the specification is the best guess; the wetter limit is the careful one."""
    limit = rule.upper or rule.lower
    assert limit is not None  # a specification has at least one limit
    return limit.value
