"""The command line's contract: these keys with these names and types, exit status, one JSON object and nothing else.

The expected numbers are those of the contract page's worked examples, to one unit of the last printed digit.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Ask = Callable[..., Any]
NUMBER = (int, float)
DECIDE = "value u n route lower_limit upper_limit guard_band acceptance probability_of_conformity verdict disposition"
CHECK_CSV = """solution,molality,temperature_c,a_w,read_at
MgCl2,,24.8,0.3290,2026-09-15T05:44:00+01:00
MgCl2,,24.9,0.3282,2026-09-15T05:49:00+01:00
NaCl,,25.1,0.7538,2026-09-15T05:59:00+01:00
NaCl,,25.0,0.7546,2026-09-15T06:05:00+01:00
"""


def keys_in_order(content: dict[str, Any], keys: str) -> None:
    """The contract's keys are all there, in its order, whatever else there is."""
    wanted = keys.split()
    assert [key for key in content if key in wanted] == wanted


def unit(number: float, last_digit: float) -> Any:
    """The number to one unit of its last printed digit."""
    return pytest.approx(number, abs=1.0000001 * last_digit)


def test_reference_saturated(ask: Ask) -> None:
    content = ask("reference", "NaCl", "--temperature-c", "22", "--json").json
    keys_in_order(content, "solution kind temperature_c a_w u molality source verified valid_temperature_c cautions")
    assert content["a_w"] == unit(0.7541114, 1e-7)
    assert content["u"] == unit(0.00066, 1e-5)
    del content["a_w"], content["u"], content["notes"]
    assert content == {
        "solution": "NaCl",
        "kind": "saturated",
        "temperature_c": 22.0,
        "molality": None,
        "source": "Greenspan1977",
        "verified": "text",
        "valid_temperature_c": [0.0, 80.0],
        "cautions": [],
    }


@pytest.mark.parametrize(
    ("solution", "temperature", "a_w"),
    # Greenspan 1977, table 2: LiCl 11.30, potassium acetate 22.51, K2CO3 43.16, Mg(NO3)2 52.89 %RH at 25 degC
    [("LiCl", 25, 0.1130), ("CH3COOK", 25, 0.2252), ("K2CO3", 25, 0.4316), ("Mg(NO3)2", 25, 0.5289)],
)
def test_reference_at_25_degrees_is_the_default(ask: Ask, solution: str, temperature: int, a_w: float) -> None:
    content = ask("reference", solution, "--json").json
    assert content["temperature_c"] == temperature
    assert content["a_w"] == unit(a_w, 1e-4)


@pytest.mark.parametrize("option", [("--molality", "4"), ("--target", "0.85")])
def test_reference_by_molality(ask: Ask, option: tuple[str, str]) -> None:
    content = ask("reference", "sodium CHLORIDE", *option, "--json").json
    assert content["kind"] == "unsaturated"
    assert content["solution"] == "NaCl"
    for key in ("molality", "osmotic_coefficient", "g_per_100_g_water", "u"):
        assert isinstance(content[key], float)
        assert content[key] > 0
    assert content["valid_molality"] == [0.0, 6.0]
    assert content["g_per_100_g_water"] == pytest.approx(content["molality"] * 5.844, abs=0.005)


def test_reference_target(ask: Ask) -> None:
    content = ask("reference", "NaCl", "--target", "0.85", "--json").json
    assert content["g_per_100_g_water"] == unit(23.58, 0.01)
    assert content["a_w"] == pytest.approx(0.85, abs=1e-12)


def test_reference_slurry(ask: Ask) -> None:
    slurry = ask("reference", "NaCl", "--slurry-g", "50", "--json").json["slurry"]
    assert slurry["salt_g"] + slurry["water_with_anhydrous_g"] == pytest.approx(50)


def test_check(ask: Ask, tmp_path: Path) -> None:
    file = tmp_path / "runs.csv"
    file.write_text(CHECK_CSV, encoding="utf-8")
    answer = ask("check", file, "--json")
    content = answer.json
    assert answer.status == 0
    keys_in_order(content, "solutions limit covers_a_w offset slope u_offset u_slope covariance verdict reasons")
    keys = "solution kind molality temperature_c n mean expected deviation u_deviation e_n within"
    wanted = (
        ("MgCl2", "saturated", None, 24.85, 2, 0.3286, 0.3279742, 0.0006258, 0.0017410, 0.1797, True),
        ("NaCl", "saturated", None, 25.05, 2, 0.7542, 0.7529611, 0.0012389, 0.0016595, 0.3733, True),
    )
    last = (None, None, None, 0.01, None, 1e-4, 1e-7, 1e-7, 1e-7, 1e-4, None)
    for solution, row in zip(content["solutions"], wanted, strict=True):
        keys_in_order(solution, keys)
        for key, value, digit in zip(keys.split(), row, last, strict=True):
            assert solution[key] == (value if digit is None else unit(value, digit)), key
        assert type(solution["n"]) is int
        assert type(solution["within"]) is bool
    assert content["limit"] == 0.005
    assert content["covers_a_w"] == [unit(0.3279742, 1e-7), unit(0.7529611, 1e-7)]
    assert content["offset"] == unit(0.0001526, 1e-7)
    assert content["slope"] == unit(1.0014427, 1e-7)
    assert content["u_offset"] == unit(0.0033398, 1e-7)
    assert content["u_slope"] == unit(0.0056594, 1e-7)
    assert content["covariance"] == unit(-1.76365e-05, 1e-10)
    assert (content["verdict"], content["reasons"]) == ("pass", [])


def test_a_failed_check_exits_1_with_reasons(ask: Ask, tmp_path: Path) -> None:
    file = tmp_path / "runs.csv"
    file.write_text(CHECK_CSV, encoding="utf-8")
    answer = ask("check", file, "--limit", "0.001", "--json")
    assert answer.status == 1
    assert answer.json["verdict"] == "fail"
    assert answer.json["covers_a_w"] is None
    assert len(answer.json["reasons"]) == 1


def test_one_group_has_no_line_and_covers_nothing(ask: Ask, tmp_path: Path) -> None:
    file = tmp_path / "runs.csv"
    file.write_text("".join(CHECK_CSV.splitlines(keepends=True)[:3]), encoding="utf-8")
    content = ask("check", file, "--json").json
    empty = ("covers_a_w", "offset", "slope", "u_offset", "u_slope", "covariance")
    assert {key: content[key] for key in empty} == dict.fromkeys(empty)


def decide(ask: Ask, *words: str) -> Any:
    """The value's decision, as JSON."""
    return ask("decide", *words, "--json")


def test_decide(ask: Ask) -> None:
    answer = decide(ask, "--value", "0.846", "--u", "0.004", "--max", "0.85")
    content = answer.json
    assert answer.status == 1
    keys_in_order(content, f"{DECIDE} sampling_included reasons")
    assert content["probability_of_conformity"] == unit(0.8413447, 1e-7)
    assert content["guard_band"] == unit(0.008, 1e-12)
    assert content["acceptance"] == [None, unit(0.842, 1e-12)]
    assert content["upper_limit"] == {"value": 0.85, "operator": "<="}
    assert (content["value"], content["u"], content["n"], content["route"]) == (0.846, 0.004, None, None)
    assert content["lower_limit"] is None
    assert (content["verdict"], content["disposition"]) == ("conditional pass", "hold")
    assert content["sampling_included"] is False
    assert content["reasons"]
    assert all(isinstance(reason, str) for reason in content["reasons"])


@pytest.mark.parametrize(
    ("value", "probability", "verdict"),
    # The six values with u = 0.004 against <= 0.85; probabilities of the standard normal distribution
    [
        ("0.840", 0.9938, "pass"),
        ("0.842", 0.9772, "pass"),
        ("0.8421", 0.9759, "conditional pass"),
        ("0.846", 0.8413, "conditional pass"),
        ("0.852", 0.3085, "conditional fail"),
        ("0.859", 0.0122, "fail"),
    ],
)
def test_decide_six_values(ask: Ask, value: str, probability: float, verdict: str) -> None:
    answer = decide(ask, "--value", value, "--u", "0.004", "--max", "0.85")
    assert answer.json["probability_of_conformity"] == unit(probability, 1e-4)
    assert answer.json["verdict"] == verdict
    assert answer.json["disposition"] == ("release" if verdict == "pass" else "hold")
    assert answer.status == (0 if verdict == "pass" else 1)


@pytest.mark.parametrize(
    ("words", "verdict"),
    [
        (("--value", "0.85", "--below", "0.85", "--guard", "0"), "fail"),
        (("--value", "0.85", "--max", "0.85", "--guard", "0"), "pass"),
        (("--value", "0.8504", "--max", "0.850", "--guard", "0"), "fail"),
        (("--value", "0.60", "--min", "0.55"), "pass"),
        (("--value", "0.55", "--min", "0.55"), "conditional pass"),
        (("--value", "0.55", "--above", "0.55"), "conditional fail"),
        (("--value", "0.53", "--min", "0.48", "--max", "0.58"), "pass"),
        (("--value", "0.575", "--min", "0.48", "--max", "0.58"), "conditional pass"),
        (("--value", "0.47", "--min", "0.48", "--max", "0.58"), "fail"),
    ],
)
def test_decide_limits_strict_lower_and_two_sided(ask: Ask, words: tuple[str, ...], verdict: str) -> None:
    answer = decide(ask, *words, "--u", "0.004")
    assert answer.json["verdict"] == verdict
    assert answer.status == (0 if verdict == "pass" else 1)


def test_decide_portions(ask: Ask) -> None:
    answer = decide(ask, "--replicates", "0.640,0.644", "--s-r", "0.002", "--u-other", "0.0035", "--max", "0.65")
    assert answer.json["value"] == 0.642
    assert (answer.json["n"], answer.json["route"]) == (2, "mean of 2")
    # sqrt(0.0035^2 + 0.002^2 / 2)
    assert answer.json["u"] == unit(0.0037749, 1e-7)


@pytest.mark.parametrize(
    ("portions", "extra", "verdict", "route"),
    [
        ("0.640,0.652", ("--u-other", "0.0035"), "more portions needed", None),
        ("0.640,0.642", (), "no verdict", "mean of 2"),
        ("0.620,0.632,0.621,0.622", ("--u-other", "0.0035"), "pass", "median of 4"),
    ],
)
def test_decide_routes(ask: Ask, portions: str, extra: tuple[str, ...], verdict: str, route: str | None) -> None:
    answer = decide(ask, "--replicates", portions, "--s-r", "0.002", "--max", "0.65", *extra)
    content = answer.json
    assert (content["verdict"], content["route"]) == (verdict, route)
    assert (content["probability_of_conformity"] is None) is (verdict != "pass")
    assert (content["value"] is None) is (verdict == "more portions needed")
    assert answer.status == (0 if verdict == "pass" else 1)


def test_a_quality_limit_may_release_a_conditional_pass_but_exits_1(ask: Ask) -> None:
    words = ("--value", "0.646", "--u", "0.004", "--max", "0.65", "--quality-limit", "--allow-conditional")
    answer = decide(ask, *words)
    assert (answer.json["verdict"], answer.json["disposition"]) == ("conditional pass", "release")
    assert "allows it" in answer.json["reasons"][-1]
    assert answer.status == 1


def test_one_portion_beyond_a_safety_limit_holds(ask: Ask) -> None:
    words = ("--replicates", "0.640,0.655", "--s-r", "0.006", "--u-other", "0.0005", "--max", "0.654", "--guard", "0.5")
    assert decide(ask, *words).json["disposition"] == "hold"
    assert decide(ask, *words, "--quality-limit").json["disposition"] == "release"


@pytest.mark.parametrize(("lot", "status"), [("SB-0914-01", 0), ("SB-0914-02", 1), ("SB-0914-09", 1)])
def test_certify_exits_0_only_on_release(ask: Ask, inputs: Path, lot: str, status: int) -> None:
    data = inputs.parent / "records"
    answer = ask("certify", inputs / f"{lot}.toml", "--data", data, "--json")
    content = answer.json
    keys_in_order(content, "lot record verdict disposition digest pdf")
    assert answer.status == status
    assert (content["lot"], content["record"]) == (lot, "R000001")
    assert (content["disposition"] == "release") is (status == 0)
    assert len(content["digest"]) == 64
    assert Path(content["pdf"]).read_bytes().startswith(b"%PDF-")
    found = ask("verify", data, "--json")
    assert found.status == 0
    assert found.json == {"entries": 1, "records": 1, "verified": True, "first_bad": None}


def test_verify_names_what_is_bad(ask: Ask, inputs: Path) -> None:
    data = inputs.parent / "records"
    ask("certify", inputs / "SB-0914-02.toml", "--data", data)
    database = next(data.glob("*.sqlite3"))
    with sqlite3.connect(database) as connection:
        for (trigger,) in connection.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
            connection.execute(f"DROP TRIGGER {trigger}")
        connection.execute("UPDATE record SET lot = 'SB-0914-03'")
    connection.close()
    answer = ask("verify", data, "--json")
    assert answer.status == 1
    assert answer.json["verified"] is False
    assert set(answer.json["first_bad"]) == {"kind", "id", "reason"}
    assert answer.json["first_bad"]["id"] in ("R000001", "1")


def test_validate(ask: Ask) -> None:
    answer = ask("validate", "--list", "--json")
    content = answer.json
    assert answer.status == 0
    assert (content["count"], content["failed"]) == (len(content["checks"]), 0)
    for check in content["checks"]:
        keys_in_order(check, "id what source how expected computed difference tolerance holds")
        assert isinstance(check["difference"], NUMBER) or check["difference"] is None
        assert type(check["holds"]) is bool
    assert {row["id"] for row in content["left_out"]} & {check["id"] for check in content["checks"]} == set()
