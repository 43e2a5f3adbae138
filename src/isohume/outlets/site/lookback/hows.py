"""How the figures of a look-back were found, for "How do we know"."""

from __future__ import annotations

from isohume.bench.decision.look_back import LookBack
from isohume.foundation.quantity.how import How
from isohume.outlets.site.checks.how_shown import how_shown


def hows_of(back: LookBack) -> dict[str, object]:
    """The explanations by figure: bias, corrected value, probability."""
    found = (_bias(back), _corrected(back), _probability())
    return {how.figure: how_shown(how) for how in found}


def _bias(back: LookBack) -> How:
    return How(
        "bias",
        "bias = (1 - t) d1 + t d2, t = (y - r1)/(r2 - r1); r1, r2: what the two references about the value y read",
        "JCGM100",
        "between the outermost references, with (t (1 - t) (d2 - d1))^2 in u^2; beyond them the nearest is taken, with "
        "its u widened and said so. Off by more than 0.05, or corrected to below 0 or above 1, it is not believed.",
        "the deviations of the two references about the value",
        {p.name: {"expected": p.a_w, "read": p.read, "deviation": p.deviation, "u": p.u} for p in back.points},
    )


def _corrected(back: LookBack) -> How:
    common = max((point.u_common for point in back.points), default=0.0)
    return How(
        "corrected value",
        "corrected = value - bias;  u^2 = u_value^2 + u_bias^2 - u_instrument^2",
        "JCGM100",
        "the whole bias since the last good check: a smeared rim is a step. The instrument's own part stands in the "
        "value's u and in the bias's, and is counted once.",
        "the value's own u",
        {"u_instrument": common},
    )


def _probability() -> How:
    return How(
        "probability of conformity",
        "p = Phi((U - y)/u) - Phi((L - y)/u), y the corrected value; verdicts with w = r u, as of any lot",
        "JCGM106",
        "the portions that were tested; sampling is not included",
        "the distance to the limit",
        {},
    )
