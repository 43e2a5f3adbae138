"""`isohume check RUNS.csv`: does an instrument tell the truth?"""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from isohume.bench.assurance.check import DEFAULT_LIMIT, DEFAULT_U_INSTRUMENT, Check
from isohume.bench.assurance.how import how_checked
from isohume.bench.record.judge import judge_check_file
from isohume.bench.record.lot_description import CheckFile, TableFile
from isohume.outlets.cli.arguments import Arguments, small
from isohume.outlets.cli.how import explained, how_json
from isohume.outlets.cli.output import facts, listed, parts, print_json, print_text, table

EXAMPLE = "isohume check demo-day/inputs/check-ow1-morning.csv --limit 0.005"


def run(arguments: list[str]) -> int:
    """Judge a check's file; 0 on "pass", 1 on "fail"."""
    parser = Arguments("check", "Judge readings of reference solutions.", EXAMPLE)
    parser.path("file", help="CSV or XLSX: solution, molality, temperature_c, a_w, read_at")
    parser.decimal(
        "--limit", "A_W", help=f"the laboratory's own limit for the deviation, in a_w (default {DEFAULT_LIMIT})"
    )
    parser.decimal(
        "--u-instrument", "A_W", help=f"standard uncertainty of a reading, in a_w (default {DEFAULT_U_INSTRUMENT})"
    )
    parser.how()
    given = parser.parse_args(arguments)
    limit = small(given.limit, "a deviation")
    u_instrument = small(given.u_instrument, "a standard uncertainty", zero=True)
    notes = parser.notes
    file = CheckFile(
        TableFile(given.file),
        DEFAULT_LIMIT if limit is None else float(limit),
        DEFAULT_U_INSTRUMENT if u_instrument is None else float(u_instrument),
    )
    check = judge_check_file(file, datetime.now(UTC), notes)
    figures = how_checked(check, file.u_instrument) if given.how else ()
    if given.json:
        print_json(check.as_json() | {"notes": notes} | how_json(figures))
    else:
        print_text(readable(check, notes) + explained(figures))
    return 0 if check.verdict == "pass" else 1


def readable(check: Check, notes: list[str]) -> str:
    """A check as a person reads it: the verdict first, then each reference."""
    covers = check.covers_a_w
    rows: list[tuple[str, str]] = [("verdict", check.verdict)]
    rows.append(("covers a_w", f"{covers[0]:.4f} to {covers[1]:.4f}" if covers else "no range: fewer than two passed"))
    if check.line:
        line: Any = check.line
        offset, slope = f"{line.offset:+.4f} (u {line.u_offset:.4f})", f"{line.slope:.4f} (u {line.u_slope:.4f})"
        rows.append(("line", f"read = {offset} + {slope} x expected"))
    rows.append(("rule", f"|deviation| <= {check.limit:g}, the laboratory's own limit, and |E_n| <= 1: both must hold"))
    return parts(facts(rows), _solutions(check), listed("Reasons", check.reasons), listed("Notes", notes))


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
