"""`isohume trace`: the contract's keys, exit status, and what is refused."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from isohume.bench.reading.diagnosis import DIAGNOSES
from isohume.bench.reading.settling import prepare_forecast

Ask = Callable[..., Any]
KEYS = ["n", "settled", "settled_at_s", "value", "u", "forecast", "diagnosis", "evidence", "action"]


@pytest.fixture(scope="module", autouse=True)
def _compiled() -> None:
    prepare_forecast()  # it speaks on standard error, once on a computer


@pytest.fixture
def run(tmp_path: Path) -> Path:
    """A quick sample: 0.62, from 0.2 below, 40 s."""
    path = tmp_path / "run-17.csv"
    rows = [f"{t},{0.62 - 0.2 * math.exp(-t / 40):.4f}" for t in range(0, 400, 2)]
    path.write_text("elapsed_s,a_w\n" + "\n".join(rows) + "\n")
    return path


def test_a_settled_trace(ask: Ask, run: Path) -> None:
    answer = ask("trace", run, "--json")
    content = answer.json
    assert answer.status == 0
    assert [key for key in content if key in KEYS] == KEYS
    assert (content["n"], content["settled"], content["diagnosis"]) == (200, True, "settled")
    # 0.2 exp(-t/40) (exp(60/40) - 1) <= 0.0005 from t = 40 ln(0.2 (e^1.5 - 1)/0.0005) = 290 s, rounded: before it
    assert content["settled_at_s"] == pytest.approx(289.6, abs=8)
    assert content["value"] == pytest.approx(0.62, abs=0.0005)
    assert 0 < content["u"] < 0.002
    forecast = content["forecast"]
    assert set(forecast) == {"value", "low", "high", "coverage"}
    assert forecast["low"] <= 0.62 <= forecast["high"]
    assert forecast["coverage"] == 0.95


def coarse(path: Path, decimals: int) -> Path:
    rows = [f"{t},{0.65 - 0.2 * math.exp(-t / 40):.{decimals}f}" for t in range(0, 600, 5)]
    path.write_text("elapsed_s,a_w\n" + "\n".join(rows) + "\n")
    return path


def test_readings_coarser_than_the_criterion_do_not_settle_and_say_what_to_do(ask: Ask, tmp_path: Path) -> None:
    file = coarse(tmp_path / "hundredths.csv", 2)
    for words in ((), ("--resolution", "0.01"), ("--resolution", "0.0001")):
        answer = ask("trace", file, *words, "--json")
        assert (answer.status, answer.json["settled"], answer.json["value"]) == (1, False, None)
        assert answer.json["evidence"][0].startswith("The readings are coarser than the criterion")
    assert "Take over more digits" in ask("trace", file).out
    shown = ask("trace", file, "--criterion", "0.01/60", "--json")
    assert (shown.status, shown.json["settled"]) == (0, True)


def test_an_interval_is_no_narrower_than_the_file_s_own_digits(ask: Ask, tmp_path: Path) -> None:
    """A step of 0.01 alone is u 0.01/sqrt(12) = 0.0029 (JCGM 100, 4.3.7); of 0.001 it is 0.00029."""
    for decimals, u in ((2, 0.0029), (3, 0.00029)):
        file = coarse(tmp_path / f"{decimals}.csv", decimals)
        found = ask("trace", file, "--json").json["forecast"]
        assert (found["high"] - found["low"]) / 2 / 1.96 > u
        said = ask("trace", file, "--resolution", f"{10**-decimals:g}", "--json").json["forecast"]
        assert found == said
    fine = coarse(tmp_path / "6.csv", 6)
    assert ask("trace", fine, "--json").out == ask("trace", fine, "--resolution", "0.0001", "--json").out


def test_a_curve_that_would_end_above_one_has_no_forecast_and_says_why(ask: Ask, tmp_path: Path) -> None:
    file = tmp_path / "climbs.csv"
    file.write_text("elapsed_s,a_w\n" + "\n".join(f"{5 * n},{0.9 + 0.0008 * n:.4f}" for n in range(60)) + "\n")
    why = "none: the curve would end at 1.0396, and no water activity lies beyond 0 to 1"
    content = ask("trace", file, "--json").json
    assert (content["settled"], content["forecast"]) == (False, None)
    assert content["notes"] == [f"Forecast {why}."]
    assert why in ask("trace", file).out


def test_until_judges_a_run_that_goes_on(ask: Ask, run: Path) -> None:
    answer = ask("trace", run, "--until", "100", "--json")
    content = answer.json
    assert answer.status == 1
    assert (content["n"], content["settled"], content["diagnosis"]) == (51, False, "still moving")
    assert content["value"] is content["u"] is content["settled_at_s"] is None
    assert content["forecast"]["low"] <= 0.62 <= content["forecast"]["high"]
    assert content["diagnosis"] in DIAGNOSES


def test_the_forecast_is_there_from_the_sixth_sample_on(ask: Ask, run: Path) -> None:
    assert ask("trace", run, "--until", "8", "--json").json["forecast"] is None
    assert ask("trace", run, "--until", "10", "--json").json["forecast"] is not None


def test_as_a_person_reads_it(ask: Ask, run: Path) -> None:
    said = ask("trace", run, "--until", "60").out
    assert said.startswith("diagnosis   still moving\n")
    assert "a non-equilibrium estimate and releases nothing" in said


@pytest.mark.parametrize(
    ("words", "field"),
    [
        (("--criterion", "5"), "criterion"),
        (("--resolution", "0.1"), "resolution"),
        (("--until", "-1"), "until"),
        (("--until", "x"), "until"),
        (("--sequence", "."), "file"),
    ],
)
def test_bad_words_are_named(ask: Ask, run: Path, words: tuple[str, ...], field: str) -> None:
    assert ask("trace", run, *words).refusal.startswith(f"{field}: read ")


def test_a_file_or_a_folder_is_needed(ask: Ask) -> None:
    assert "a trace file, or --sequence FOLDER" in ask("trace").refusal


def test_a_sequence(ask: Ask, tmp_path: Path) -> None:
    (tmp_path / "sequence.csv").write_text(
        "run,a_w,expected\nclove 4,0.5700,\nMgCl2 first,0.3410,0.3278\nMgCl2 again,0.3290,0.3278\n"
    )
    answer = ask("trace", "--sequence", tmp_path, "--json")
    assert answer.status == 1
    assert [one["run"] for one in answer.json["carry_over"]] == ["MgCl2 first"]
    (tmp_path / "sequence.csv").write_text("run,a_w,expected\nclove 4,0.5700,\nMgCl2 again,0.3290,0.3278\n")
    assert ask("trace", "--sequence", tmp_path).status == 0


def test_a_value_stopped_early_is_named_with_its_own_uncertainty(ask: Ask, run: Path) -> None:
    """u^2 = u(forecast)^2 + (forecast - last reading)^2, from the printed forecast's own interval."""
    content = ask("trace", run, "--until", "60", "--json").json
    found, forecast = content["estimate"], content["forecast"]
    assert found["label"] == "non-equilibrium estimate"
    u_forecast = (forecast["high"] - forecast["low"]) / 2 / 1.96
    by_hand = (u_forecast**2 + (forecast["value"] - found["value"]) ** 2) ** 0.5
    assert found["u"] == pytest.approx(by_hand, rel=1e-4)
    said = ask("trace", run, "--until", "60").out
    assert f"{found['value']:.4f}, u {found['u']:.4f}: the last reading, a non-equilibrium estimate" in said
    assert ask("trace", run, "--json").json["estimate"] is None
    assert ask("trace", run, "--until", "8", "--json").json["estimate"] is None
