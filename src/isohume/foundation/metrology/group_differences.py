"""Do groups (positions, strata) differ by more than repeatability explains, and by how much.

With a known repeatability the test is one of chi-squared, without it the F-test of the analysis of variance. Few
groups see little: how large a difference would be missed is part of the answer.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from isohume.foundation.metrology.components import nested_components
from isohume.foundation.quantity.errors import InputError

RISK = 0.05
SEEN = 0.90


@dataclass(frozen=True, slots=True)
class BetweenGroups:
    """Between groups against repeatability.

    `s_r` is the repeatability used and `dof_within` its degrees of freedom, None where it was known beforehand;
    `own_spread` where the groups' own values spread by more than the known s_r, and took its place. `s_between` is
    never below zero; `low` and `high` are its 95 % interval (exact for equal numbers). A component of `detectable`
    would be seen nine times in ten.
    """

    groups: int
    n: int
    mean: float
    s_r: float
    dof_within: int | None
    mean_square: float
    f: float
    f_critical: float
    p_value: float
    s_between: float
    low: float
    high: float
    detectable: float
    own_spread: bool = False

    @property
    def differ(self) -> bool:
        """Whether the groups differ by more than repeatability explains, at a risk of 5 %."""
        return self.f > self.f_critical


def between_groups(values: Mapping[str, Sequence[float]], s_r: float | None = None) -> BetweenGroups:
    """The between-group component of values in groups, tested against repeatability.

        MS = sum n_i (xbar_i - xbar)^2/(k - 1); F = MS/s_r^2; s_between^2 = (MS - s_r^2)/n_0;
        n_0 = (N - sum n_i^2/N)/(k - 1)
    values: the values of each group by its name [any unit], at least two groups.
    s_r: the repeatability standard deviation [same unit] where it is known, above zero; where the groups' own values
        spread by more than it (at 5 %), their spread is taken instead. None to take it from the values of the groups
        themselves, of which one then needs two.
    Returns: the BetweenGroups [same unit].
    Raises: InputError for fewer than two groups, an empty one, or repeatability that cannot be known.
    Example: groups (0.1, 0.2) and (0.5, 0.4) -> F 18.0, below 18.5: such few values show no difference.
    Source: ISO5725-2, 7.4; JCGM100, H.5; Searle1992, intervals of a between-group component.
    """
    _need(values, s_r)
    paired = [(float(x), (name,)) for name, xs in values.items() for x in xs]
    n, k = len(paired), len(values)
    mean = math.fsum(x for x, _ in paired) / n
    means = {name: math.fsum(xs) / len(xs) for name, xs in values.items()}
    square = math.fsum(len(xs) * (means[name] - mean) ** 2 for name, xs in values.items()) / (k - 1)
    repeat, dof = _repeatability(paired, k, s_r)
    n0 = (n - sum(len(xs) ** 2 for xs in values.values()) / n) / (k - 1)
    ratio = square / repeat**2
    quantiles = {p: _quantile(p, k - 1, dof) for p in (0.025, 1.0 - SEEN, 1.0 - RISK, 0.975)}
    return BetweenGroups(
        groups=k,
        n=n,
        mean=mean,
        s_r=repeat,
        dof_within=dof,
        mean_square=square,
        f=ratio,
        f_critical=quantiles[1.0 - RISK],
        p_value=_beyond(ratio, k - 1, dof),
        s_between=_component(ratio, repeat, n0),
        low=_component(ratio / quantiles[0.975], repeat, n0),
        high=_component(ratio / quantiles[0.025], repeat, n0),
        detectable=_component(quantiles[1.0 - RISK] / quantiles[1.0 - SEEN], repeat, n0),
        own_spread=s_r is not None and dof is not None,
    )


def _repeatability(
    paired: Sequence[tuple[float, tuple[str]]], groups: int, s_r: float | None
) -> tuple[float, int | None]:
    """The repeatability to compare with, and its degrees of freedom; None where it is the known one."""
    if s_r is not None and len(paired) == groups:
        return s_r, None
    own = nested_components([x for x, _ in paired], [path for _, path in paired], ["group"])
    if s_r is not None:
        from scipy.special import chdtrc

        explained = float(chdtrc(own.residual_dof, own.residual_dof * (own.s_r / s_r) ** 2)) >= RISK
        return (s_r, None) if explained else (own.s_r, own.residual_dof)
    if own.s_r <= 1e-12 * max(abs(x) for x, _ in paired):  # rounding may leave a spread where there is none
        raise InputError("values", "groups whose own values are all alike", "a spread inside them, or a known s_r")
    return own.s_r, own.residual_dof


def _component(ratio: float, s_r: float, n0: float) -> float:
    """The between-group standard deviation that makes F this large on average; zero where it is below one."""
    return s_r * math.sqrt(max(0.0, ratio - 1.0) / n0)


def _quantile(probability: float, dof: int, dof_within: int | None) -> float:
    """The quantile of F, with infinite degrees of freedom below where repeatability is known."""
    from scipy.special import chdtri, fdtri

    if dof_within is None:
        return float(chdtri(dof, 1.0 - probability)) / dof
    return float(fdtri(dof, dof_within, probability))


def _beyond(ratio: float, dof: int, dof_within: int | None) -> float:
    from scipy.special import chdtrc, fdtrc

    return float(chdtrc(dof, ratio * dof) if dof_within is None else fdtrc(dof, dof_within, ratio))


def _need(values: Mapping[str, Sequence[float]], s_r: float | None) -> None:
    if len(values) < 2:
        raise InputError("groups", f"{len(values)}", "at least two groups")
    for name, xs in values.items():
        if not xs:
            raise InputError("groups", name, "at least one value in each group")
        if not all(math.isfinite(x) for x in xs):
            raise InputError("values", f"a value of {name} that is not finite", "finite numbers")
    if s_r is not None and not 0.0 < s_r < math.inf:
        raise InputError("s_r", s_r, "a repeatability standard deviation above zero")
