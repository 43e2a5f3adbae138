"""What a difference looks like: a check that fails by the difference of two known values was read on another bottle."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from isohume.bench.assurance.check import Check, CheckedSolution, within_limit
from isohume.foundation.quantity.errors import InputError
from isohume.foundation.solutions import ReferenceValue, reference_value

Known = tuple[str, float | None]  # a solution and its molality; None is saturated


def another_reference(check: Check, known: Iterable[Known]) -> list[str]:
    """The solutions that read outside the limit, but as another of the laboratory's references would.

    check: the judged check. known: the laboratory's references. Returns: one question a match, in words.
    """
    references = list(dict.fromkeys(known))
    return [hint for found in check.solutions for hint in _matches(found, references, check.limit)]


def _matches(found: CheckedSolution, references: list[Known], limit: float) -> Iterator[str]:
    if within_limit(found.deviation, limit):
        return
    bottles = ", ".join(found.lots)
    for solution, molality in references:
        value = _value(solution, found.temperature_c, molality)
        if value is None or (value.solution, value.molality) == (found.solution, found.molality):
            continue
        if within_limit(found.mean - value.a_w, limit):
            name = named(value.solution, value.molality)
            yield (
                f"{named(found.solution, found.molality)} read {found.mean:.4f}, as {name} would ({value.a_w:.4f}): "
                f"does {bottles or 'the bottle'} hold {name}?"
            )


def _value(solution: str, temperature_c: float, molality: float | None) -> ReferenceValue | None:
    try:
        return reference_value(solution, temperature_c, molality)
    except InputError:  # no value at this temperature: then nothing can be said of it
        return None


def named(solution: str, molality: float | None) -> str:
    """A reference solution as people say it."""
    return f"{solution} saturated" if molality is None else f"{solution} {molality:g} mol/kg"
