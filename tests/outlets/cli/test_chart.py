"""`isohume chart`: the contract's keys, printed examples, exit status, and refusals that name the row."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Ask = Callable[..., Any]
FLOW = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]
SHEET = [324.925, 324.675, 324.725, 324.350, 325.350, 325.225, 324.125, 324.525, 325.225, 324.600]
SHEET += [324.625, 325.150, 328.325, 327.250, 327.825, 328.500, 326.675, 327.775, 326.875, 328.350]


@pytest.fixture
def series(tmp_path: Path) -> Callable[..., Path]:
    """`series(values)`: a file with the values, one a row."""

    def written(values: list[Any], header: str = "value") -> Path:
        path = tmp_path / "series.csv"
        path.write_text("\n".join([header, *(str(value) for value in values)]) + "\n", encoding="utf-8")
        return path

    return written


def test_individuals_of_flow_rates(ask: Ask, series: Callable[..., Path]) -> None:
    # NIST/SEMATECH e-Handbook 6.3.2.2.2
    answer = ask("chart", series(FLOW), "--kind", "individuals", "--json")
    content = answer.json
    assert list(content)[:6] == ["kind", "center", "sigma", "limits", "statistic", "signals"]
    assert content["kind"] == "individuals"
    assert content["center"] == pytest.approx(50.81, abs=0.005)
    assert content["sigma"] == pytest.approx(1.8778 / 1.128, abs=0.00005)
    assert content["limits"] == [[pytest.approx(45.8159, abs=0.00005), pytest.approx(55.8041, abs=0.00005)]] * 10
    assert content["statistic"] == FLOW
    assert (content["signals"], answer.status) == ([], 0)


def test_eight_in_a_row_on_the_eighth_point(ask: Ask, series: Callable[..., Path]) -> None:
    # job description 6, row 24: index from 0, so the eighth of the run is 12 + 7
    values = ["0.7510", "0.7490"] * 6 + ["0.7505"] * 8
    answer = ask("chart", series(values), "--kind", "individuals", "--baseline", "12", "--json")
    assert answer.json["signals"] == [{"index": 19, "rule": "8 on one side"}]
    assert answer.status == 1
    values.pop()
    assert ask("chart", series(values), "--kind", "individuals", "--baseline", "12").status == 0


def test_chosen_rules_alone_speak(ask: Ask, series: Callable[..., Path]) -> None:
    values = ["0.7510", "0.7490"] * 6 + ["0.7505"] * 8 + ["0.7600"]
    words = ("--kind", "individuals", "--baseline", "12", "--json")
    only = ask("chart", series(values), *words, "--rules", "beyond 3 sigma").json["signals"]
    assert only == [{"index": 20, "rule": "beyond 3 sigma"}]
    two = ask("chart", series(values), *words, "--rules", "8 on one side,beyond 3 sigma").json["signals"]
    assert [signal["rule"] for signal in two] == ["8 on one side", "beyond 3 sigma", "8 on one side"]
    every = ask("chart", series(values), *words, "--rules", "all").json["signals"]
    assert {(signal["index"], signal["rule"]) for signal in every} >= {(19, "8 on one side"), (20, "beyond 3 sigma")}


def test_weighted_average_has_a_pair_of_limits_a_point(ask: Ask, series: Callable[..., Path]) -> None:
    content = ask("chart", series(FLOW), "--kind", "ewma", "--lambda", "0.3", "--json").json
    first, last = content["limits"][0], content["limits"][-1]
    assert len(content["limits"]) == len(content["statistic"]) == 10
    assert content["statistic"][0] == pytest.approx(0.3 * 49.6 + 0.7 * 50.81)
    # the first average is 0.3 of one value: its limits are 2.86 times 0.3 sigma from the centre
    assert first[1] - content["center"] == pytest.approx(2.86 * 0.3 * content["sigma"])
    assert last[1] - content["center"] > first[1] - content["center"]


def test_cumulative_sums_find_the_step(ask: Ask, series: Callable[..., Path]) -> None:
    # the handbook's sheet (6.3.2.3) has its step at the 13th value; centre and sigma here are those of the first 12
    answer = ask("chart", series(SHEET), "--kind", "cusum", "--baseline", "12", "--json")
    content = answer.json
    assert answer.status == 1
    assert content["signals"][0] == {"index": 12, "rule": "beyond the limits"}
    assert content["limits"][0] == [pytest.approx(-5 * content["sigma"]), pytest.approx(5 * content["sigma"])]
    assert content["statistic"][12] == content["high"][12]


def test_the_demonstration_drifts_while_every_point_is_within_3_sigma(ask: Ask, inputs: Path) -> None:
    # F18: the weighted average signals, no single value lies beyond its limits
    file = inputs / "ow1-nacl-checks.csv"
    alone = ("--kind", "individuals", "--baseline", "20", "--rules", "beyond 3 sigma")
    assert ask("chart", file, *alone).status == 0
    found = ask("chart", file, "--kind", "ewma", "--baseline", "20")
    assert found.status == 1
    assert "signals  3 of 30 points" in found.out
    assert "point 28: beyond the limits (points 26 to 28, low)" in found.out


@pytest.mark.parametrize(
    ("values", "words", "refusal"),
    [
        ([0.75, "", "x", 0.76], (), "series.csv: row 4: value: read 'x'"),
        ([0.75, "nan"], (), "series.csv: row 3: value: read 'nan'"),
        ([0.75], (), "series.csv: values: read '1 in a phase'"),
        ([0.75, 0.75], (), "series.csv: values: read 'values all alike in the baseline'"),
        (FLOW, ("--baseline", "11"), "baseline: read 11; allowed: at most the 10 values"),
        (FLOW, ("--baseline", "1"), "baseline: read '1'"),
        (FLOW, ("--baseline", "2.5"), "baseline: read '2.5'"),
        (FLOW, ("--rules", "9 on one side"), "rules: read '9 on one side'"),
        (FLOW, ("--lambda", "0.2"), "lambda: read '0.2'"),
    ],
)
def test_refuses(
    ask: Ask, series: Callable[..., Path], values: list[Any], words: tuple[str, ...], refusal: str
) -> None:
    answer = ask("chart", series(values), "--kind", "individuals", *words)
    assert answer.refusal.startswith(refusal)


@pytest.mark.parametrize(
    ("words", "refusal"),
    [
        (("--kind", "ewma", "--lambda", "0"), "lambda: read '0'"),
        (("--kind", "ewma", "--lambda", "1.2"), "lambda: read '1.2'"),
        (("--kind", "cusum", "--rules", "beyond 3 sigma"), "rules: read 'beyond 3 sigma'"),
        (("--kind", "x"), "kind: read 'x'; allowed: individuals, ewma, cusum"),
        ((), "kind: read 'nothing'"),
    ],
)
def test_refuses_words(ask: Ask, series: Callable[..., Path], words: tuple[str, ...], refusal: str) -> None:
    assert ask("chart", series(FLOW), *words).refusal.startswith(refusal)


def test_values_out_of_time_order_are_refused(ask: Ask, series: Callable[..., Path]) -> None:
    rows = ["0.75,2026-09-02", "0.76,2026-09-03", "0.74,2026-09-01"]
    refusal = ask("chart", series(rows, "value,at"), "--kind", "individuals").refusal
    assert refusal.startswith("series.csv: row 4: at: read '2026-09-01'; allowed: values in time order")
    ask("chart", series([rows[2], rows[0], "0.755,"], "value,at"), "--kind", "individuals", "--json").json  # noqa: B018


@pytest.mark.parametrize(
    "times",
    [
        ("2026-09-15T23:30-05:00", "2026-09-15", "2026-09-15T23:45-05:00"),  # 04:30 UTC of the next day
        ("2026-09-16", "2026-09-16T00:30+10:00", "2026-09-16"),  # 14:30 UTC of the day before
        ("2026-09-16T00:30+02:00", "2026-09-15T22:45+00:00", "2026-09-16"),
    ],
)
def test_a_day_without_an_hour_is_the_whole_day_of_the_plant(
    ask: Ask, series: Callable[..., Path], times: tuple[str, ...]
) -> None:
    rows = [f"{value},{at}" for value, at in zip((0.75, 0.76, 0.74), times, strict=True)]
    assert ask("chart", series(rows, "value,at"), "--kind", "individuals", "--json").json["kind"] == "individuals"


@pytest.mark.parametrize(
    "times",
    [
        ("2026-09-16T00:30+10:00", "2026-09-15"),
        ("2026-09-16", "2026-09-15T23:30-05:00"),
        ("2026-09-16T08:00+02:00", "2026-09-16", "2026-09-16T07:59+02:00"),
    ],
)
def test_a_day_does_not_hide_what_is_out_of_order(
    ask: Ask, series: Callable[..., Path], times: tuple[str, ...]
) -> None:
    rows = [f"{value},{at}" for value, at in zip((0.75, 0.76, 0.74), times, strict=False)]
    refusal = ask("chart", series(rows, "value,at"), "--kind", "individuals").refusal
    assert "values in time order" in refusal


def test_no_numerical_library_is_loaded(inputs: Path) -> None:
    code = "import sys; from isohume.outlets.cli.main import main; main(sys.argv[1:]); print('numpy' in sys.modules)"

    file = inputs / "ow1-nacl-checks.csv"
    words = [sys.executable, "-c", code, "chart", str(file), "--kind", "cusum", "--json"]
    done = subprocess.run(words, capture_output=True, text=True, timeout=60)
    assert done.stdout.splitlines()[-1] == "False"
