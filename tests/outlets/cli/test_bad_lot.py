"""Bad lot files and bad folders: one line that names the key, the value and what is allowed; nothing half saved."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Ask = Callable[..., Any]
ID, GUARD, MAXIMUM = 'id = "SB-0914-01"', "guard = 1.64", "maximum = 0.650"
READINGS = 'file = "SB-0914-01-readings.csv"'


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        (ID, 'id = ""', "lot.id: read ''; allowed: a non-empty text"),
        (ID, "id = 5", "lot.id: read 5"),
        (ID, 'id = "a\\nb"', "lot.id: read 'a\ufffdb'; allowed: one line of plain text (U+000A"),
        (ID, 'id = "a\\u0000b"', "(U+0000 cannot be printed)"),
        (ID, 'id = "\\u001B[31m"', "(U+001B cannot be printed)"),
        (ID, 'id = "\\u202Eabc"', "(U+202E cannot be printed)"),
        (ID, f'id = "{"L" * 3000}"', "at most 200 characters, not 3000"),
        (GUARD, "guard = nan", "specification.guard: read NaN"),
        (GUARD, "guard = inf", "specification.guard: read Infinity"),
        (GUARD, "guard = -1", "specification.guard: read -1"),
        (GUARD, "guard = 1e400", "specification.guard: read 1E+400"),
        (GUARD, "guard = 1e99999999999999999999", "lot file: read 'a huge number'"),
        (GUARD, f"guard = {'9' * 5000}", "lot file: read 'a huge number'"),
        (GUARD, f"guard = 0x{'f' * 5000}", "lot file: read 'a huge number'"),
        (GUARD, "guard = true", "specification.guard: read True"),
        (MAXIMUM, "maximum = 65.0", "was ERH in percent meant (a_w 0.65)?"),
        (MAXIMUM, 'maximum = "65 %"', "was ERH in percent meant?"),
        (MAXIMUM, f"maximum = 0.{'6' * 3000}", "at most 25 digits, not 3000"),
        (MAXIMUM, "maximum = 0.650\nbelow = 0.65", "specification.below: read 0.65; allowed: either maximum or below"),
        (MAXIMUM, "maximum = 0.650\nminimum = 0.66", "specification.minimum: read '0.66'; allowed: below the maximum"),
        (MAXIMUM, "maximum = 0.650\nmaximum = 0.60", "valid TOML"),
        (MAXIMUM, "maximum = 0.650\nmaximun = 0.60", "specification.maximun: read 0.60; allowed: one of "),
        (MAXIMUM, "", "a minimum, a maximum or both"),
        (
            'kind = "quality"',
            'kind = "safety"\nallow_conditional = true',
            "specification.allow_conditional: read 'true'",
        ),
        ("temperature_c = 25.0\nmaximum", "temperature_c = 77\nmaximum", "was degF meant (25.0 degC)?"),
        (
            "temperature_c = 25.0\nmaximum",
            'temperature_c = "25 C"\nmaximum',
            "specification.temperature_c: read '25 C'",
        ),
        ("expected_a_w = 0.632", "expected_a_w = 63.2", "product.expected_a_w: read 63.2"),
        (
            "temperature_tolerance_c = 0.5",
            "temperature_tolerance_c = -0.5",
            "method.temperature_tolerance_c: read -0.5",
        ),
        ("produced_on = 2026-09-14", "produced_on = 2026-09-16", "a day not after the lot was received (2026-09-15)"),
        ("produced_on = 2026-09-14", 'produced_on = "14.09.2026"', "a date in ISO 8601"),
        ("received_at = 2026-09-15T07:40:00+01:00", "received_at = 2026-09-15", "lot.received_at: read 2026-09-15"),
        (
            "received_at = 2026-09-15T07:40:00+01:00",
            "received_at = 2999-01-02T00:00:00Z",
            "lot.received_at",
        ),
        ("limit = 0.005", "limit = 5", "check.limit: read 5"),
        ("limit = 0.005", "limit = 0", "check.limit: read 0"),
        ("u_instrument = 0.0015", "u_instrument = -0.001", "check.u_instrument: read -0.001"),
        ("u_other = 0.0032", "u_other = 0", "uncertainty.u_other: read 0"),
        ("u_other = 0.0032", "u_other = 1e-30", "uncertainty.u_other: read 1E-30"),
        ("s_r = 0.0020", "s_r = 2", "uncertainty.s_r: read 2"),
        (READINGS, 'file = "nowhere.csv"', "readings.file: read 'nowhere.csv'"),
        (READINGS, 'file = "."', "readings.file: read '.'"),
        (READINGS, 'file = "../lot.csv"', "a file name inside the lot file's folder"),
        (READINGS, 'file = "/dev/zero"', "a file name inside the lot file's folder"),
        (READINGS, 'file = "a\\u0000b"', "(U+0000 cannot be printed)"),
        (READINGS, 'file = "check-ow1-morning.csv"', "a column 'portion'"),
        (READINGS, f'{READINGS}\ncolumns = {{ void_reson = "Void" }}', "readings.columns: read 'void_reson'"),
        (READINGS, f'{READINGS}\ncolumns = {{ a_w = "Value" }}', "columns.a_w: read 'Value'"),
        ("dish_g = 21.4032", "dish_g = -1", "moisture.weighings[1].dish_g: read -1"),
        ("dish_g = 21.4032", 'dish_g = "1,234"', "is 1.234 or 1234 meant?"),
        ("dish_g = 21.4032", "dish_g = 1e999999", "moisture.weighings[1].dish_g: read 1E+999999"),
        ("nominal_g = 20.0000", "nominal_g = 0", "moisture.check.nominal_g: read 0"),
        ("values = [5.62, 5.63]", "values = [56.2]", "ph.values: read 56.2; allowed: a pH from 0 to 14"),
        ("values = [5.62, 5.63]", "values = [5.62, nan]", "ph.values[2]: read NaN"),
        ("nominal = 4.01", "nominal = 401", "ph.check.buffers[1].nominal: read 401"),
    ],
)
def test_keys(
    ask: Ask, inputs: Path, records: Path, changed: Callable[..., Path], old: str, new: str, says: str
) -> None:
    text = ask("certify", changed(inputs / "SB-0914-01.toml", old, new), "--data", records).refusal
    assert says in text
    assert text.startswith(("SB-0914-01.toml: ", "SB-0914-01-readings.csv: ", "check-ow1-morning.csv: "))
    assert len(text) < 500


@pytest.mark.parametrize(
    ("edit", "says"),
    [
        (lambda text: b"", "lot: read 'nothing'; allowed: a table [lot]"),
        (lambda text: b"PK\x03\x04", "valid TOML"),
        (lambda text: text.replace(b"Soft", b"S\xf6ft"), "encoding: read 'byte 0xf6 in line 5'; allowed: UTF-8"),
        (lambda text: text.decode().encode("utf-16"), "encoding"),
        (lambda text: text + b'\n[lot]\nid = "x"\n', "valid TOML"),
        (lambda text: b"a = " + b"[" * 5000 + b"]" * 5000 + b"\n" + text, "nesting"),
        (lambda text: b"x" + b".a" * 3000 + b" = 1\n" + text, "lot file: read 'deeper nesting'; allowed: at most 8"),
        (lambda text: text + b"#" * 1_000_000, "bytes"),
        (lambda text: text.replace(b"[lot]", b"[[lot]]"), "lot: read"),
        (lambda text: text.replace(b"[method]", b"[methods]"), "method: read 'nothing'"),
    ],
)
def test_lot_files(ask: Ask, inputs: Path, records: Path, edit: Callable[[bytes], bytes], says: str) -> None:
    path = inputs / "SB-0914-01.toml"
    path.write_bytes(edit(path.read_bytes()))
    text = ask("certify", path, "--data", records).refusal
    assert says in text
    assert text.startswith("SB-0914-01.toml: ")


def test_a_first_lot_that_is_refused_makes_no_data_folder(ask: Ask, inputs: Path, changed: Callable[..., Path]) -> None:
    data = inputs.parent / "records"
    assert ask("certify", changed(inputs / "SB-0914-01.toml", MAXIMUM, "maximum = nan"), "--data", data).status == 2
    odd = inputs / "lot\udcff.toml"
    odd.write_bytes((inputs / "SB-0914-02.toml").read_bytes())
    assert "lot file: read 'lot\ufffd.toml'" in ask("certify", odd, "--data", data).refusal
    assert not data.exists()


def test_a_byte_order_mark_windows_lines_and_decimal_commas_are_accepted(ask: Ask, inputs: Path) -> None:
    path = inputs / "SB-0914-02.toml"
    text = path.read_text(encoding="utf-8").replace(GUARD, 'guard = "1,64"').replace(MAXIMUM, 'maximum = "0,650"')
    path.write_bytes(b"\xef\xbb\xbf" + text.replace("\n", "\r\n").encode())
    content = ask("certify", path, "--data", inputs.parent / "records", "--json").json
    assert content["verdict"] == "conditional pass"
    assert content["notes"] == [
        "specification.maximum: decimal comma in 0,650 read as 0.650",
        "specification.guard: decimal comma in 1,64 read as 1.64",
    ]


@pytest.mark.parametrize("place", ["inputs/check-ow1-morning.csv", "inputs/check-ow1-morning.csv/below"])
def test_a_data_folder_that_is_a_file(ask: Ask, inputs: Path, monkeypatch: pytest.MonkeyPatch, place: str) -> None:
    monkeypatch.chdir(inputs.parent)
    before = sorted(inputs.iterdir())
    text = ask("certify", inputs / "SB-0914-02.toml", "--data", place).refusal
    assert text.startswith(f"folder: read '{place}'; allowed: a folder that can be written")
    assert sorted(inputs.iterdir()) == before


def test_a_missing_data_folder_is_made_with_all_above_it(ask: Ask, inputs: Path) -> None:
    data = inputs.parent / "2026" / "september"
    assert ask("certify", inputs / "SB-0914-02.toml", "--data", data).status == 1
    assert sorted(path.suffix for path in data.iterdir()) == [".csv", ".head", ".pdf", ".sqlite3"]


@pytest.mark.parametrize("lot", [".", "nowhere.toml", "records"])
def test_a_lot_file_that_is_none(ask: Ask, inputs: Path, monkeypatch: pytest.MonkeyPatch, lot: str) -> None:
    monkeypatch.chdir(inputs.parent)
    (inputs.parent / "records").mkdir()
    assert "lot file: read " in ask("certify", lot, "--data", "data").refusal


@pytest.mark.parametrize("place", ["nowhere", "inputs", "inputs/check-ow1-morning.csv", "a\nb"])
def test_verify_where_there_is_nothing_to_verify(
    ask: Ask, inputs: Path, monkeypatch: pytest.MonkeyPatch, place: str
) -> None:
    monkeypatch.chdir(inputs.parent)
    before = sorted(inputs.iterdir())
    assert "a folder with a store" in ask("verify", place).refusal
    assert sorted(inputs.iterdir()) == before


def test_another_record_of_a_lot_needs_its_reason(
    ask: Ask, inputs: Path, records: Path, changed: Callable[..., Path]
) -> None:
    changed(inputs / "SB-0914-02-readings.csv", "0.6452", "0.6352")
    text = ask("certify", inputs / "SB-0914-02.toml", "--data", records).refusal
    assert "amendment.reason: read 'nothing'; allowed: why lot 'SB-0914-02' gets another record" in text


def test_one_refused_lot_of_several_is_named_and_the_others_are_told(ask: Ask, inputs: Path) -> None:
    data = inputs.parent / "records"
    answer = ask("certify", inputs / "SB-0914-02.toml", inputs / "nowhere.toml", "--data", data, "--json")
    assert answer.status == 2
    assert "isohume: nowhere.toml: lot file: read 'nowhere.toml'" in answer.err
    assert '"record": "R000001"' in answer.out


def test_a_demonstration_folder_whose_files_were_changed_is_left_alone(ask: Ask, inputs: Path) -> None:
    (inputs / "SB-0914-03.toml").write_text("mine", encoding="utf-8")
    (inputs / "FB-0914-01.toml").unlink()
    assert "this file was changed" in ask("demo", inputs.parent).refusal
    assert not (inputs / "FB-0914-01.toml").exists()
