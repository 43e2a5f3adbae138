"""`isohume decide`: does a value conform?"""

from __future__ import annotations

from argparse import Namespace
from decimal import Decimal
from typing import Literal

from isohume.bench.decision.determination import decide_portions
from isohume.bench.decision.how import how_decided
from isohume.bench.decision.specification import DEFAULT_GUARD, Specification
from isohume.bench.decision.verdict import Decision, decide
from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.limits import Limit
from isohume.foundation.quantity.rounding import round_together
from isohume.foundation.quantity.typed import read_a_w
from isohume.outlets.cli.arguments import Arguments, Typed, positive, small
from isohume.outlets.cli.how import explained, how_json
from isohume.outlets.cli.output import facts, listed, parts, percent, print_json, print_text

EXAMPLE = "isohume decide --value 0.846 --u 0.004 --max 0.85"
CAUTION = (
    "Supports, and does not replace, the process authority, the regulator and the validated method. The probability "
    "speaks of the portions tested; sampling is not included. Water activity is never a kill step."
)
SEPARATORS = "portions with decimal points and commas between them, or decimal commas and semicolons: 0,640;0,652"


def run(arguments: list[str]) -> int:
    """Judge a value or replicate portions; 0 only on a "pass" that may be released."""
    parser = _parser()
    given = parser.parse_args(arguments)
    specification = _specification(given)
    if given.replicates is None:
        decision = _value(given, specification)
    else:
        decision = _portions(given, specification, parser.notes)
    figures = how_decided(decision) if given.how else ()
    if given.json:
        print_json(decision.as_json() | {"notes": parser.notes} | how_json(figures))
    else:
        print_text(readable(decision, parser.notes) + explained(figures))
    return 0 if decision.verdict == "pass" and decision.disposition == "release" else 1


def _parser() -> Arguments:
    parser = Arguments("decide", "Judge a value, or replicate portions, against a limit.", EXAMPLE)
    parser.how()
    parser.decimal("--value", "A_W", help="the value, a_w as a fraction")
    parser.decimal("--u", "U", help="its standard uncertainty")
    parser.once(
        "--replicates", metavar="A_W,A_W", help="portions, separated by commas: 0.640,0.652 (in place of --value)"
    )
    parser.decimal("--s-r", "S_R", help="repeatability standard deviation (with --replicates)")
    parser.decimal("--u-other", "U", help="everything but repeatability (with --replicates)")
    parser.decimal("--max", "A_W", help="upper limit, inclusive (<=)")
    parser.decimal("--below", "A_W", help="upper limit, strict (<)")
    parser.decimal("--min", "A_W", help="lower limit, inclusive (>=)")
    parser.decimal("--above", "A_W", help="lower limit, strict (>)")
    parser.decimal("--guard", "R", help="guard factor r in w = r u (default 2; 0 is simple acceptance)")
    parser.add_argument("--quality-limit", action="store_true", help="the limit is not a food-safety limit")
    parser.add_argument(
        "--allow-conditional", action="store_true", help="the rule may release a conditional pass (quality limits only)"
    )
    return parser


def _specification(given: Namespace) -> Specification:
    upper = _limit(given.max, given.below, "<=", "<")
    lower = _limit(given.min, given.above, ">=", ">")
    if upper is None and lower is None:
        raise InputError("limit", "none", "at least one of --max, --below, --min, --above")
    guard = positive(given.guard, "a factor of zero or more", zero=True)
    return Specification(
        lower,
        upper,
        "quality" if given.quality_limit else "safety",
        DEFAULT_GUARD if guard is None else guard,
        given.allow_conditional,
    )


def _limit(
    inclusive: Typed | None, strict: Typed | None, sign: Literal["<=", ">="], strict_sign: Literal["<", ">"]
) -> Limit | None:
    if inclusive is not None and strict is not None:
        raise InputError(strict.field, strict.text, f"either --{inclusive.field} or --{strict.field}, not both")
    if inclusive is not None:
        return Limit(inclusive.a_w(), sign)
    return None if strict is None else Limit(strict.a_w(), strict_sign)


def _value(given: Namespace, specification: Specification) -> Decision:
    if given.value is None:
        raise InputError("value", "nothing", "--value with --u, or --replicates with --s-r and --u-other")
    for extra in ("s_r", "u_other"):
        if getattr(given, extra) is not None:
            raise InputError(extra, getattr(given, extra).text, "only with --replicates")
    value, u = given.value.a_w(), small(given.u, "a standard uncertainty")
    if u is None:
        raise InputError("u", "nothing", "a standard uncertainty in a_w (none is invented)")
    return decide(value, float(u), specification)


def _portions(given: Namespace, specification: Specification, notes: list[str]) -> Decision:
    for extra in ("value", "u"):
        if getattr(given, extra) is not None:
            raise InputError(extra, getattr(given, extra).text, "not with --replicates (use --s-r and --u-other)")
    s_r = small(given.s_r, "a repeatability standard deviation")
    if s_r is None:
        raise InputError("s_r", "nothing", "the repeatability standard deviation (needed with --replicates)")
    u_other = small(given.u_other, "a standard uncertainty")
    return decide_portions(_read_portions(given.replicates, notes), s_r, u_other, specification)


def _read_portions(text: str, notes: list[str]) -> tuple[Decimal, ...]:
    by_semicolon = ";" in text
    typed = text.split(";" if by_semicolon else ",")
    if not by_semicolon and any(part.strip() == "0" for part in typed):
        raise InputError("replicates", text, SEPARATORS)
    return tuple(read_a_w(part, f"replicates[{i}]", notes) for i, part in enumerate(typed, 1))


def readable(decision: Decision, notes: list[str]) -> str:
    """A decision as a person reads it: verdict and disposition first, then why."""
    specification = decision.specification
    limits = " and ".join(str(limit) for limit in specification.limits)
    kind = "a food-safety limit" if specification.kind == "safety" else "a quality limit"
    rows = [("verdict", decision.verdict), ("disposition", decision.disposition), ("limit", f"{limits}, {kind}")]
    if decision.value is not None:
        value, u = round_together(decision.value, decision.u)
        rows.append(("value", f"{value}, u {u}" if u else f"{value}, u not known"))
    if decision.route:
        rows.append(("route", decision.route))
    if decision.guard_band is not None:
        decimals = _decimals(decision)
        band = f"guard band {float(decision.guard_band):.{decimals}f} = {specification.guard} u"
        rows.append(("acceptance limits", f"{acceptance_in_words(decision, decimals)} ({band})"))
    if decision.probability_of_conformity is not None:
        rows.append(("probability of conformity", percent(decision.probability_of_conformity)))
    return parts(facts(rows), listed("Reasons", decision.reasons), listed("Notes", notes), CAUTION)


def _decimals(decision: Decision) -> int:
    """As many decimals as the uncertainty is shown with, and never fewer than four."""
    _, u = round_together(1.0, decision.u)
    return max(4, len(u.partition(".")[2]))


def acceptance_in_words(decision: Decision, decimals: int) -> str:
    """Where a value must lie to pass, with the operators of the limits."""
    pairs = zip((decision.specification.lower, decision.specification.upper), decision.acceptance, strict=True)
    shown = (f"{limit.operator} {float(side):.{decimals}f}" for limit, side in pairs if limit and side is not None)
    return " and ".join(shown)
