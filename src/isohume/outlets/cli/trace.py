"""`isohume trace FILE`: can a reading be believed?"""

from __future__ import annotations

import sys
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.cli.arguments import Arguments, positive, small
from isohume.outlets.cli.output import facts, listed, parts, print_json, print_text, table

if TYPE_CHECKING:
    from argparse import Namespace

    from isohume.bench.reading.diagnosis.carry_over import CarryOver
    from isohume.bench.reading.diagnosis.diagnose import TraceJudged

EXAMPLE = "isohume trace demo-day/inputs/soft-oat-bar-trace.csv --criterion 0.0005/60"
LARGEST_RESOLUTION = Decimal("0.05")
DEFAULT_U_READING = Decimal("0.003")
NOT_SETTLED = (
    "not settled: a value taken now is a non-equilibrium estimate and releases nothing where the method was not "
    "validated for it"
)
FEWEST = 6
"""Readings from which on there is a forecast: where there is none, its reason is told."""
COMES_TO_REST = ("still moving", "slow", "stopped early")
"""What these runs read last may be stated as an estimate; the others show something else than the sample's a_w."""


def run(arguments: list[str]) -> int:
    """Judge a trace, or a sequence of runs; 0 where it is settled (or nothing was carried over), else 1."""
    parser = Arguments("trace", "Judge a run's trace: settled, where it will end, what went wrong.", EXAMPLE)
    parser.path("file", nargs="?", help="CSV or XLSX: elapsed_s, a_w; temperatures and room_humidity where taken")
    parser.decimal("--until", "SECONDS", help="judge the run as it was then, still going on")
    parser.once("--criterion", metavar="CHANGE/SECONDS", default="0.0005/60", help="the method's (default 0.0005/60)")
    parser.decimal("--resolution", "A_W", help="last digit of the readings (default 0.0001, a coarser file's own)")
    parser.path("--sequence", metavar="FOLDER", help="look for carry-over in the runs of FOLDER/sequence.csv instead")
    parser.decimal("--u-reading", "A_W", help=f"u of a reading, for --sequence (default {DEFAULT_U_READING})")
    given = parser.parse_args(arguments)
    if (given.file is None) == (given.sequence is None):
        raise InputError("file", given.file or "nothing", "a trace file, or --sequence FOLDER; one of the two")
    return _trace(given, parser.notes) if given.sequence is None else _sequence(given, parser.notes)


def _trace(given: Namespace, notes: list[str]) -> int:
    from isohume.bench.reading.diagnosis.diagnose import judge_trace
    from isohume.bench.reading.settling.criterion import read_criterion
    from isohume.bench.reading.settling.forecast import forecast_is_ready, prepare_forecast
    from isohume.bench.reading.settling.trace_file import read_trace

    criterion = read_criterion(given.criterion)
    resolution = small(given.resolution, "a last digit")
    if resolution is not None and resolution > LARGEST_RESOLUTION:
        raise InputError("resolution", given.resolution.text, f"at most {LARGEST_RESOLUTION}")
    until = positive(given.until, "seconds since the run began, above zero")
    trace = read_trace(given.file, notes=notes)
    if until is not None:
        trace = trace.until(float(until))
        if trace.n == 0:
            raise InputError("until", given.until.text, "a moment at or after the first reading")
    if not forecast_is_ready():
        sys.stderr.write("isohume: compiling the forecast's kernels, once for this version: some seconds\n")
        prepare_forecast()
    last_digit = None if resolution is None else float(resolution)
    judged = judge_trace(trace, criterion, last_digit, ended=until is None)
    early = early_value(judged, float(trace.typed[-1]))
    if given.json:
        missing = judged.forecast is None and judged.n >= FEWEST
        said = [*notes, f"Forecast {judged.no_forecast}."] if missing else notes
        print_json(as_json(judged) | {"estimate": early, "notes": said})
    else:
        print_text(readable(judged, criterion.words, notes, early))
    return 0 if judged.settled else 1


def early_value(judged: TraceJudged, last: float) -> dict[str, Any] | None:
    """The last reading as a non-equilibrium estimate with its own u; None where it may not be stated as one."""
    from isohume.bench.reading.early_value import u_of_early_value
    from isohume.bench.reading.runs import ESTIMATE

    found = judged.forecast
    if judged.settled or found is None or judged.finding.diagnosis not in COMES_TO_REST:
        return None
    return {"label": ESTIMATE, "value": last, "u": u_of_early_value(last, found.value, found.u)}


def as_json(judged: TraceJudged) -> dict[str, Any]:
    """The contract's keys."""
    found = judged.forecast
    return {
        "n": judged.n,
        "settled": judged.settled,
        "settled_at_s": judged.settled_at_s,
        "value": judged.value,
        "u": judged.u,
        "forecast": None
        if found is None
        else {"value": found.value, "low": found.low, "high": found.high, "coverage": found.coverage},
        "diagnosis": judged.finding.diagnosis,
        "evidence": list(judged.finding.evidence),
        "action": judged.finding.action,
    }


def readable(judged: TraceJudged, criterion: str, notes: list[str], early: dict[str, Any] | None = None) -> str:
    """As a person reads it: the diagnosis first."""
    found = judged.forecast
    rows = [("diagnosis", judged.finding.diagnosis), ("what to do", judged.finding.action)]
    if judged.value is not None:
        rows.append(("value", f"{judged.value:.4f}, u {judged.u:.4f}, at {judged.settled_at_s:.0f} s"))
    else:
        rows.append(("value", NOT_SETTLED))
    if early is not None:
        said = f"{early['value']:.4f}, u {early['u']:.4f}: the last reading, a {early['label']}"
        rows.append(("estimate", said))
    if found is not None:
        cut = f", cut at {found.cut}" if found.cut else ""
        rows.append(("forecast", f"{found.value:.4f}, 95 % between {found.low:.4f} and {found.high:.4f}{cut}"))
    else:
        rows.append(("forecast", judged.no_forecast))
    rows += [("readings", str(judged.n)), ("criterion", criterion)]
    return parts(facts(rows), listed("Evidence", judged.finding.evidence), listed("Notes", notes))


def _sequence(given: Namespace, notes: list[str]) -> int:
    from isohume.bench.reading.diagnosis.carry_over import carried_over
    from isohume.bench.reading.diagnosis.sequence_file import read_sequence

    u_reading = small(given.u_reading, "a standard uncertainty") or DEFAULT_U_READING
    runs = read_sequence(given.sequence, notes)
    found = carried_over(runs, float(u_reading))
    if given.json:
        print_json({"n": len(runs), "carry_over": [_carried(one) for one in found], "notes": notes})
        return 1 if found else 0
    if not found:
        print_text(parts("No run of known a_w leans towards the run before it.", listed("Notes", notes)))
        return 0
    rows = [(one.run, one.after, f"{one.deviation:+.4f}", f"{100 * one.share:.1f} %") for one in found]
    said = table(("run", "after", "off by", "of the way"), rows, right=(2, 3))
    print_text(parts(said, *(listed(one.run, (*one.evidence, one.action)) for one in found), listed("Notes", notes)))
    return 1


def _carried(one: CarryOver) -> dict[str, Any]:
    return {
        "run": one.run,
        "after": one.after,
        "deviation": one.deviation,
        "share": one.share,
        "evidence": list(one.evidence),
        "action": one.action,
    }
