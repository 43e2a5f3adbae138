"""`isohume isotherm`: the contract's keys, numbers printed elsewhere reached through files, and bad files refused."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import xlsxwriter

from isohume.outlets.cli.isotherm import known
from isohume.product.sorption.readiness import prepare_kernels

Ask = Callable[..., Any]
PANEL = "GAB BET Oswin Halsey Henderson Chung-Pfost Smith Peleg Iglesias-Chirife Caurie Lewicki"
OAT_BAR = "soft-oat-bar-isotherm.csv"
# Noiseless GAB points of 0.0658 kg/kg, 12.4 and 0.93, computed with plain arithmetic to ten digits.
EXACT = """a_w,moisture_db
0.113,0.0435909952
0.225,0.0637760241
0.328,0.0799858632
0.432,0.0981973225
0.529,0.1195629732
0.576,0.1324538113
0.689,0.1752464073
0.753,0.2122208631
0.843,0.2979941341
0.902,0.4021112849
"""
# Durum wheat pasta at 40, 60 and 70 degC, desorption or adsorption not stated: Andrieu, Stamatopoulos and Zafiropoulos
# 1985, as transcribed from a graph (a_w to 0.01).
PASTA = {
    40: "0.05 0.04228 0.1 0.05303 0.18 0.06307 0.28 0.07374 0.38 0.09113 0.47 0.1052 0.58 0.12527 0.67 0.14329 "
    "0.74 0.17009 0.82 0.21419 0.89 0.26635",
    60: "0.06 0.02023 0.12 0.0283 0.18 0.03762 0.28 0.05169 0.38 0.06505 0.48 0.08315 0.58 0.10117 0.67 0.12259 "
    "0.75 0.1493 0.8 0.18013 0.83 0.2002",
    70: "0.07 0.01352 0.13 0.02158 0.22 0.03359 0.3 0.04228 0.4 0.05833 0.51 0.07912 0.61 0.09848 0.69 0.11721 "
    "0.77 0.14266 0.84 0.17941 0.88 0.23695",
}


@pytest.fixture(scope="module", autouse=True)
def _kernels() -> None:
    """Compiled before the first question, so that standard error stays empty."""
    prepare_kernels(lambda line: None, errors_in_both=True)


@pytest.fixture
def exact(tmp_path: Path) -> Path:
    """A file of the noiseless points."""
    return written(tmp_path / "exact.csv", EXACT)


@pytest.fixture
def pasta(tmp_path: Path) -> Path:
    """A file of pasta at three temperatures."""
    lines = ["temperature_c,a_w,moisture_db"]
    for temperature, text in PASTA.items():
        numbers = text.split()
        lines += [f"{temperature},{a},{x}" for a, x in zip(numbers[::2], numbers[1::2], strict=True)]
    return written(tmp_path / "pasta.csv", "\n".join(lines) + "\n")


def written(path: Path, text: str) -> Path:
    """A text file."""
    path.write_text(text, encoding="utf-8")
    return path


def model(content: dict[str, Any], name: str) -> dict[str, Any]:
    """One model of an answer."""
    (found,) = (each for each in content["models"] if each["name"] == name)
    return dict(found)


def in_order(content: dict[str, Any], keys: str) -> None:
    """The contract's keys are all there, in its order, whatever else there is."""
    wanted = keys.split()
    assert [key for key in content if key in wanted] == wanted


def test_the_contract(ask: Ask, inputs: Path) -> None:
    answer = ask("isotherm", inputs / OAT_BAR, "--temperature-c", "25", "--a-w-limit", "0.65", "--json")
    content = answer.json
    assert answer.status == 0
    in_order(content, "n models recommended reasons moisture_at_limit heat")
    assert content["n"] == 9
    assert [each["name"] for each in content["models"]] == PANEL.split()
    for each in content["models"]:
        in_order(each, "name parameters u correlation sse standard_error mrd_percent aicc weight valid_a_w warnings")
        size = len(each["parameters"])
        assert list(each["u"]) == list(each["parameters"])
        assert [len(row) for row in each["correlation"]] == [size] * size
    assert list(model(content, "GAB")["parameters"]) == ["monolayer_db", "c", "k"]
    assert list(model(content, "Peleg")["parameters"]) == ["a", "b", "c", "d"]
    assert list(model(content, "Lewicki")["parameters"]) == ["f", "g", "h"]
    assert content["recommended"] in PANEL.split()
    assert content["reasons"]
    at = content["moisture_at_limit"]
    assert list(at) == ["value", "low", "high"]
    assert at["low"] < at["value"] < at["high"]
    assert sum(each["weight"] for each in content["models"]) == pytest.approx(1.0)


def test_noiseless_points_give_their_parameters_back(ask: Ask, exact: Path) -> None:
    content = ask("isotherm", exact, "--json").json
    assert content["recommended"] == "GAB"
    found = model(content, "GAB")["parameters"]
    assert found == pytest.approx({"monolayer_db": 0.0658, "c": 12.4, "k": 0.93}, rel=1e-6)
    # the plot of a/((1-a)X) on a over a_w 0.113 to 0.432, by ordinary least squares: 0.061385 and 13.7624
    bet = model(content, "BET")["parameters"]
    assert bet["monolayer_db"] < 0.0645
    assert bet["c"] > 12.9


@pytest.mark.parametrize(
    ("temperature", "monolayer", "c", "k", "last"),
    # printed with the points by their transcriber, to three digits
    [
        (40, 0.0636, 35.5, 0.858, (1e-4, 0.1, 1e-3)),
        (60, 0.0531, 8.33, 0.897, (1e-4, 0.01, 1e-3)),
        (70, 0.0465, 6.04, 0.915, (1e-4, 0.01, 1e-3)),
    ],
)
def test_pasta_gives_its_printed_constants(
    ask: Ask, pasta: Path, temperature: int, monolayer: float, c: float, k: float, last: tuple[float, ...]
) -> None:
    answer = ask("isotherm", pasta, "--model", "gab", "--temperature-c", temperature, "--json")
    content = answer.json
    assert answer.status == 0
    (found,) = content["models"]
    assert (content["n"], found["name"], content["recommended"]) == (11, "GAB", "GAB")
    for value, printed, digit in zip(found["parameters"].values(), (monolayer, c, k), last, strict=True):
        assert value == pytest.approx(printed, abs=digit)


def test_heat_comes_from_every_temperature_of_the_file(ask: Ask, pasta: Path) -> None:
    heat = ask("isotherm", pasta, "--model", "gab", "--temperature-c", "40", "--json").json["heat"]
    assert len(heat) > 5
    for row in heat:
        assert list(row) == ["moisture_db", "value_kj_mol", "low", "high"]
    # common to all three: above the driest point at 40 degC, below the wettest at 60 degC (by their curves, to 0.005)
    assert heat[0]["moisture_db"] == pytest.approx(0.04228, abs=0.005)
    assert heat[-1]["moisture_db"] == pytest.approx(0.2002, abs=0.005)
    # water is held less the more there is of it
    assert heat[0]["value_kj_mol"] > heat[-1]["value_kj_mol"] > 0.0


def test_one_temperature_has_no_heat(ask: Ask, exact: Path) -> None:
    content = ask("isotherm", exact, "--model", "gab", "--json").json
    assert (content["heat"], content["moisture_at_limit"]) == ([], None)


def test_a_model_with_temperature_takes_all_temperatures(ask: Ask, inputs: Path) -> None:
    words = ("isotherm", inputs / OAT_BAR, "--model", "modified-oswin", "--a-w-limit", "0.65", "--json")
    content = ask(*words).json
    assert (content["n"], content["temperature_c"]) == (16, None)
    (found,) = content["models"]
    assert found["key"] == "modified_oswin"


@pytest.mark.parametrize(
    ("columns", "of_fraction"),
    [
        ("moisture_db", lambda x: x),
        ("moisture_db_percent", lambda x: 100 * x),
        ("moisture_wb", lambda x: x / (1 + x)),
        ("moisture_wb_percent", lambda x: 100 * x / (1 + x)),
    ],
)
def test_every_basis_gives_the_same_isotherm(
    ask: Ask, tmp_path: Path, columns: str, of_fraction: Callable[[float], float]
) -> None:
    rows = [line.split(",") for line in EXACT.splitlines()[1:]]
    text = "\n".join(f"{a},{of_fraction(float(x))!r}" for a, x in rows)
    path = written(tmp_path / "points.csv", f"a_w,{columns}\n{text}\n")
    content = ask("isotherm", path, "--model", "GAB", "--a-w-limit", "0.6", "--json").json
    assert model(content, "GAB")["parameters"]["c"] == pytest.approx(12.4, rel=1e-6)
    # GAB by hand: u = 0.93 x 0.6 = 0.558; 0.0658 x 12.4 x 0.558 / (0.442 x (0.442 + 6.9192)) = 0.139930
    assert content["moisture_at_limit"]["value"] == pytest.approx(0.139930, abs=1e-6)


def test_semicolons_decimal_commas_a_mark_at_the_start_and_blank_rows(ask: Ask, tmp_path: Path) -> None:
    text = "\ufeff" + EXACT.replace(",", ";").replace(".", ",").replace("0,529", "\n;\n0,529")
    content = ask("isotherm", written(tmp_path / "comma.csv", text), "--model", "gab", "--json").json
    assert model(content, "GAB")["parameters"]["monolayer_db"] == pytest.approx(0.0658, rel=1e-6)
    assert any("decimal comma in 0,113 read as 0.113" in note for note in content["notes"])


def test_a_worksheet(ask: Ask, tmp_path: Path) -> None:
    path = tmp_path / "points.xlsx"
    with xlsxwriter.Workbook(path) as book:
        sheet = book.add_worksheet()
        for i, line in enumerate(EXACT.splitlines()):
            sheet.write_row(i, 0, [cell if i == 0 else float(cell) for cell in line.split(",")])
    content = ask("isotherm", path, "--model", "gab", "--json").json
    assert model(content, "GAB")["parameters"]["k"] == pytest.approx(0.93, rel=1e-6)


def test_stated_uncertainties_are_used(ask: Ask, tmp_path: Path) -> None:
    """One point off by a tenth and known to be bad moves the curve where it is trusted, and only there."""
    lines = EXACT.replace("0.1195629732", "0.1315192705").splitlines()
    plain = ask("isotherm", written(tmp_path / "plain.csv", "\n".join(lines)), "--model", "gab", "--json").json
    known_bad = [f"{line},{5.0 if '0.1315' in line else 0.0005}" for line in lines[1:]]
    text = "\n".join([f"{lines[0]},u_moisture", *known_bad])
    stated = ask("isotherm", written(tmp_path / "stated.csv", text), "--model", "gab", "--json").json
    assert abs(model(plain, "GAB")["parameters"]["monolayer_db"] - 0.0658) > 1e-4
    assert model(stated, "GAB")["parameters"]["monolayer_db"] == pytest.approx(0.0658, rel=1e-4)
    text = "\n".join([f"{lines[0]},u_moisture,u_a_w", *(f"{row},0.001" for row in known_bad)])
    both = ask("isotherm", written(tmp_path / "both.csv", text), "--model", "gab", "--json").json
    assert model(both, "GAB")["parameters"]["monolayer_db"] == pytest.approx(0.0658, rel=1e-4)
    # with errors in both the uncertainties grow
    assert model(both, "GAB")["u"]["monolayer_db"] > 1.2 * model(stated, "GAB")["u"]["monolayer_db"]


def test_directions_are_kept_apart(ask: Ask, tmp_path: Path) -> None:
    rows = EXACT.splitlines()
    up = [f"{row},adsorption" for row in rows[1:]]
    down = [f"{a},{1.1 * float(x)!r},desorption" for a, x in (row.split(",") for row in rows[1:])]
    path = written(tmp_path / "loop.csv", "\n".join([f"{rows[0]},direction", *up, *down]))
    assert "adsorption (10 points), desorption (10 points)" in ask("isotherm", path).refusal
    content = ask("isotherm", path, "--direction", "desorption", "--model", "gab", "--json").json
    assert (content["direction"], content["n"]) == ("desorption", 10)
    assert model(content, "GAB")["parameters"]["monolayer_db"] == pytest.approx(1.1 * 0.0658, rel=1e-6)


def test_a_step_is_not_recommended(ask: Ask, tmp_path: Path) -> None:
    """A salt that dissolves: nothing, then everything within a few hundredths of a_w."""
    steps = [(0.1, 0.002), (0.3, 0.003), (0.5, 0.003), (0.65, 0.004), (0.7, 0.005), (0.76, 1.2), (0.8, 1.5), (0.9, 2.8)]
    text = "a_w,moisture_db\n" + "\n".join(f"{a},{x}" for a, x in steps)
    answer = ask("isotherm", written(tmp_path / "step.csv", text), "--a-w-limit", "0.6", "--json")
    content = answer.json
    assert answer.status == 1
    assert (content["recommended"], content["moisture_at_limit"], content["heat"]) == (None, None, [])
    assert content["reasons"]
    readable = ask("isotherm", tmp_path / "step.csv")
    assert readable.status == 1
    assert readable.out.splitlines()[0].split() == ["recommended", "none"]


def test_a_named_model_is_judged_on_its_own_range(ask: Ask, exact: Path) -> None:
    """BET speaks of a_w up to 0.5: four points, two of them more than it has parameters, and five are wanted."""
    answer = ask("isotherm", exact, "--model", "bet", "--json")
    content = answer.json
    assert (answer.status, content["n"], content["recommended"]) == (1, 4, None)
    assert "BET speaks of a_w 0 to 0.5 only: 6 points beyond it are left out" in content["notes"]
    # the straight line of a/((1 - a) X) on a gives 0.061385 and 13.7624; by least squares in moisture within 1 %
    assert model(content, "BET")["parameters"] == pytest.approx({"monolayer_db": 0.061385, "c": 13.7624}, rel=0.01)


def test_a_named_model_that_does_not_describe_the_points(ask: Ask, exact: Path) -> None:
    answer = ask("isotherm", exact, "--model", "chung-pfost", "--a-w-limit", "0.6", "--json")
    content = answer.json
    assert (answer.status, content["recommended"], content["moisture_at_limit"]) == (1, None, None)
    assert model(content, "Chung-Pfost")["parameters"]["a"] > 0.0
    assert any("mean relative deviation" in reason for reason in content["reasons"])


def test_two_points_are_too_few_and_nothing_is_invented(ask: Ask, tmp_path: Path) -> None:
    answer = ask("isotherm", written(tmp_path / "two.csv", "a_w,moisture_db\n0.3,0.05\n0.6,0.1\n"), "--json")
    content = answer.json
    assert (answer.status, content["recommended"]) == (1, None)
    assert {"gab", "peleg", "lewicki"} <= set(content["too_few_points_for"])
    assert set(model(content, "Oswin")["u"].values()) == {None}
    assert model(content, "Oswin")["standard_error"] is None
    one = written(tmp_path / "one.csv", "a_w,moisture_db\n0.3,0.05\n")
    assert "one.csv: points: read 1; allowed: at least as many points" in ask("isotherm", one).refusal


@pytest.mark.parametrize(
    ("row", "says"),
    [
        (
            "65.2,0.14",
            "row 3: a_w: read '65.2'; allowed: a fraction greater than 0 and at most 1, such as 0.652; was ERH",
        ),
        ("0.652,14.1", "row 3: moisture_db: read '14.1'; allowed: kg of water per kg of dry solids"),
        ("0.652", "row 3: moisture_db: read ''"),
        ("nan,0.14", "row 3: a_w: read 'nan'"),
        ("0,14,0,2", "row 3: columns: read '4 cells'"),
    ],
)
def test_bad_rows(ask: Ask, tmp_path: Path, row: str, says: str) -> None:
    path = written(tmp_path / "bad.csv", f"a_w,moisture_db\n0.5,0.1\n{row}\n0.7,0.16\n")
    assert ask("isotherm", path).refusal.startswith(f"bad.csv: {says}")


@pytest.mark.parametrize(
    ("head", "says"),
    [
        (
            "a_w,moisture",
            "bad.csv: row 1: columns: read 'moisture'; allowed: exactly one of moisture_db, moisture_wb",
        ),
        ("aw,moisture_db", "bad.csv: row 1: columns: read 'aw, moisture_db'; allowed: a column 'a_w'"),
        ("a_w,Moisture_db", "bad.csv: row 1: columns: read 'Moisture_db'; allowed: exactly one of moisture_db"),
    ],
)
def test_bad_headings(ask: Ask, tmp_path: Path, head: str, says: str) -> None:
    assert ask("isotherm", written(tmp_path / "bad.csv", f"{head}\n0.5,0.1\n")).refusal.startswith(says)


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("--model", "gob"), "model: read 'gob'; allowed: a known name; nearest: gab"),
        (("--a-w-limit", "60"), "a_w_limit: read '60'; allowed: a fraction"),
        (("--a-w-limit", "0.97"), "a_w_limit: read 0.97; allowed: 0.113 to 0.902 (the fitted range of GAB)"),
        (("--direction", "up"), "direction: read 'up'; allowed: adsorption, desorption"),
        (
            ("--direction", "adsorption"),
            "exact.csv: direction: read 'adsorption'; allowed: a file with a column direction",
        ),
        (("--temperature-c", "25"), "exact.csv: temperature_c: read 25.0; allowed: a file with a column temperature_c"),
        (("--model", "modified-oswin"), "exact.csv: temperature_c: read 'nothing'; allowed: a file with a column"),
    ],
)
def test_bad_words(ask: Ask, exact: Path, words: tuple[str, ...], says: str) -> None:
    assert ask("isotherm", exact, *words).refusal.startswith(says)


def test_a_temperature_must_be_chosen_where_there_are_several(ask: Ask, inputs: Path) -> None:
    said = ask("isotherm", inputs / OAT_BAR).refusal
    assert said.endswith(
        "temperature_c: read 'nothing'; allowed: one of the file's temperatures: 25 (9 points), 35 (7 points)"
    )


def test_a_person_reads_the_recommendation_first(ask: Ask, inputs: Path) -> None:
    out = ask("isotherm", inputs / OAT_BAR, "--temperature-c", "25", "--a-w-limit", "0.65").out
    lines = out.splitlines()
    assert lines[0].split()[0] == "recommended"
    assert "moisture at a_w 0.65, 25 degC" in out
    assert "g per 100 g of dry solids (dry basis), 95 % interval" in out
    assert "% (g per 100 g as is)" in out
    assert out.index("Reasons:") < out.index("std error")
    assert "Net isosteric heat" in out
    assert "does not replace" in " ".join(out.split())
    assert "nan" not in out.split()


def test_nan_and_infinity_are_null() -> None:
    assert [known(x) for x in (None, float("nan"), float("inf"), 0.25)] == [None, None, None, 0.25]


def test_small_verbs_start_without_arrays_and_compiler(inputs: Path) -> None:
    """reference, check, decide, and the help and the refusals of isotherm, each in a fresh interpreter."""
    bad = written(inputs / "bad.csv", "a_w,moisture_db\n65.2,0.1\n")
    for words in (
        ["reference", "NaCl"],
        ["check", str(inputs / "check-ow1-morning.csv")],
        ["decide", "--value", "0.6", "--u", "0.004", "--max", "0.65"],
        ["isotherm", "--help"],
        ["isotherm", str(bad)],
    ):
        code = (
            "import sys, contextlib, io\n"
            "from isohume.outlets.cli.main import main\n"
            "with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):\n"
            "    main(sys.argv[1:])\n"
            "print(*sorted({m.split('.')[0] for m in sys.modules}))"
        )
        done = subprocess.run([sys.executable, "-c", code, *words], capture_output=True, text=True, check=True)
        loaded = set(done.stdout.split())
        assert "isohume" in loaded
        assert not loaded & {"numpy", "scipy", "numba"}, words
