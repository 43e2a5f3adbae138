"""What a person reads: the answer first, trade words, no claim of certainty, nothing that steers a terminal."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from isohume.bench.record.store import open_store
from isohume.outlets.cli.output import percent, print_text, table

Ask = Callable[..., Any]


@pytest.mark.parametrize(
    ("probability", "text"),
    [
        (1.0, "above 99.99 %"),
        (0.99995, "above 99.99 %"),
        (0.9999, "99.99 %"),
        (0.8413447, "84.13 %"),
        (0.0001, "0.01 %"),
        (0.00009, "below 0.01 %"),
        (0.0, "below 0.01 %"),
    ],
)
def test_certainty_is_never_claimed(probability: float, text: str) -> None:
    assert percent(probability) == text


def test_a_clear_pass_and_a_clear_fail(ask: Ask) -> None:
    words = ("decide", "--u", "0.004", "--max", "0.85", "--value")
    assert "probability of conformity  above 99.99 %" in ask(*words, "0.60").out
    assert "probability of conformity  below 0.01 %" in ask(*words, "0.95").out


def test_a_decision_says_verdict_reasons_and_caution(ask: Ask) -> None:
    out = ask("decide", "--value", "0.846", "--u", "0.004", "--max", "0.85").out
    first, second, *_ = out.splitlines()
    assert first.split(maxsplit=1) == ["verdict", "conditional pass"]
    assert second.split(maxsplit=1) == ["disposition", "hold"]
    assert "<= 0.85, a food-safety limit" in out
    assert "<= 0.8420 (guard band 0.0080 = 2 u)" in out
    assert "never a kill step" in out
    assert "sampling is not included" in out


def test_names_and_values_stand_in_columns(ask: Ask) -> None:
    out = ask("decide", "--value", "0.846", "--u", "0.004", "--max", "0.85").out
    rows = out.split("\n\n")[0].splitlines()
    place = rows[0].index("conditional pass")
    assert all(row[place - 1] == " " and row[place] != " " for row in rows)


def test_a_reference_by_molality_speaks_of_grams(ask: Ask) -> None:
    out = ask("reference", "sucrose", "--molality", "1").out
    assert "34.23 g, anhydrous, per 100 g of water" in out
    assert "salt " not in out
    assert "None" not in ask("reference", "NaCl", "--slurry-g", "50").out


def test_a_slurry_says_what_to_weigh_from_either_crystal(ask: Ask) -> None:
    out = ask("reference", "K2CO3", "--slurry-g", "50").out
    assert "g of anhydrous salt and " in out
    assert "g of K2CO3.1.5H2O and " in out


def test_a_certificate_says_how_every_reading_was_used(ask: Ask, inputs: Path) -> None:
    out = ask("certify", inputs / "SB-0914-01.toml", "--data", inputs.parent / "records").out
    assert "readings                   2 replicates, 1 void, 1 re-read\n" in out
    assert "value                      0.6323, u 0.0035\n" in out
    assert "Certificates are not signed." in out


def test_a_signed_record_given_again_is_printed_signed_and_verified(ask: Ask, inputs: Path) -> None:
    records = inputs.parent / "records"
    command = ("certify", inputs / "SB-0914-01.toml", "--data", records)
    ask(*command)
    unsigned = (records / "R000001.pdf").read_bytes()
    with open_store(records) as store, store.transaction() as transaction:
        transaction.sign(
            "R000001", person="mara", printed_name="Mara", role="qa", meaning="released", act="a", of=1, statement=""
        )
        transaction.keep_file("input.csv", b"a_w")
    out = ask(*command).out
    assert "not signed" not in out
    assert "Certificates print the signatures they have." in out
    assert (records / "R000001.pdf").read_bytes() != unsigned
    verified = ask("verify", records).out
    assert "signatures      1\n" in verified
    assert "files           1\n" in verified


def test_nothing_in_a_text_steers_the_terminal(capsys: pytest.CaptureFixture[str]) -> None:
    print_text("a\x1b[31mb\nc\x07")
    assert capsys.readouterr().out == "a\ufffd[31mb\nc\ufffd\n"


def test_a_table_is_as_wide_as_its_widest_cell() -> None:
    text = table(("name", "n"), [("NaCl", "2"), ("Mg(NO3)2", "12")], right=(1,))
    assert text.splitlines() == ["name       n", "--------  --", "NaCl       2", "Mg(NO3)2  12"]


def test_a_narrow_guard_band_is_not_shown_as_none(ask: Ask) -> None:
    out = ask("decide", "--value", "0.846", "--u", "0.00001", "--max", "0.85").out
    assert "<= 0.849980 (guard band 0.000020 = 2 u)" in out
