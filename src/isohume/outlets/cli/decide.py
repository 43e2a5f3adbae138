"""`isohume decide`: does a value conform?"""

from __future__ import annotations

from argparse import Namespace
from decimal import Decimal
from typing import Literal

from isohume.bench.decision.determination import decide_portions
from isohume.bench.decision.specification import DEFAULT_GUARD, Specification
from isohume.bench.decision.verdict import Decision, decide
from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.limits import Limit
from isohume.foundation.quantity.rounding import round_together
from isohume.foundation.quantity.typed import read_a_w
from isohume.outlets.cli.arguments import Arguments, Typed, positive
from isohume.outlets.cli.output import facts, print_json, reasons

EXAMPLE = "isohume decide --value 0.846 --u 0.004 --max 0.85"
CAUTION = (
    "Supports, and does not replace, the process authority, the regulator and the validated method. The probability "
    "speaks of the portions tested; sampling is not included. Water activity is never a kill step."
)
U_ALLOWED = "a standard uncertainty in a_w, greater than 0"


def run(arguments: list[str]) -> int:
    """Judge a value or replicate portions; 0 only on "pass"."""
    given = _parser().parse_args(arguments)
    specification = _specification(given)
    decision = _portions(given, specification) if given.replicates else _value(given, specification)
    if given.json:
        print_json(decision.as_json())
    else:
        print(readable(decision))
    return 0 if decision.verdict == "pass" else 1


def _parser() -> Arguments:
    parser = Arguments("decide", "Judge a value, or replicate portions, against a limit.", EXAMPLE)
    parser.decimal("--value", help="the value, a_w as a fraction")
    parser.decimal("--u", help="its standard uncertainty")
    parser.add_argument("--replicates", help="portions, separated by commas: 0.640,0.652 (in place of --value)")
    parser.decimal("--s-r", help="repeatability standard deviation (with --replicates)")
    parser.decimal("--u-other", help="everything but repeatability (with --replicates)")
    parser.decimal("--max", help="upper limit, inclusive (<=)")
    parser.decimal("--below", help="upper limit, strict (<)")
    parser.decimal("--min", help="lower limit, inclusive (>=)")
    parser.decimal("--above", help="lower limit, strict (>)")
    parser.decimal("--guard", help="guard factor r in w = r u (default 2; 0 is simple acceptance)")
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
        return Limit(read_a_w(inclusive.text, inclusive.field), sign)
    return None if strict is None else Limit(read_a_w(strict.text, strict.field), strict_sign)


def _value(given: Namespace, specification: Specification) -> Decision:
    value, u = given.value, given.u
    if value is None:
        raise InputError("value", "nothing", "--value with --u, or --replicates with --s-r and --u-other")
    if u is None:
        raise InputError("u", "nothing", f"{U_ALLOWED} (none is invented)")
    for extra in ("s_r", "u_other"):
        if getattr(given, extra) is not None:
            raise InputError(extra, getattr(given, extra).text, "only with --replicates")
    number = positive(u, U_ALLOWED)
    assert number is not None  # u was given
    return decide(read_a_w(value.text, "value"), float(number), specification)


def _portions(given: Namespace, specification: Specification) -> Decision:
    for extra in ("value", "u"):
        if getattr(given, extra) is not None:
            raise InputError(extra, getattr(given, extra).text, "not with --replicates (use --s-r and --u-other)")
    s_r = positive(given.s_r, "a standard deviation in a_w, greater than 0")
    if s_r is None:
        raise InputError("s_r", "nothing", "the repeatability standard deviation (needed with --replicates)")
    u_other = positive(given.u_other, "a standard uncertainty in a_w, zero or more", zero=True)
    return decide_portions(_read_portions(given.replicates), s_r, u_other, specification)


def _read_portions(text: str) -> tuple[Decimal, ...]:
    return tuple(read_a_w(part, f"replicates[{i}]") for i, part in enumerate(text.split(","), 1))


def readable(decision: Decision) -> str:
    """A decision as a person reads it: verdict and disposition first, then why."""
    limits = " and ".join(str(limit) for limit in decision.specification.limits)
    rows = [("verdict", decision.verdict), ("disposition", decision.disposition), ("limit", limits)]
    if decision.probability_of_conformity is not None:
        rows.append(("probability of conformity", f"{100 * decision.probability_of_conformity:.2f} %"))
    if decision.value is not None:
        value, u = round_together(decision.value, decision.u)
        rows.append(("value", f"{value}, u {u}" if u else f"{value}, u not known"))
    if decision.route:
        rows.append(("route", decision.route))
    if decision.guard_band is not None:
        low, high = (("-" if side is None else f"{float(side):.4f}") for side in decision.acceptance)
        rows.append(("acceptance limits", f"{low} to {high} (guard band {float(decision.guard_band):.4f})"))
    return "\n\n".join((facts(rows), reasons(decision.reasons), CAUTION))
