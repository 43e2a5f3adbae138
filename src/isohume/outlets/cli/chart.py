"""`isohume chart FILE`: is it drifting? A control chart of one series of values."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

from isohume.bench.reading.remarks import Remarks
from isohume.bench.reading.tables import Row, read_rows
from isohume.foundation.metrology.charts_by_point import (
    EWMA_WEIGHT,
    FEWEST_FOR_LIMITS,
    KINDS,
    ChartRules,
    ControlChart,
    control_chart,
)
from isohume.foundation.metrology.run_rules import RULES, Signal
from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_decimal, read_time
from isohume.outlets.cli.arguments import Arguments
from isohume.outlets.cli.output import facts, listed, parts, print_json, print_text, table

EXAMPLE = "isohume chart demo-day/inputs/ow1-nacl-checks.csv --kind ewma --baseline 20"
COLUMNS = ("value", "at")
ALL = "all"


@dataclass(frozen=True, slots=True)
class Point:
    """One row of the file: its number, the value, and when, as typed."""

    row: int
    value: float
    at: str

RANGES_DO_NOT_COUNT = "A moving range beyond its limit is shown and is no signal: it would speak for nothing too often."


def run(arguments: list[str]) -> int:
    """Chart a series; 0 where nothing signals, 1 where something does."""
    given = _parser().parse_args(arguments)
    notes: list[str] = []
    rules = _rules(given)
    points = read_series(given.file, notes)
    if rules.baseline is not None and rules.baseline > len(points):
        raise InputError("baseline", rules.baseline, f"at most the {len(points)} values of the file")
    try:
        chart = control_chart([point.value for point in points], rules)
    except InputError as error:
        raise error.at(file=given.file.name) from None
    used = chart.phases[0].baseline
    if used < FEWEST_FOR_LIMITS:
        notes.append(f"Limits from {used} values are provisional; {FEWEST_FOR_LIMITS} or more are wanted.")
    if chart.range_signals:
        notes.append(RANGES_DO_NOT_COUNT)
    if given.json:
        print_json(as_json(chart, notes))
    else:
        print_text(readable(chart, points, notes))
    return 1 if chart.signals else 0


def _parser() -> Arguments:
    what = "Chart values in time order against limits of their own baseline. Exit status 1 where a point signals."
    parser = Arguments("chart", what, EXAMPLE)
    parser.path("file", help="CSV or XLSX: value, and where known at (ISO 8601), in time order")
    parser.once("--kind", choices=KINDS, required=True, help="the chart")
    parser.decimal("--baseline", "N", help="how many first values give centre and sigma (default all)")
    parser.decimal(
        "--lambda", "WEIGHT", dest="weight", help=f"weight of the newest value, ewma (default {EWMA_WEIGHT})"
    )
    parser.once("--rules", metavar="all|RULE,...", help=f"run rules of individuals, by comma: {', '.join(RULES)}")
    return parser


def _rules(given: Namespace) -> ChartRules:
    chosen = tuple(RULES) if given.rules in (None, ALL) else tuple(name.strip() for name in given.rules.split(","))
    for name in chosen:
        if name not in RULES:
            raise InputError("rules", name, f"{ALL}, or by comma: {', '.join(RULES)}")
    if given.kind != "individuals" and given.rules not in (None, ALL):
        raise InputError("rules", given.rules, f"run rules with --kind individuals; {given.kind} has its limits alone")
    if given.kind != "ewma" and given.weight is not None:
        raise InputError("lambda", given.weight.text, "a weight with --kind ewma")
    return ChartRules(given.kind, chosen, _baseline(given), _weight(given))


def _baseline(given: Namespace) -> int | None:
    if given.baseline is None:
        return None
    allowed = "a whole number of values, at least 2"
    number = given.baseline.decimal(allowed)
    if number != number.to_integral_value() or number < 2:
        raise InputError("baseline", given.baseline.text, allowed)
    return int(number)


def _weight(given: Namespace) -> float:
    if given.weight is None:
        return EWMA_WEIGHT
    allowed = "a weight above 0, up to 1"
    number = given.weight.decimal(allowed)
    if not 0 < number <= 1:
        raise InputError("lambda", given.weight.text, allowed)
    return float(number)


def read_series(path: Path, notes: list[str]) -> list[Point]:
    """The values of a file in their order; what was accepted and has to be said goes into `notes`."""
    remarks, points, order = Remarks(path.name), [], _Order()
    for row in read_rows(path, ("value",), known=COLUMNS):
        said: list[str] = []
        try:
            value = read_decimal(row.get("value"), "value", "a number", said)
            order.add(row, said)
        except InputError as error:
            raise error.at(row=row.number, file=path.name) from None
        points.append(Point(row.number, float(value), row.get("at")))
        remarks.add(row.number, said)
    notes.extend(remarks.lines())
    return points


class _Order:
    """Holds rows to the order of time. A day without an hour is the whole day, as the plant's calendar has it."""

    def __init__(self) -> None:
        self._day, self._moment = date.min, datetime.min.replace(tzinfo=UTC)

    def add(self, row: Row, said: list[str]) -> None:
        """The next row; refused where it certainly lies before an earlier one."""
        text = row.get("at")
        if not text:
            return
        if len(text) == len("2026-09-15"):
            day = _day(text)
            early = day < max(self._day, self._moment.date())  # a moment's day as its own clock says it
            self._day = day
        else:
            moment = read_time(text, "at", said)
            early = moment < self._moment or moment.date() < self._day
            self._moment = moment
        if early:
            raise InputError("at", text, "values in time order")


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise InputError("at", text, "a day or a moment in ISO 8601") from None


def as_json(chart: ControlChart, notes: Iterable[str]) -> dict[str, Any]:
    """The keys of the contract, then the rest of the chart."""
    phase = chart.phases[0]
    return {
        "kind": chart.rules.kind,
        "center": chart.center,
        "sigma": chart.sigma,
        "limits": [list(pair) for pair in chart.limits],
        "statistic": list(chart.statistic),
        "signals": _signals(chart.signals),
        "baseline": phase.baseline,
        "moving_ranges": list(chart.ranges),
        "range_limit": phase.range_limit,
        "range_signals": _signals(chart.range_signals),
        "high": list(chart.high),
        "low": list(chart.low),
        "notes": list(notes),
    }


def _signals(found: Iterable[Signal]) -> list[dict[str, Any]]:
    return [{"index": signal.index, "rule": signal.rule} for signal in found]


def readable(chart: ControlChart, points: list[Point], notes: list[str]) -> str:
    """The chart as a person reads it: what signals first, then the points."""
    phase = chart.phases[0]
    indices = {signal.index for signal in chart.signals}
    rows = [
        ("signals", f"{len(indices)} of {len(points)} points" if indices else f"none in {len(points)} points"),
        ("chart", _named(chart)),
        ("centre", f"{chart.center:.6g} (mean of the first {phase.baseline} values)"),
        ("sigma", f"{chart.sigma:.4g} (mean moving range over 1.128)"),
    ]
    if chart.rules.kind == "individuals":
        beyond = [str(signal.index + 1) for signal in chart.range_signals]
        said = f"point {', '.join(beyond)} beyond" if beyond else "none beyond"
        rows.append(("range", f"moving range up to {phase.range_limit:.4g}: {said}"))
    listing = [_in_words(signal) for signal in chart.signals]
    return parts(
        facts(rows), listed("Signals (points counted from 1)", listing), _points(chart, points), listed("Notes", notes)
    )


def _named(chart: ControlChart) -> str:
    rules = chart.rules
    if rules.kind == "ewma":
        return f"weighted moving average, lambda {rules.weight:g}, L {rules.width:g}, exact limits"
    if rules.kind == "cusum":
        return f"cumulative sums, k {rules.k:g} sigma, h {rules.h:g} sigma; the larger one, signed"
    return f"individuals, rules: {', '.join(rules.rules)}"


def _in_words(signal: Signal) -> str:
    span = f"points {signal.first + 1} to {signal.index + 1}" if signal.first < signal.index else "this point"
    way = (
        ("rising" if signal.side > 0 else "falling")
        if "trend" in signal.rule
        else ("high" if signal.side > 0 else "low")
    )
    return f"point {signal.index + 1}: {signal.rule} ({span}, {way})"


def _points(chart: ControlChart, points: list[Point]) -> str:
    spoken: dict[int, list[str]] = {}
    for signal in chart.signals:
        spoken.setdefault(signal.index, []).append(signal.rule)
    header = ("point", "row", "at", "value", "statistic", "lower", "upper", "signal")
    rows = [
        (
            str(place + 1),
            str(point.row),
            point.at,
            f"{point.value:g}",
            f"{chart.statistic[place]:.6g}",
            f"{chart.limits[place][0]:.6g}",
            f"{chart.limits[place][1]:.6g}",
            "; ".join(spoken.get(place, ())),
        )
        for place, point in enumerate(points)
    ]
    return table(header, rows, right=(0, 1, 3, 4, 5, 6))
