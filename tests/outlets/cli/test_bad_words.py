"""Bad words on the command line: one clear line with the field, what was read and what is allowed; exit status 2."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

Ask = Callable[..., Any]
VALUE = ("--value", "0.846")
U = ("--u", "0.004")
MAX = ("--max", "0.85")
PORTIONS = ("--replicates", "0.640,0.652", "--s-r", "0.002", "--u-other", "0.0035", "--max", "0.65")


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ((), "verb: read 'nothing'; allowed: reference, check, decide"),
        (("frobnicate",), "verb: read 'frobnicate'"),
        (("refer",), "verb: read 'refer'"),
        (("--json",), "verb: read '--json'"),
        (("de\ncide\x1b[31m",), "verb: read 'de\ufffdcide\ufffd[31m'"),
        (("reference",), "solution: read 'nothing'"),
        (("certify", "x.toml"), "data: read 'nothing'; allowed: --data is needed"),
        (("certify", "--data", "x"), "LOT.toml: read 'nothing'"),
        (("certify", "x.toml", "--data", ""), "data: read ''; allowed: the name of a file or folder"),
        (("certify", "x.toml", "--data", "x", "--paper", "a5"), "paper: read 'a5'; allowed: a4, us-letter"),
        (("verify", " "), "folder: read ' '"),
        (("reference", "NaCl", "KCl"), "arguments: read 'KCl'"),
        (("reference", "NaCl", "--temp", "22"), "arguments: read '--temp 22'"),
        (("reference", "NaCl", "--temperature-c"), "temperature_c: read 'nothing'"),
        (("reference", "NaCl", "--target", "0.8", "--target", "0.9"), "target: read '0.9'; allowed: --target once"),
        (("validate", "now"), "arguments: read 'now'"),
    ],
)
def test_words_that_no_verb_knows(ask: Ask, words: tuple[str, ...], says: str) -> None:
    assert says in ask(*words).refusal


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("NaCk",), "solution: read 'NaCk'; allowed: a known name; nearest: NaCl, "),
        (("",), "solution: read ''"),
        (("Na\nCl",), "solution: read 'Na\ufffdCl'"),
        (("\udcff",), "solution: read '\ufffd'"),
        (("A" * 60_000,), "at most 100 characters, not 60000"),
        (("sucrose",), "give a molality or a target"),
        (("NaCl", "--temperature-c", "77 F"), "convert degF first"),
        (("NaCl", "--temperature-c", "298.15"), "kelvin meant (25.0 degC)"),
        (("NaCl", "--temperature-c", "80.1"), "temperature_c: read 80.1; allowed: 0 to 80 degC"),
        (("NaCl", "--temperature-c", "nan"), "finite"),
        (("NaCl", "--molality", "-1"), "molality: read '-1'"),
        (("NaCl", "--molality", "0"), "molality: read '0'"),
        (("NaCl", "--molality", "13.41"), "allowed: 0 to 6 mol/kg"),
        (("NaCl", "--molality", "1,234"), "is 1.234 or 1234 meant?"),
        (("NaCl", "--molality", "4", "--temperature-c", "35"), "allowed: 20 to 30 degC"),
        (("NaCl", "--target", "1"), "target: read 1.0"),
        (("NaCl", "--target", "0"), "target: read '0'"),
        (("NaCl", "--target", "85"), "was ERH in percent meant (a_w 0.85)?"),
        (("NaCl", "--target", "0.70"), "allowed: 0.7530 or more: NaCl saturates at that a_w"),
        (("NaCl", "--target", "0.85", "--slurry-g", "50"), "one of --molality, --target, --slurry-g"),
        (("NaCl", "--slurry-g", "0"), "slurry_g: read '0'"),
        (("NaCl", "--slurry-g", "1e300"), "slurry_g: read '1e300'"),
    ],
)
def test_reference(ask: Ask, words: tuple[str, ...], says: str) -> None:
    assert says in ask("reference", *words).refusal
    assert says in ask("reference", *words, "--json").refusal


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("--value", "nan", *U, *MAX), "value: read 'nan'"),
        (("--value", "Infinity", *U, *MAX), "value: read 'Infinity'"),
        (("--value", "-inf", *U, *MAX), "value: read 'nothing'; allowed: a value after --value"),
        (("--value=-inf", *U, *MAX), "value: read '-inf'"),
        (("--value", "", *U, *MAX), "it is blank"),
        (("--value", "84.6", *U, *MAX), "was ERH in percent meant (a_w 0.846)?"),
        (("--value", "84.6 %", *U, *MAX), "was ERH in percent meant?"),
        (("--value", "-0.5", *U, *MAX), "value: read '-0.5'"),
        (("--value", "1e-999", *U, *MAX), "value: read '1e-999'"),
        (("--value", "0.8" + "4" * 40, *U, *MAX), "at most 25 digits, not 41"),
        (("--value", "0.8 4", *U, *MAX), "value: read '0.8 4'"),
        ((*VALUE, *MAX), "u: read 'nothing'"),
        ((*VALUE, "--u", "0", *MAX), "u: read '0'"),
        ((*VALUE, "--u", "-0.004", *MAX), "u: read '-0.004'"),
        ((*VALUE, "--u", "1e-30", *MAX), "u: read '1e-30'"),
        ((*VALUE, "--u", "4", *MAX), "u: read '4'"),
        ((*VALUE, *U), "at least one of --max, --below, --min, --above"),
        ((*VALUE, *U, *MAX, "--below", "0.85"), "either --max or --below, not both"),
        ((*VALUE, *U, "--min", "0.5", "--above", "0.4"), "either --min or --above, not both"),
        ((*VALUE, *U, "--min", "0.9", *MAX), "minimum: read '0.9'; allowed: below the maximum 0.85"),
        ((*VALUE, *U, "--max", "85"), "max: read '85'"),
        ((*VALUE, *U, *MAX, "--guard", "-1"), "guard: read '-1'"),
        ((*VALUE, *U, *MAX, "--guard", "nan"), "guard: read 'nan'"),
        ((*VALUE, *U, *MAX, "--guard", "1e999"), "guard: read '1e999'"),
        ((*VALUE, *U, *MAX, "--guard", "300"), "leaves an acceptance zone; no a_w lies at or below -0.35"),
        ((*VALUE, *U, "--min", "0.8", "--guard", "60"), "no a_w lies at or above 1.04"),
        (("--value", "0.6", "--u", "0.04", "--min", "0.6", "--max", "0.65"), "leaves an acceptance zone between"),
        ((*VALUE, *U, *MAX, "--allow-conditional"), "only with a quality limit"),
        ((*VALUE, *U, *MAX, *VALUE), "--value once"),
        ((*VALUE, *U, *MAX, "--s-r", "0.002"), "s_r: read '0.002'; allowed: only with --replicates"),
        (MAX, "value: read 'nothing'"),
        ((*PORTIONS, *VALUE), "value: read '0.846'; allowed: not with --replicates"),
        (("--replicates", "", *PORTIONS[2:]), "replicates[1]: read ''"),
        (("--replicates", "0.64,,0.65", *PORTIONS[2:]), "replicates[2]: read ''"),
        (("--replicates", "0.64,nan", *PORTIONS[2:]), "replicates[2]: read 'nan'"),
        (("--replicates", "0,640,0,652", *PORTIONS[2:]), "decimal commas and semicolons"),
        (("--replicates", ",".join(["0.64"] * 11), *PORTIONS[2:]), "1 to 10 portions"),
        (("--replicates", "0.64,0.65", *MAX), "s_r: read 'nothing'"),
        ((*PORTIONS[:2], "--s-r", "0", *PORTIONS[4:]), "s_r: read '0'"),
        ((*PORTIONS[:4], "--u-other", "-1", *MAX), "u_other: read '-1'"),
    ],
)
def test_decide(ask: Ask, words: tuple[str, ...], says: str) -> None:
    assert says in ask("decide", *words).refusal
    assert says in ask("decide", *words, "--json").refusal


def test_a_decimal_comma_is_accepted_and_said(ask: Ask) -> None:
    point = ask("decide", *VALUE, *U, *MAX, "--json").json
    comma = ask("decide", "--value", "0,846", "--u", "0,004", "--max", "0,85", "--json").json
    notes = comma.pop("notes")
    assert point.pop("notes") == []
    assert comma == point
    assert sorted(note.partition(":")[0] for note in notes) == ["max", "u", "value"]
    assert "decimal comma in 0,846 read as 0.846" in ask("decide", "--value", "0,846", *U, *MAX).out
    assert ask("reference", "NaCl", "--temperature-c", "22,0", "--json").json["notes"]


def test_portions_with_decimal_commas_are_separated_by_semicolons(ask: Ask) -> None:
    comma = ask("decide", "--replicates", "0,640;0,644", *PORTIONS[2:], "--json").json
    point = ask("decide", "--replicates", "0.640,0.644", *PORTIONS[2:], "--json").json
    assert len(comma.pop("notes")) == 2
    assert point.pop("notes") == []
    assert comma == point
