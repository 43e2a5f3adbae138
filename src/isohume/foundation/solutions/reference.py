"""What a solution of known water activity should read: value, uncertainty, source and cautions."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from isohume.foundation.quantity.ranges import ValidRange
from isohume.foundation.solutions import saturated
from isohume.foundation.solutions.names import hazard_cautions, solution_key
from isohume.foundation.solutions.tables import table

if TYPE_CHECKING:
    from isohume.foundation.solutions.unsaturated import ByMolality

G_PER_100_G = 0.1  # mol/kg times g/mol gives g per kg of water; a tenth of it is g per 100 g


@dataclass(frozen=True, slots=True)
class ReferenceValue:
    """The value a reference solution should read, and what that rests on.

    `u` is a standard uncertainty or None where none is known; `verified` says whether the numbers behind it
    were read in a text or recalled. The last three fields are set for solutions by molality only.
    """

    solution: str
    kind: Literal["saturated", "unsaturated"]
    temperature_c: float
    a_w: float
    u: float | None
    molality: float | None
    source: str
    verified: Literal["text", "memory"]
    valid_temperature_c: tuple[float, float]
    cautions: tuple[str, ...]
    osmotic_coefficient: float | None = None
    g_per_100_g_water: float | None = None
    valid_molality: tuple[float, float] | None = None


def reference_value(solution: str, temperature_c: float = 25.0, molality: float | None = None) -> ReferenceValue:
    """What a solution should read at a temperature: saturated, or of a given molality.

    solution: formula or English name [text], any case.
    temperature_c: temperature of the solution [degC]; by molality 20 to 30.
    molality: molality [mol/kg]; None for a saturated solution with visible crystals.
    Returns: the value with u, source, ranges and cautions [1].
    Raises: UnknownNameError, RangeError beyond a range, InputError for a salt without a trustworthy value.
    Beyond: nothing is extrapolated.
    Example: reference_value("NaCl", 22.0).a_w = 0.7541114, u 0.00066.
    Source: Greenspan1977; PitzerMayorga1973; RobinsonStokes1959; RobinsonStokes1961.
    """
    key = solution_key(solution)
    if molality is None:
        return _saturated(key, temperature_c)
    from isohume.foundation.solutions.unsaturated import by_molality

    return _unsaturated(key, molality, temperature_c, by_molality(key, molality, temperature_c))


def molality_for(solution: str, target_a_w: float, temperature_c: float = 25.0) -> ReferenceValue:
    """The solution that gives a wanted water activity: molality and grams per 100 g of water.

    solution: formula or English name [text], any case.
    target_a_w: wanted water activity [1], less than 1 and not below saturation or the model's end.
    temperature_c: temperature of use [degC], 20 to 30; the molality is solved at 25, the rest is in u.
    Returns: the value with molality, osmotic coefficient, grams and u [1].
    Raises: InputError naming the a_w at which the salt saturates, or at which the model ends.
    Example: molality_for("NaCl", 0.85).g_per_100_g_water = 23.58.
    Source: PitzerMayorga1973; RobinsonStokes1959; RobinsonStokes1961.
    """
    from isohume.foundation.solutions.unsaturated import TEMPERATURES, solve_molality

    key = solution_key(solution)
    TEMPERATURES.check("temperature_c", temperature_c)
    return reference_value(key, temperature_c, solve_molality(key, target_a_w, temperature_c))


def _saturated(key: str, temperature_c: float) -> ReferenceValue:
    entry = saturated.saturated_entry(key)
    a_w = saturated.saturated_a_w(key, temperature_c)
    u = saturated.saturated_u(key, temperature_c)
    low, high = entry["valid_temperature_c"]
    return ReferenceValue(
        solution=key,
        kind="saturated",
        temperature_c=float(temperature_c),
        a_w=a_w,
        u=u,
        molality=None,
        source=entry["source"],
        verified=entry["verified"],
        valid_temperature_c=(low, high),
        cautions=saturated.saturated_cautions(key, u) + hazard_cautions(key),
    )


def _unsaturated(key: str, molality: float, temperature_c: float, found: ByMolality) -> ReferenceValue:
    from isohume.foundation.solutions.unsaturated import TEMPERATURES, molality_range

    span: ValidRange = molality_range(key)
    return ReferenceValue(
        solution=key,
        kind="unsaturated",
        temperature_c=float(temperature_c),
        a_w=found.a_w,
        u=found.u,
        molality=float(molality),
        source=found.source,
        verified="text" if found.verified == "text" else "memory",
        valid_temperature_c=(TEMPERATURES.low, TEMPERATURES.high),
        cautions=_unsaturated_cautions(key, temperature_c, found.a_w) + hazard_cautions(key),
        osmotic_coefficient=found.osmotic_coefficient,
        g_per_100_g_water=molality * table("substances")[key]["g_per_mol"] * G_PER_100_G,
        valid_molality=(span.low, span.high),
    )


def _unsaturated_cautions(key: str, temperature_c: float, a_w: float) -> tuple[str, ...]:
    from isohume.foundation.solutions.unsaturated import (
        MODEL_TEMPERATURE_C,
        end_of_range,
        is_checked,
        saturation_a_w,
    )

    cautions = []
    if not is_checked(key):
        cautions.append("constants read in a transcription, not held against a printed or measured value")
    if temperature_c != MODEL_TEMPERATURE_C:
        cautions.append("value of 25 degC; the temperature is in u only")
    if end_of_range(key) is not None:
        cautions.append(f"upper end of the molality, {end_of_range(key)}")
    saturated_at = saturation_a_w(key, temperature_c)
    if saturated_at is not None and a_w < saturated_at:
        cautions.append(
            f"below the saturated value {saturated_at:.4f} of another source: the solution may hold crystals"
        )
    return tuple(cautions)
