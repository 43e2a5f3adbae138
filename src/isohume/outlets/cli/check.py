"""`isohume check RUNS.csv`: does an instrument tell the truth?"""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from isohume.bench.assurance.check import DEFAULT_LIMIT, DEFAULT_U_INSTRUMENT, Check
from isohume.bench.record.judge import judge_check_file
from isohume.bench.record.lot_description import CheckFile, TableFile
from isohume.outlets.cli.arguments import Arguments, positive
from isohume.outlets.cli.output import facts, print_json, reasons, table

EXAMPLE = "isohume check check.csv --limit 0.005"


def run(arguments: list[str]) -> int:
    """Judge a check's file; 0 on "pass", 1 on "fail"."""
    parser = Arguments("check", "Judge readings of reference solutions.", EXAMPLE)
    parser.add_argument("file", type=Path, help="CSV or XLSX: solution, molality, temperature_c, a_w, read_at")
    parser.decimal("--limit", help=f"the laboratory's own limit for the deviation, in a_w (default {DEFAULT_LIMIT})")
    parser.decimal("--u-instrument", help=f"standard uncertainty of a reading, in a_w (default {DEFAULT_U_INSTRUMENT})")
    given = parser.parse_args(arguments)
    limit = positive(given.limit, "an a_w greater than zero")
    u_instrument = positive(given.u_instrument, "an a_w, zero or more", zero=True)
    notes: list[str] = []
    file = CheckFile(
        TableFile(given.file),
        DEFAULT_LIMIT if limit is None else float(limit),
        DEFAULT_U_INSTRUMENT if u_instrument is None else float(u_instrument),
    )
    check = judge_check_file(file, datetime.now(UTC), notes)
    if given.json:
        print_json(check.as_json() | {"notes": notes})
    else:
        print(readable(check, notes))
    return 0 if check.verdict == "pass" else 1


def readable(check: Check, notes: list[str]) -> str:
    """A check as a person reads it: the verdict first, then each reference."""
    covers = check.covers_a_w
    rows: list[tuple[str, str]] = [("verdict", check.verdict)]
    rows.append(("covers a_w", f"{covers[0]:.4f} to {covers[1]:.4f}" if covers else "no range: fewer than two passed"))
    if check.line:
        line: Any = check.line
        rows.append(("line", f"read = {line.offset:+.4f} + {line.slope:.4f} expected"))
    parts = [facts(rows), _solutions(check)]
    if check.reasons:
        parts.append(reasons(check.reasons))
    if notes:
        parts.append(reasons(notes))
    parts.append(f"Limit {check.limit:g} (the laboratory's own) and |E_n| <= 1; both must hold.")
    return "\n\n".join(parts)


def _solutions(check: Check) -> str:
    header = ("solution", "mol/kg", "at degC", "n", "expected", "read", "deviation", "u", "E_n", "within")
    rows = [
        (
            s.solution,
            "saturated" if s.molality is None else f"{s.molality:g}",
            f"{s.temperature_c:.2f}",
            str(s.n),
            f"{s.expected:.4f}",
            f"{s.mean:.4f}",
            f"{s.deviation:+.4f}",
            f"{s.u_deviation:.4f}",
            f"{s.e_n:+.2f}",
            "yes" if s.within else "no",
        )
        for s in check.solutions
    ]
    return table(header, rows, right=range(1, 9))
