"""A precision experiment at one level: laboratories (or instruments, analysts, sites) with repeated values each.

Stragglers and outliers are hints: a laboratory is left out only for a cause that somebody found and wrote down.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from isohume.foundation.metrology.components import VarianceComponents, nested_components
from isohume.foundation.metrology.outliers import OutlierHint
from isohume.foundation.metrology.student import student_quantile
from isohume.foundation.quantity.errors import InputError, RangeError


@dataclass(frozen=True, slots=True)
class PrecisionLevel:
    """What a level of the experiment says.

    `h` is one for each laboratory; `k` too, None where a laboratory has a single value. `between_raw` is the
    between-laboratory variance as estimated, which may be negative; `s_between` is then 0.
    """

    laboratories: int
    n: int
    mean: float
    s_r: float
    s_between: float
    s_reproducibility: float
    between_raw: float
    h: tuple[float, ...]
    k: tuple[float | None, ...]
    components: VarianceComponents

    @property
    def repeatability_limit(self) -> float:
        """r = 2.8 s_r."""
        return 2.8 * self.s_r

    @property
    def reproducibility_limit(self) -> float:
        """R = 2.8 s_R."""
        return 2.8 * self.s_reproducibility


def precision_level(cells: Sequence[Sequence[float]]) -> PrecisionLevel:
    """Repeatability and reproducibility of one level, with Mandel's statistics of each laboratory.

        s_r^2 = sum((n_i - 1) s_i^2)/sum(n_i - 1); s_L^2 = (s_d^2 - s_r^2)/n; s_R^2 = s_r^2 + s_L^2
        h_i = (mean_i - mean of means)/s of means; k_i = s_i sqrt(p)/sqrt(sum s_i^2)
    cells: for each laboratory its values [any unit]; at least two laboratories, one of them with two values.
    Returns: the PrecisionLevel [same unit]; numbers may differ from laboratory to laboratory.
    Raises: InputError for fewer than two laboratories, an empty one, no repeated value or a value not finite.
    Example: sulfur in coal, level 1 (source): mean 0.690, s_r 0.015, s_R 0.026.
    Source: ISO5725-2, 7.3.1, 7.4 and B.1.
    """
    if len(cells) < 2 or not all(cells):
        raise InputError("cells", f"{len(cells)} laboratories", "at least two, none of them empty")
    values = [x for cell in cells for x in cell]
    found = nested_components(values, [(i,) for i, cell in enumerate(cells) for _ in cell], ["laboratory"])
    (between,) = found.levels
    means = [math.fsum(cell) / len(cell) for cell in cells]
    return PrecisionLevel(
        laboratories=len(cells),
        n=len(values),
        mean=found.grand_mean,
        s_r=found.s_r,
        s_between=math.sqrt(between.variance),
        s_reproducibility=found.s_reproducibility,
        between_raw=between.raw,
        h=_h_of(means),
        k=_k_of([_s_of(cell) for cell in cells]),
        components=found,
    )


def mandel_h_critical(laboratories: int, alpha: float = 0.05) -> float:
    """The h that a laboratory among others passes by chance with a probability of alpha, on either side.

        h = (p - 1) t/sqrt(p (t^2 + p - 2)), t at alpha/2 with p - 2 degrees of freedom
    laboratories: number of laboratories p [1], 3 or more.
    alpha: significance level [1], above 0 and below 0.5.
    Returns: critical value [1]; 5 % marks a straggler, 1 % an outlier.
    Raises: RangeError for fewer than 3 laboratories or an alpha out of range.
    Example: f(8) = 1.75; f(8, 0.01) = 2.06.
    Source: ISO5725-2, table 6 (closed form from Student's t).
    """
    _need_at_least("laboratories", laboratories, 3)
    _need_alpha(alpha)
    t = student_quantile(1.0 - 0.5 * alpha, laboratories - 2)
    return (laboratories - 1) * t / math.sqrt(laboratories * (t * t + laboratories - 2))


def mandel_k_critical(laboratories: int, n: int, alpha: float = 0.05) -> float:
    """The k that a laboratory among others passes by chance with a probability of alpha.

        k = sqrt(p F/(F + p - 1)), F at alpha with n - 1 and (p - 1)(n - 1) degrees of freedom
    laboratories: number of laboratories p [1], 2 or more.
    n: values of each laboratory [1], 2 or more.
    alpha: significance level [1], above 0 and below 0.5.
    Returns: critical value [1].
    Raises: RangeError for too few laboratories or values, or an alpha out of range.
    Example: f(9, 2) = 1.90; f(9, 2, 0.01) = 2.29.
    Source: ISO5725-2, table 7 (closed form from F).
    """
    f = _f_upper(laboratories, n, alpha)
    return math.sqrt(laboratories * f / (f + laboratories - 1))


def cochran_critical(laboratories: int, n: int, alpha: float = 0.05) -> float:
    """The critical value of Cochran's test for the largest of several variances.

        C = F/(F + p - 1), F at alpha/p with n - 1 and (p - 1)(n - 1) degrees of freedom
    laboratories: number of variances p [1], 2 or more.
    n: values behind each variance [1], 2 or more.
    alpha: significance level [1], above 0 and below 0.5.
    Returns: critical value [1].
    Raises: RangeError for too few laboratories or values, or an alpha out of range.
    Example: f(9, 2) = 0.638; f(9, 2, 0.01) = 0.754.
    Source: ISO5725-2, table 4 (closed form from F).
    """
    f = _f_upper(laboratories, n, alpha, share=laboratories)
    return f / (f + laboratories - 1)


def cochran(standard_deviations: Sequence[float], n: int, alpha: float = 0.05) -> OutlierHint:
    """Cochran's test on the largest of several standard deviations, as a hint.

        C = s_max^2/sum(s_i^2)
    standard_deviations: one of each laboratory [any unit], two or more, zero or above, not all zero.
    n: values behind each [1]; where numbers differ, the number that most of them have.
    alpha: significance level [1]; 0.05 marks a straggler, 0.01 an outlier.
    Returns: the OutlierHint, `suspect` being the largest standard deviation.
    Raises: InputError for too few, negative or not finite standard deviations.
    Example: creosote oil, level 5 (source), laboratory 6: C = 0.636 against 0.638.
    Source: ISO5725-2, 7.3.3.
    """
    if len(standard_deviations) < 2 or not all(0.0 <= s < math.inf for s in standard_deviations):
        raise InputError("standard_deviations", f"{len(standard_deviations)} values", "two or more, finite, 0 or above")
    total = math.fsum(s * s for s in standard_deviations)
    if total == 0.0:
        raise InputError("standard_deviations", 0.0, "at least one above zero")
    p = len(standard_deviations)
    position = max(range(p), key=lambda i: standard_deviations[i])
    suspect = standard_deviations[position]
    statistic, critical = suspect * suspect / total, cochran_critical(p, n, alpha)
    apart = statistic > critical
    says = f"the scatter of number {position + 1} is apart; look for the cause." if apart else "no scatter is apart."
    hint = f"Cochran: {statistic:.3f} against {critical:.3f} at {alpha:g}: {says}"
    return OutlierHint("Cochran", n, alpha, statistic, critical, suspect, position, apart, hint)


def _s_of(cell: Sequence[float]) -> float | None:
    if len(cell) < 2:
        return None
    mean = math.fsum(cell) / len(cell)
    return math.sqrt(math.fsum((x - mean) ** 2 for x in cell) / (len(cell) - 1))


def _h_of(means: Sequence[float]) -> tuple[float, ...]:
    p = len(means)
    centre = math.fsum(means) / p
    s = math.sqrt(math.fsum((x - centre) ** 2 for x in means) / (p - 1))
    return tuple((x - centre) / s if s > 0.0 else 0.0 for x in means)


def _k_of(deviations: Sequence[float | None]) -> tuple[float | None, ...]:
    known = [s for s in deviations if s is not None]
    pooled = math.sqrt(math.fsum(s * s for s in known) / len(known))
    return tuple(None if s is None else (s / pooled if pooled > 0.0 else 0.0) for s in deviations)


def _f_upper(laboratories: int, n: int, alpha: float, share: int = 1) -> float:
    from scipy.special import fdtri

    _need_at_least("laboratories", laboratories, 2)
    _need_at_least("n", n, 2)
    _need_alpha(alpha)
    return float(fdtri(n - 1, (laboratories - 1) * (n - 1), 1.0 - alpha / share))


def _need_at_least(field: str, number: int, least: int) -> None:
    if not number >= least:
        raise RangeError(field, number, least, math.inf)


def _need_alpha(alpha: float) -> None:
    if not 0.0 < alpha < 0.5:
        raise RangeError("alpha", alpha, 0.0, 0.5, why="significance level, both ends excluded")
