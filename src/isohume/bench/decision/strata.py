"""Strata of a lot: do its positions differ by more than repeatability, and which one decides.

A lot whose positions differ is not homogeneous, and a mean over it describes no portion anybody eats. Every position
must then conform by itself; the worst one decides. Choosing it costs nothing on the safe side: a lot with one bad
position is passed only if that position passes too, so the risk of a false pass stays that of a single position.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any, Literal

from isohume.bench.decision.determination import Determination, determine
from isohume.bench.decision.specification import Specification
from isohume.foundation.metrology.group_differences import BetweenGroups, between_groups
from isohume.foundation.metrology.normal_range import range_quantile
from isohume.foundation.metrology.replicates import critical_range_factor, u_of_route
from isohume.foundation.quantity.errors import InputError

Kind = Literal["position", "composite", "no position"]
Decides = Literal["worst position", "pooled", "worst portion"]
LEAST_PORTIONS = 4
"""Below it a difference cannot be told from one bad portion, and ISO 5725-6 asks for more of them anyway."""
MOST_OF_A_ROUTE = 10
ALONE = "One of them does not pass by itself, and for a food-safety limit a mean over places never passes for it."
MIXTURES = ("composite", "mixed", "pooled", "mix of", "pool of")
"""How the name of a mixture of places begins, an article aside; a composite is one wherever it is said."""
_ARTICLES = ("the ", "a ", "one ")


@dataclass(frozen=True, slots=True)
class Stratum:
    """The portions of one position and the value they became; `z` is its distance inside the limit in its own u."""

    position: str
    kind: Kind
    portions: tuple[Decimal, ...]
    found: Determination
    z: float | None

    def as_json(self) -> dict[str, object]:
        """The stratum as the record keeps it."""
        return {
            "position": self.position,
            "kind": self.kind,
            "n": self.found.n,
            "value": None if self.found.value is None else float(self.found.value),
            "route": self.found.route,
            "portions": [str(portion) for portion in self.portions],
        }


@dataclass(frozen=True, slots=True)
class Strata:
    """The strata of a lot, worst first, what decides, and how surely all of them conform."""

    strata: tuple[Stratum, ...]
    between: BetweenGroups | None
    decides: Decides
    determination: Determination | None
    reasons: tuple[str, ...]
    probability_all: float | None = None

    @property
    def worst(self) -> Stratum:
        """The stratum nearest to a limit, or furthest beyond it; one that needs more portions where that decides."""
        return self.strata[0]

    def as_json(self) -> dict[str, object]:
        """The strata as the record keeps them."""
        found = self.between
        return {
            "decides": self.decides,
            "worst": self.worst.position,
            "probability_all": self.probability_all,
            "positions": [stratum.as_json() for stratum in self.strata],
            "between": None
            if found is None
            else {
                "positions": found.groups,
                "portions": found.n,
                "s_between": found.s_between,
                "interval": [found.low, found.high],
                "s_r": found.s_r,
                "f": found.f,
                "f_allowed": found.f_critical,
                "p": found.p_value,
                "seen_from": found.detectable,
            },
            "reasons": list(self.reasons),
        }


def position_key(position: str) -> str:
    """Positions that differ in case, commas or spaces alone are one place.

    position: the place as typed [text].
    Returns: the key [text].
    Source: none.
    """
    return " ".join(part for part in re.split(r"[\s,;/]+", position.casefold()) if part)


def judge_strata(
    portions: Sequence[tuple[str, Decimal]], s_r: Decimal | None, u_common: float, rule: Specification
) -> Strata | None:
    """The strata of a lot from its portions and their positions, and what decides the lot.

        worst = least (U - y_i)/u_i or (y_i - L)/u_i, u_i^2 = u_common^2 + s_r^2/n_i; pooled, by the route of
        ISO 5725-6, where the positions do not differ by more than their portions do and, for a safety limit, each
        one passes by itself (a test that sees no difference is no proof that there is none)
    portions: position and value of each portion [1], re-reads left out; an empty position is one that was not given.
    s_r: the repeatability standard deviation [1]; None where not known: the worst portion decides.
    u_common: everything but repeatability, as a standard uncertainty [1].
    rule: limits, kind and guard factor [text].
    Returns: the Strata [text]; None for fewer than two positions or fewer than four portions.
    Raises: InputError for more than 10 portions of one position where they are judged by it.
    Example: composite 0.812, bottom front 0.858 to 0.864 (n = 4), maximum 0.850 -> bottom front decides.
    Source: Berger1982, each part tested by itself; ISO5725-6, 5.2 (assumes homogeneous material); ISO5725-2, 7.4.
    """
    groups = _grouped(portions)
    values = [value for _, value in portions]
    if len([name for name in groups if _kind(name) != "no position"]) < 2 or len(values) < LEAST_PORTIONS:
        return None
    between = _between(groups, s_r)
    if s_r is None:
        strata = _ranked(groups, None, u_common, rule)
        return Strata(strata, between, "worst portion", None, (_seen(between),) if between else ())
    apart = _apart(values, s_r)
    strata = _ranked(groups, s_r, u_common, rule)
    mixed = any(stratum.kind != "position" for stratum in strata)
    if (between is not None and between.differ) or (apart is not None and mixed):
        return _by_worst(strata, between, _differ(between, apart), rule)
    why = _alike(between)
    if rule.kind == "safety" and any(one.z is None or one.z < rule.guard for one in strata):
        return _by_worst(strata, between, f"{why} {ALONE}", rule)
    return _pooled(strata, between, why, values, s_r)


def _grouped(portions: Sequence[tuple[str, Decimal]]) -> dict[str, tuple[Decimal, ...]]:
    """Portions by position as first typed."""
    names: dict[str, str] = {}
    groups: dict[str, tuple[Decimal, ...]] = {}
    for position, value in portions:
        name = names.setdefault(position_key(position), " ".join(position.split()))
        groups[name] = (*groups.get(name, ()), value)
    return groups


def _kind(position: str) -> Kind:
    name = position_key(position)
    if not name:
        return "no position"
    bare = next((name.removeprefix(one) for one in _ARTICLES if name.startswith(one)), name)
    begins = any(f"{bare} ".startswith(f"{mixture} ") for mixture in MIXTURES)
    return "composite" if begins or "composite" in name.split() else "position"


def _between(groups: Mapping[str, tuple[Decimal, ...]], s_r: Decimal | None) -> BetweenGroups | None:
    """Between the true positions; None where there is one only, or no repeatability to hold it against."""
    true = {name: [float(x) for x in xs] for name, xs in groups.items() if _kind(name) == "position"}
    if len(true) < 2:
        return None
    try:
        return between_groups(true, None if s_r is None else float(s_r))
    except InputError:
        return None


def _apart(values: Sequence[Decimal], s_r: Decimal) -> str | None:
    """In words where the range of all portions is beyond what repeatability explains."""
    n, spread = len(values), max(values) - min(values)
    factor = critical_range_factor(n) if n <= MOST_OF_A_ROUTE else Decimal(f"{range_quantile(n):.1f}")
    if spread <= factor * s_r:
        return None
    return f"range {spread} is beyond the allowed {(factor * s_r).normalize():f} ({factor} x s_r {s_r}, n = {n})"


def _ranked(
    groups: Mapping[str, tuple[Decimal, ...]], s_r: Decimal | None, u_common: float, rule: Specification
) -> tuple[Stratum, ...]:
    found = [_stratum(name, values, s_r, u_common, rule) for name, values in groups.items()]
    return tuple(sorted(found, key=lambda stratum: math.inf if stratum.z is None else stratum.z))


def _stratum(
    name: str, values: tuple[Decimal, ...], s_r: Decimal | None, u_common: float, rule: Specification
) -> Stratum:
    label, kind = name or "position not given", _kind(name)
    if s_r is None:
        worst = min(values, key=lambda value: _inside(value, rule))
        route = "single portion" if len(values) == 1 else f"worst of {len(values)}"
        spread = max(values) - min(values)
        found = Determination(worst, len(values), route, False, spread, None, None, ())
        return Stratum(label, kind, values, found, float(_inside(worst, rule)))
    try:
        found = determine(values, s_r)
    except InputError as error:
        raise InputError("position", f"{label}: {len(values)} portions", error.allowed + " of one position") from None
    if found.value is None:
        return Stratum(label, kind, values, found, None)
    u = u_of_route(u_common, float(s_r), found.n, found.is_median)
    return Stratum(label, kind, values, found, float(_inside(found.value, rule)) / u)


def _inside(value: Decimal, rule: Specification) -> Decimal:
    """How far a value lies inside the nearer limit; negative beyond it."""
    return min(limit.value - value if limit.is_upper else value - limit.value for limit in rule.limits)


def _pooled(
    strata: tuple[Stratum, ...], between: BetweenGroups | None, why: str, values: Sequence[Decimal], s_r: Decimal
) -> Strata:
    why = f"{why} Their portions are pooled."
    found = determine(values, s_r) if len(values) <= MOST_OF_A_ROUTE else _of_many(values, s_r)
    return Strata(strata, between, "pooled", replace(found, reasons=(why, *found.reasons)), (why,))


def _of_many(values: Sequence[Decimal], s_r: Decimal) -> Determination:
    """The mean of more portions than a printed table knows, or their median where their range is too wide."""
    n, ordered, apart = len(values), sorted(values), _apart(values, s_r)
    middle = (ordered[(n - 1) // 2] + ordered[n // 2]) / 2
    value, name = (sum(values, Decimal(0)) / n, "mean") if apart is None else (middle, "median")
    why = () if apart is None else (f"Median of {n}: {apart}; look for the cause.",)
    return Determination(value, n, f"{name} of {n}", name == "median", ordered[-1] - ordered[0], None, s_r, why)


def _by_worst(strata: tuple[Stratum, ...], between: BetweenGroups | None, why: str, rule: Specification) -> Strata:
    reasons = [why]
    mixtures = [stratum for stratum in strata if stratum.kind == "composite"]
    if mixtures:
        reasons.append("A composite hides the wettest of the places it was mixed from: it passes nothing by itself.")
    worst, waiting = strata[0], [stratum for stratum in strata if stratum.found.value is None]
    value = worst.found.value
    if waiting and (value is None or rule.admits(value)):
        more = tuple(f"{stratum.position}: {reason}" for stratum in waiting for reason in stratum.found.reasons)
        found = replace(waiting[0].found, reasons=(*reasons, *more))
        # what decides stands first: a place without a value may be worse than the worst one that has one
        ordered = (*waiting, *(stratum for stratum in strata if stratum.found.value is not None))
        return Strata(ordered, between, "worst position", found, (*reasons, *more))
    named = "position" if worst.kind == "position" else worst.kind
    reasons.append(
        f"Worst of {len(strata)}: {worst.position} ({named}), {worst.found.route}: {_short(worst.found.value)}. "
        "Every position must conform by itself: the worst one decides, not a mean over them."
    )
    found = replace(worst.found, route=f"{worst.found.route}, worst position", reasons=(*reasons, *worst.found.reasons))
    return Strata(strata, between, "worst position", found, tuple(reasons))


def _differ(between: BetweenGroups | None, apart: str | None) -> str:
    if between is not None and between.differ:
        against = "their portions' own spread" if between.own_spread else "s_r"
        return (
            f"The positions differ by more than repeatability explains: F = {between.f:.3g}, {between.f_critical:.3g} "
            f"at 5 %; between positions s = {between.s_between:.2g} against {against} = {between.s_r:.2g}."
        )
    return f"The portions of the positions lie further apart than repeatability explains: {apart}."


def _alike(between: BetweenGroups | None) -> str:
    explained = "their own portions do" if between is not None and between.own_spread else "repeatability explains"
    why = f"The positions do not differ by more than {explained}."
    return why if between is None else f"{why} {_seen(between)}"


def _seen(between: BetweenGroups) -> str:
    """What a test with so few positions could have missed."""
    word = "differ" if between.differ else "do not differ visibly"
    return (
        f"{between.groups} positions, {between.n} portions, F = {between.f:.3g} ({between.f_critical:.3g} at 5 %): "
        f"they {word}; a between-position s below {between.detectable:.2g} would be missed more than once in ten."
    )


def _short(value: Any) -> str:
    return f"{float(value):.4f}" if value is not None else ""
