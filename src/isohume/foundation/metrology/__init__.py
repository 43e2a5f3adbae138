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
    from isohume.foundation.metrology.capability import (
        Capability,
        capability_index,
        capability_interval_one_sided,
        capability_interval_two_sided,
        process_capability,
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
    from isohume.foundation.metrology.charts_by_point import ChartRules, ControlChart, Phase, control_chart
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
    from isohume.foundation.metrology.deming import DemingLine, deming_line
    from isohume.foundation.metrology.distributions import (
        ArcSine,
        CorrelatedNormal,
        Normal,
        Rectangular,
        StudentT,
        Triangular,
    )
    from isohume.foundation.metrology.dixon_exact import dixon_critical_exact, dixon_exceedance
    from isohume.foundation.metrology.gauge import GaugeStudy, SourceOfVariation, gauge_study
    from isohume.foundation.metrology.group_differences import BetweenGroups, between_groups
    from isohume.foundation.metrology.intervals import (
        VarianceInterval,
        component_interval,
        satterthwaite_interval,
        variance_interval,
    )
    from isohume.foundation.metrology.joint_conformity import probability_all_conform
    from isohume.foundation.metrology.monte_carlo import (
        Comparison,
        MonteCarlo,
        compare_with_gum,
        numerical_tolerance,
        simulate,
        simulate_until_stable,
    )
    from isohume.foundation.metrology.nested_intervals import component_intervals, intermediate_precision
    from isohume.foundation.metrology.normal import normal_cdf, normal_quantile
    from isohume.foundation.metrology.normal_range import range_quantile
    from isohume.foundation.metrology.outliers import (
        OutlierHint,
        dixon,
        dixon_critical,
        grubbs,
        grubbs_critical,
    )
    from isohume.foundation.metrology.paired import (
        ExcessSpread,
        MeanDifference,
        PairedDifference,
        excess_spread,
        mean_difference,
        paired_difference,
    )
    from isohume.foundation.metrology.precision_experiment import (
        PrecisionLevel,
        cochran,
        cochran_critical,
        mandel_h_critical,
        mandel_k_critical,
        precision_level,
    )
    from isohume.foundation.metrology.proficiency import (
        Homogeneity,
        RobustMean,
        RoundsTogether,
        algorithm_a,
        homogeneity,
        homogeneity_factors,
        rounds_together,
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
    from isohume.foundation.metrology.run_length import average_run_length
    from isohume.foundation.metrology.run_rules import Signal, run_rule_signals
    from isohume.foundation.metrology.sampling_attributes import (
        AttributesPlan,
        acceptance_probability,
        acceptance_probability_in_lot,
        plan_by_attributes,
        portions_to_see,
    )
    from isohume.foundation.metrology.sampling_variables import (
        VariablesPlan,
        VariablesVerdict,
        judge_by_variables,
        plan_by_variables,
        plan_by_variables_approximate,
        tolerance_factor,
        variables_acceptance,
    )
    from isohume.foundation.metrology.scores import e_n, score_word, z_score, zeta_score
    from isohume.foundation.metrology.straight_line import StraightLine, unweighted_line, weighted_line
    from isohume.foundation.metrology.student import student_cdf, student_quantile

_HOME = {
    "budget": ("Budget", "Component", "combine", "coverage_factor", "welch_satterthwaite"),
    "capability": (
        "Capability",
        "capability_index",
        "capability_interval_one_sided",
        "capability_interval_two_sided",
        "process_capability",
    ),
    "charts": (
        "CusumChart",
        "EwmaChart",
        "IndividualsChart",
        "cumulative_sums",
        "cusum_chart",
        "ewma_chart",
        "individuals_chart",
    ),
    "charts_by_point": ("ChartRules", "ControlChart", "Phase", "control_chart"),
    "components": ("Level", "VarianceComponents", "components_from_summaries", "nested_components"),
    "conformity": (
        "acceptance_limit_relative",
        "acceptance_limits",
        "guard_band",
        "guard_factor_for",
        "probability_of_conformity",
    ),
    "deming": ("DemingLine", "deming_line"),
    "distributions": ("ArcSine", "CorrelatedNormal", "Normal", "Rectangular", "StudentT", "Triangular"),
    "dixon_exact": ("dixon_critical_exact", "dixon_exceedance"),
    "gauge": ("GaugeStudy", "SourceOfVariation", "gauge_study"),
    "intervals": ("VarianceInterval", "component_interval", "satterthwaite_interval", "variance_interval"),
    "group_differences": ("BetweenGroups", "between_groups"),
    "joint_conformity": ("probability_all_conform",),
    "monte_carlo": (
        "Comparison",
        "MonteCarlo",
        "compare_with_gum",
        "numerical_tolerance",
        "simulate",
        "simulate_until_stable",
    ),
    "nested_intervals": ("component_intervals", "intermediate_precision"),
    "normal": ("normal_cdf", "normal_quantile"),
    "normal_range": ("range_quantile",),
    "outliers": ("OutlierHint", "dixon", "dixon_critical", "grubbs", "grubbs_critical"),
    "paired": (
        "ExcessSpread",
        "MeanDifference",
        "PairedDifference",
        "excess_spread",
        "mean_difference",
        "paired_difference",
    ),
    "precision_experiment": (
        "PrecisionLevel",
        "cochran",
        "cochran_critical",
        "mandel_h_critical",
        "mandel_k_critical",
        "precision_level",
    ),
    "proficiency": (
        "Homogeneity",
        "RobustMean",
        "RoundsTogether",
        "algorithm_a",
        "homogeneity",
        "homogeneity_factors",
        "rounds_together",
    ),
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
    "run_length": ("average_run_length",),
    "run_rules": ("Signal", "run_rule_signals"),
    "sampling_attributes": (
        "AttributesPlan",
        "acceptance_probability",
        "acceptance_probability_in_lot",
        "plan_by_attributes",
        "portions_to_see",
    ),
    "sampling_variables": (
        "VariablesPlan",
        "VariablesVerdict",
        "judge_by_variables",
        "plan_by_variables",
        "plan_by_variables_approximate",
        "tolerance_factor",
        "variables_acceptance",
    ),
    "scores": ("e_n", "score_word", "z_score", "zeta_score"),
    "straight_line": ("StraightLine", "unweighted_line", "weighted_line"),
    "student": ("student_cdf", "student_quantile"),
}
_WHERE = {name: module for module, names in _HOME.items() for name in names}

__all__ = [
    "ArcSine",
    "AttributesPlan",
    "BetweenGroups",
    "Budget",
    "Capability",
    "ChartRules",
    "Comparison",
    "Component",
    "ControlChart",
    "CorrelatedNormal",
    "CusumChart",
    "DemingLine",
    "EwmaChart",
    "ExcessSpread",
    "GaugeStudy",
    "Homogeneity",
    "IndividualsChart",
    "Level",
    "MeanDifference",
    "MonteCarlo",
    "Normal",
    "OutlierHint",
    "PairedDifference",
    "Phase",
    "PrecisionLevel",
    "Propagation",
    "Rectangular",
    "ReplicateRoute",
    "RobustMean",
    "RoundsTogether",
    "Signal",
    "SourceOfVariation",
    "StraightLine",
    "StudentT",
    "Triangular",
    "VariablesPlan",
    "VariablesVerdict",
    "VarianceComponents",
    "VarianceInterval",
    "acceptance_limit_relative",
    "acceptance_limits",
    "acceptance_probability",
    "acceptance_probability_in_lot",
    "algorithm_a",
    "average_run_length",
    "between_groups",
    "capability_index",
    "capability_interval_one_sided",
    "capability_interval_two_sided",
    "cochran",
    "cochran_critical",
    "combine",
    "compare_with_gum",
    "component_interval",
    "component_intervals",
    "components_from_summaries",
    "control_chart",
    "coverage_factor",
    "critical_difference_two_labs",
    "critical_range_factor",
    "cumulative_sums",
    "cusum_chart",
    "deming_line",
    "dixon",
    "dixon_critical",
    "dixon_critical_exact",
    "dixon_exceedance",
    "e_n",
    "ewma_chart",
    "excess_spread",
    "gauge_study",
    "grubbs",
    "grubbs_critical",
    "guard_band",
    "guard_factor_for",
    "homogeneity",
    "homogeneity_factors",
    "individuals_chart",
    "intermediate_precision",
    "judge_by_variables",
    "mandel_h_critical",
    "mandel_k_critical",
    "mean_difference",
    "nested_components",
    "normal_cdf",
    "normal_quantile",
    "numerical_tolerance",
    "paired_difference",
    "plan_by_attributes",
    "plan_by_variables",
    "plan_by_variables_approximate",
    "portions_to_see",
    "precision_level",
    "probability_all_conform",
    "probability_of_conformity",
    "process_capability",
    "propagate",
    "range_quantile",
    "repeatability_limit",
    "replicate_route",
    "rounds_together",
    "run_rule_signals",
    "s_r_from_duplicates",
    "satterthwaite_interval",
    "score_word",
    "simulate",
    "simulate_until_stable",
    "student_cdf",
    "student_quantile",
    "tolerance_factor",
    "u_of_route",
    "unweighted_line",
    "variables_acceptance",
    "variance_interval",
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
