"""Measurement statistics: budgets, propagation, Monte Carlo, replicates, variance components, conformity.

Names are fetched from their files when first asked for: what needs arrays (propagation, Monte Carlo) does not
slow down a verb that only needs a probability of conformity.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from isohume.foundation.metrology.budget import (
        Budget,
        Component,
        combine,
        coverage_factor,
        welch_satterthwaite,
    )
    from isohume.foundation.metrology.charts import (
        CusumChart,
        EwmaChart,
        IndividualsChart,
        cumulative_sums,
        cusum_chart,
        ewma_chart,
        individuals_chart,
    )
    from isohume.foundation.metrology.components import (
        Level,
        VarianceComponents,
        components_from_summaries,
        nested_components,
    )
    from isohume.foundation.metrology.conformity import (
        acceptance_limit_relative,
        acceptance_limits,
        guard_band,
        guard_factor_for,
        probability_of_conformity,
    )
    from isohume.foundation.metrology.distributions import (
        ArcSine,
        CorrelatedNormal,
        Normal,
        Rectangular,
        StudentT,
        Triangular,
    )
    from isohume.foundation.metrology.dixon_exact import dixon_critical_exact, dixon_exceedance
    from isohume.foundation.metrology.monte_carlo import (
        Comparison,
        MonteCarlo,
        compare_with_gum,
        numerical_tolerance,
        simulate,
        simulate_until_stable,
    )
    from isohume.foundation.metrology.normal import normal_cdf, normal_quantile
    from isohume.foundation.metrology.outliers import (
        OutlierHint,
        dixon,
        dixon_critical,
        grubbs,
        grubbs_critical,
    )
    from isohume.foundation.metrology.propagation import Propagation, propagate
    from isohume.foundation.metrology.replicates import (
        ReplicateRoute,
        critical_difference_two_labs,
        critical_range_factor,
        repeatability_limit,
        replicate_route,
        s_r_from_duplicates,
        u_of_route,
    )
    from isohume.foundation.metrology.scores import e_n, score_word, z_score, zeta_score
    from isohume.foundation.metrology.straight_line import StraightLine, unweighted_line, weighted_line
    from isohume.foundation.metrology.student import student_cdf, student_quantile

_HOME = {
    "budget": ("Budget", "Component", "combine", "coverage_factor", "welch_satterthwaite"),
    "charts": (
        "CusumChart",
        "EwmaChart",
        "IndividualsChart",
        "cumulative_sums",
        "cusum_chart",
        "ewma_chart",
        "individuals_chart",
    ),
    "components": ("Level", "VarianceComponents", "components_from_summaries", "nested_components"),
    "conformity": (
        "acceptance_limit_relative",
        "acceptance_limits",
        "guard_band",
        "guard_factor_for",
        "probability_of_conformity",
    ),
    "distributions": ("ArcSine", "CorrelatedNormal", "Normal", "Rectangular", "StudentT", "Triangular"),
    "dixon_exact": ("dixon_critical_exact", "dixon_exceedance"),
    "monte_carlo": (
        "Comparison",
        "MonteCarlo",
        "compare_with_gum",
        "numerical_tolerance",
        "simulate",
        "simulate_until_stable",
    ),
    "normal": ("normal_cdf", "normal_quantile"),
    "outliers": ("OutlierHint", "dixon", "dixon_critical", "grubbs", "grubbs_critical"),
    "propagation": ("Propagation", "propagate"),
    "replicates": (
        "ReplicateRoute",
        "critical_difference_two_labs",
        "critical_range_factor",
        "repeatability_limit",
        "replicate_route",
        "s_r_from_duplicates",
        "u_of_route",
    ),
    "scores": ("e_n", "score_word", "z_score", "zeta_score"),
    "straight_line": ("StraightLine", "unweighted_line", "weighted_line"),
    "student": ("student_cdf", "student_quantile"),
}
_WHERE = {name: module for module, names in _HOME.items() for name in names}

__all__ = [
    "ArcSine",
    "Budget",
    "Comparison",
    "Component",
    "CorrelatedNormal",
    "CusumChart",
    "EwmaChart",
    "IndividualsChart",
    "Level",
    "MonteCarlo",
    "Normal",
    "OutlierHint",
    "Propagation",
    "Rectangular",
    "ReplicateRoute",
    "StraightLine",
    "StudentT",
    "Triangular",
    "VarianceComponents",
    "acceptance_limit_relative",
    "acceptance_limits",
    "combine",
    "compare_with_gum",
    "components_from_summaries",
    "coverage_factor",
    "critical_difference_two_labs",
    "critical_range_factor",
    "cumulative_sums",
    "cusum_chart",
    "dixon",
    "dixon_critical",
    "dixon_critical_exact",
    "dixon_exceedance",
    "e_n",
    "ewma_chart",
    "grubbs",
    "grubbs_critical",
    "guard_band",
    "guard_factor_for",
    "individuals_chart",
    "nested_components",
    "normal_cdf",
    "normal_quantile",
    "numerical_tolerance",
    "probability_of_conformity",
    "propagate",
    "repeatability_limit",
    "replicate_route",
    "s_r_from_duplicates",
    "score_word",
    "simulate",
    "simulate_until_stable",
    "student_cdf",
    "student_quantile",
    "u_of_route",
    "unweighted_line",
    "weighted_line",
    "welch_satterthwaite",
    "z_score",
    "zeta_score",
]


def __getattr__(name: str) -> Any:
    """The public name, from the file it lives in."""
    if name not in _WHERE:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{_WHERE[name]}"), name)


def __dir__() -> list[str]:
    return __all__
