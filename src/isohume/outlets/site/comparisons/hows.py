"""How do we know: formula, inputs and source of what the comparisons say."""

from __future__ import annotations

from typing import Any

from isohume.foundation.metrology import GaugeStudy as Found
from isohume.outlets.site.comparisons.agreement import Agreement
from isohume.outlets.site.comparisons.models import ProficiencyRound
from isohume.outlets.site.comparisons.precision_of import Precision
from isohume.outlets.site.comparisons.sites_compared import SitesCompared


def of_difference(found: Agreement) -> dict[str, Any]:
    """The mean difference and the limits of agreement."""
    paired = found.paired
    inputs = [("pairs n", str(paired.n)), ("s of the differences", f"{paired.s:.5f}"), ("t", f"{paired.t:.3f}")]
    if found.spread:
        inputs.append(("s that repeatability explains", f"{found.spread.expected:.5f}"))
        inputs.append(
            ("chi-square, and its limit at 5 %", f"{found.spread.chi_squared:.1f}, {found.spread.critical:.1f}")
        )
    return {
        "formula": "mean d ± t(0.975, n − 1) s/√n; limits of agreement: mean d ± 1.96 s, each ± t s √(3/n)",
        "inputs": inputs,
        "source": "Bland and Altman 1986; JCGM 100, 5.1.2",
        "range": "materials like these, over the a_w that they span",
        "depends": "how many materials were read, and whether their portions were alike",
    }


def of_line(found: Agreement) -> dict[str, Any]:
    """Deming's line."""
    line = found.line
    assert line is not None  # asked for only where there is one
    return {
        "formula": "slope = (S_yy − S_xx + √((S_yy − S_xx)² + 4 S_xy²))/(2 S_xy); offset = mean y − slope · mean x",
        "inputs": [
            (
                "u of the slope, u of the offset",
                f"{line.u_slope:.4f}, {line.u_offset:.4f}",
                "by leaving out one pair a time",
            ),
            ("ratio of the variances of both instruments", f"{line.ratio:g}"),
        ],
        "source": "Linnet 1990",
        "range": "the a_w that the materials span; equal repeatability of both instruments",
    }


def of_scores(one: ProficiencyRound) -> dict[str, Any]:
    """z, zeta and E_n of a round."""
    return {
        "formula": "z = (x − x_pt)/σ_pt; ζ = (x − x_pt)/√(u² + u_pt²); E_n = (x − x_pt)/√(U² + U_pt²), U = 2u",
        "inputs": [
            ("our result x, its u", f"{one.result}, {one.u_result or 'not stated'}"),
            ("assigned value x_pt, its u", f"{one.assigned}, {one.u_assigned or 'not stated'}"),
            ("σ_pt", one.sigma_pt),
        ],
        "source": "ISO 13528, 9.4, 9.6, 9.7",
        "range": "z from 2 on is a warning, from 3 on asks for action; |E_n| up to 1 agrees",
    }


def of_precision(found: Precision) -> dict[str, Any]:
    """The components of the plant's own readings."""
    levels = found.found.levels if found.found else ()
    inputs = [(f"mean square of {one.name}, dof", f"{one.mean_square:.3e}, {one.dof}") for one in levels]
    if found.found:
        inputs.append(
            ("mean square of repeatability, dof", f"{found.found.residual_mean_square:.3e}, {found.found.residual_dof}")
        )
    return {
        "formula": (
            "nested analysis of variance: mean squares set equal to their expectations; s_I² = s_r² + Σ s² of day, "
            "analyst, instrument"
        ),
        "inputs": inputs,
        "source": "ISO 5725-2, 7.4; ISO 5725-3; intervals: Ting and others 1990, approximate for unequal numbers",
        "range": "this product, this period, readings that count and were imported or keyed twice",
        "depends": "how many lots were read on two days, by two people or on two instruments",
    }


def of_gauge(found: Found) -> dict[str, Any]:
    """A gauge study."""
    return {
        "formula": (
            "s_e² = MS_E; s_po² = (MS_PO − MS_E)/n; s_o² = (MS_O − MS_PO)/(p n); s_p² = (MS_P − MS_PO)/(o n); groups = "
            "√2 s_p/s_gauge, truncated"
        ),
        "inputs": [("parts p, readers o, readings n", f"{found.parts}, {found.analysts}, {found.repeats}")],
        "source": "Montgomery 2009, chapter 8; Ting and others 1990 (intervals); 10 and 30 % of s: common practice",
        "range": "parts like these; every part read by everyone the same number of times",
        "depends": "how far apart the parts are: alike parts make any reading look poor",
    }


def of_sites(found: SitesCompared, r: str, big_r: str) -> dict[str, Any]:
    """Sister sites."""
    return {
        "formula": "CD = √(R² − r² (1 − 1/(2 n₁) − 1/(2 n₂)))",
        "inputs": [
            ("repeatability limit r", r),
            ("reproducibility limit R", big_r),
            ("other sites", str(len(found.lines))),
        ],
        "source": "ISO 5725-6, 5.3.2",
        "range": "one control product, the same method at all sites, 95 % probability",
    }
