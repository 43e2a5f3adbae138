"""A net heat of sorption that may be used for one product: its value, u, ranges and where it comes from."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from isohume.foundation.quantity.errors import InputError

if TYPE_CHECKING:
    from isohume.product.sorption.isotherm_fit import Fit

_PLAUSIBLE_KJ_MOL = (0.0, 30.0)  # net; with the heat of vaporisation in it, it would be 40 and more
_VAPORISATION_KJ_MOL = 44.0  # at 25 degC
_K = 2.0  # how many u below 0 a cited heat may lie and still be none
BELOW_ZERO = (
    "{} kJ/mol lies below 0 by more than 2 u: it would state a lower a_w at a higher temperature; "
    "such a product needs its own isotherms"
)


def below_zero(value_kj_mol: float, u_kj_mol: float) -> bool:
    """Whether a net heat is negative beyond its uncertainty: water is then bound less than in itself.

        q + 2 u < 0
    value_kj_mol: the net heat [kJ/mol].
    u_kj_mol: its standard uncertainty [kJ/mol].
    Returns: True where it is [text].
    Example: -3 with u 0.5 -> True; -0.5 with u 0.5 -> False.
    Source: none (a net heat of sorption of zero or more; with own isotherms a product may show otherwise).
    """
    return value_kj_mol + _K * u_kj_mol < _PLAUSIBLE_KJ_MOL[0]


@dataclass(frozen=True, slots=True)
class HeatOfSorption:
    """A net heat with everything its use depends on; `origin` is "own isotherms" or "cited"."""

    value_kj_mol: float
    u_kj_mol: float | None
    temperature_c: tuple[float, float]
    source: str
    moisture_db: tuple[float, float] | None = None
    a_w: tuple[float, float] | None = None
    dof: float = math.inf
    origin: str = "cited"
    product: str = ""
    formula_version: str = ""
    direction: str = "not stated"
    remarks: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if not math.isfinite(self.value_kj_mol):
            raise InputError("value_kj_mol", self.value_kj_mol, "a finite net heat in kJ/mol")
        if self.u_kj_mol is not None and not 0.0 <= self.u_kj_mol < math.inf:
            raise InputError("u_kj_mol", self.u_kj_mol, "a finite standard uncertainty of zero or more")
        if self.origin not in ("own isotherms", "cited"):
            raise InputError("origin", self.origin, "own isotherms or cited")
        for field in ("temperature_c", "moisture_db", "a_w"):
            pair = getattr(self, field)
            if pair is not None and not pair[0] <= pair[1]:
                raise InputError(field, f"{pair[0]} to {pair[1]}", "a range, lower end first")

    def against(self, product: str = "", formula_version: str = "") -> tuple[str, ...]:
        """Why this heat may not restate a reading of that product; empty where nothing speaks against it."""
        found = []
        if self.u_kj_mol is None or self.u_kj_mol == 0.0:
            found.append("the heat of sorption has no uncertainty: what it restates would look too good")
        if not self.source.strip():
            found.append("the heat of sorption names no source")
        if self.value_kj_mol > _PLAUSIBLE_KJ_MOL[1]:
            found.append(
                f"{self.value_kj_mol:g} kJ/mol is no net heat of a food at its water activity: "
                f"if the heat of vaporisation ({_VAPORISATION_KJ_MOL:g}) is in it, take it out"
            )
        if self.origin == "cited" and below_zero(self.value_kj_mol, self.u_kj_mol or 0.0):
            found.append(BELOW_ZERO.format(f"{self.value_kj_mol:g}"))
        if self.product and product != self.product:
            found.append(f"the heat is of {self.product}, the reading of {product or 'no product that is named'}")
        if self.formula_version and formula_version != self.formula_version:
            read = formula_version or "none that is named"
            found.append(f"the heat is of recipe {self.formula_version}, the reading of {read}")
        return tuple(found)

    @property
    def valid(self) -> str:
        """Where the heat holds, in words."""
        low, high = self.temperature_c
        parts = [f"{low:g} to {high:g} degC"]
        if self.moisture_db is not None:
            parts.append(f"moisture {self.moisture_db[0]:.4g} to {self.moisture_db[1]:.4g} kg/kg dry basis")
        if self.a_w is not None:
            parts.append(f"a_w {self.a_w[0]:.3g} to {self.a_w[1]:.3g}")
        return ", ".join(parts)

    def __str__(self) -> str:
        u = "" if self.u_kj_mol is None else f" (u {self.u_kj_mol:.2g})"
        below = " (below 0: it states a lower a_w at a higher temperature)" if self.value_kj_mol < 0 else ""
        return f"a net heat of {self.value_kj_mol:.3g}{u} kJ/mol{below}, {self.origin}: {self.source}"


def heat_from_isotherms(
    fits: Fit | Sequence[Fit], a_w: float, from_c: float, to_c: float, *, u_a_w: float = 0.0, source: str = ""
) -> HeatOfSorption:
    """The net heat of a product at a reading, from its own isotherms.

        X = isotherm(a_w, from_c); q = mean heat from from_c to to_c at X; u(q) with that of X through dq/dX
    fits: one fit of a model with temperature, or one fit a temperature, two or more [text].
    a_w: the reading [1], inside the isotherm's range.
    from_c: temperature of the reading [degC], inside that of the isotherms.
    to_c: temperature of the specification [degC], inside that of the isotherms.
    u_a_w: standard uncertainty of the reading [1], zero or more.
    source: what the isotherm version is called [text]; the product and recipe if left.
    Returns: HeatOfSorption [kJ/mol], its ranges those of the isotherms.
    Raises: RangeError for a reading or temperature beyond the isotherms; InputError as isosteric_heat does.
    Beyond: nothing is taken from outside the moisture range common to all temperatures.
    Example: modified Oswin of chickpea, a_w 0.4687 at 15 degC (X 0.0968): 4.774 kJ/mol between 15 and 35 degC.
    Source: Labuza1985; JCGM100, 5.1.2.
    """
    from isohume.desk.own_heat import own_heat

    return own_heat(fits, a_w, from_c, to_c, u_a_w, source)
