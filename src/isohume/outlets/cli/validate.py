"""`isohume validate --list`: every outside check on this installation, and every published row that is none."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from isohume.outlets.cli.arguments import Arguments
from isohume.outlets.cli.output import facts, print_error, print_json, print_text, table
from isohume.outlets.validate.check import Check, Left

EXAMPLE = "isohume validate --list"


def run(arguments: list[str]) -> int:
    """Run every outside check; 0 where all hold."""
    parser = Arguments("validate", "Recompute every usable published value on this installation.", EXAMPLE)
    parser.add_argument("--list", action="store_true", help="list every check and every row left out")
    given = parser.parse_args(arguments)
    checks, left = all_checks()
    if given.json:
        print_json(as_json(checks, left))
    else:
        print_text(readable(checks, left, every=given.list))
    return 0 if all(check.holds for check in checks) else 1


def all_checks() -> tuple[list[Check], list[Left]]:
    """Every check and every row left out, table by table."""
    from isohume.outlets.validate import (
        charts_checks,
        metrology_checks,
        precision_checks,
        sampling_checks,
        solutions_checks,
        sorption_checks,
        sorption_measured_checks,
        water_checks,
    )
    from isohume.product.sorption import prepare_kernels

    prepare_kernels(print_error)
    parts: tuple[Any, ...] = (
        water_checks,
        solutions_checks,
        metrology_checks,
        sampling_checks,
        charts_checks,
        precision_checks,
        sorption_checks,
        sorption_measured_checks,
    )
    checks = [check for part in parts for check in part.checks()]
    left = [row for part in parts for row in part.left_out()]
    return checks, left


def as_json(checks: Iterable[Check], left: Iterable[Left]) -> dict[str, Any]:
    """The keys of the command line's contract, with the counts of each table and the rows left out."""
    listed = [_check(check) for check in checks]
    rows = [{"id": row.id, "file": row.file, "reason": row.reason} for row in left]
    return {
        "checks": listed,
        "count": len(listed),
        "failed": sum(not check["holds"] for check in listed),
        "files": _counts(listed, rows),
        "left_out": rows,
    }


def _check(check: Check) -> dict[str, Any]:
    return {
        "id": check.id,
        "what": check.what,
        "source": check.source,
        "how": check.how,
        "expected": check.expected,
        "computed": check.computed,
        "difference": check.difference,
        "tolerance": check.tolerance,
        "holds": check.holds,
        "file": check.file,
    }


def _counts(checks: list[dict[str, Any]], left: list[dict[str, str]]) -> dict[str, dict[str, int]]:
    names = dict.fromkeys([check["file"] for check in checks] + [row["file"] for row in left])
    return {
        name: {
            "checks": sum(check["file"] == name for check in checks),
            "left_out": sum(row["file"] == name for row in left),
        }
        for name in names
    }


def readable(checks: list[Check], left: list[Left], *, every: bool) -> str:
    """The counts first, what failed next, then each check and each row left out where asked for."""
    content = as_json(checks, left)
    failed = [check for check in checks if not check.holds]
    parts = [
        facts([("outside checks", str(content["count"])), ("failed", str(content["failed"]))]),
        table(
            ("table", "checks", "left out"),
            [(name, str(n["checks"]), str(n["left_out"])) for name, n in content["files"].items()],
            right=(1, 2),
        ),
    ]
    if failed:
        parts.append("Failed:\n" + _rows(failed))
    if every:
        parts.append("Checks:\n" + _rows(checks))
        parts.append("Left out:\n" + table(("row", "table", "why"), [(r.id, r.file, r.reason) for r in left]))
    return "\n\n".join(parts)


def _rows(checks: list[Check]) -> str:
    header = ("row", "what", "expected", "computed", "difference", "tolerance", "holds", "source")
    rows = [
        (
            check.id,
            check.what[:60],
            _number(check.expected),
            _number(check.computed),
            "" if check.difference is None else f"{check.difference:+.2g}",
            f"{check.tolerance:.2g}",
            "yes" if check.holds else "no",
            check.source[:60],
        )
        for check in checks
    ]
    return table(header, rows, right=(2, 3, 4, 5))


def _number(value: float | str) -> str:
    return value if isinstance(value, str) else f"{value:.8g}"
