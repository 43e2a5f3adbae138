"""Bad files of readings: one line that names file, row, field, value and what is allowed; nothing half saved."""

from __future__ import annotations

import re
import tracemalloc
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import xlsxwriter

Ask = Callable[..., Any]
HEAD = "solution,molality,temperature_c,a_w,read_at\n"
GOOD = "MgCl2,,24.8,0.3290,2026-09-15T05:44:00+01:00\n"
LATER = "2999-01-01T00:00:00+00:00"


def checked(ask: Ask, tmp_path: Path, content: bytes | str, name: str = "runs.csv") -> Any:
    """The check of a file with that content."""
    path = tmp_path / name
    path.write_bytes(content.encode() if isinstance(content, str) else content)
    return ask("check", path)


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ("NaCl,,25.1,nan,", "a_w: read 'nan'"),
        ("NaCl,,25.1,inf,", "a_w: read 'inf'"),
        ("NaCl,,25.1,,", "a_w: read ''; allowed: a fraction greater than 0 and at most 1, such as 0.652 (it is blank)"),
        ("NaCl,,25.1,75.4,", "was ERH in percent meant (a_w 0.754)?"),
        ("NaCl,,25.1,1e-400,", "a_w: read '1e-400'"),
        ("NaCl,,,0.754,", "temperature_c: read ''"),
        ("NaCl,,77,0.754,", "was degF meant (25.0 degC)?"),
        ("NaCl,,77F,0.754,", "convert degF first"),
        ("NaCl,,298.2,0.754,", "was kelvin meant (25."),
        ("NaCl,,61,0.754,", "temperature_c: read '61'; allowed: degrees Celsius, 0 to 60"),
        ("K2CO3,,35,0.43,", "temperature_c: read 35.0; allowed: 0 to 30 degC (saturated K2CO3"),
        ("NaCk,,25.1,0.754,", "solution: read 'NaCk'; allowed: a known name; nearest: NaCl, "),
        (",,25.1,0.754,", "solution: read ''"),
        (f"{'X' * 60_000},,25.1,0.754,", "at most 100 characters, not 60000"),
        ('"Na\nCl\x1b[31m",,25.1,0.754,', "solution: read 'Na\ufffdCl\ufffd[31m'"),
        ("=1+1,,25.1,0.754,", "solution: read '=1+1'"),
        ("NaCl,-1,25.1,0.754,", "molality: read '-1'"),
        ("NaCl,13.41,25.1,0.754,", "allowed: 0 to 6 mol/kg"),
        ("sucrose,,25.1,0.9,", "give a molality or a target"),
        (f"NaCl,,25.1,0.754,{LATER}", "a moment not after now"),
        ("NaCl,,25.1,0.754,9999-12-31T23:59:59-23:59", "a moment not after now"),
        ("NaCl,,25.1,0.754,2026-09-15", "a time in ISO 8601"),
        ("NaCl,,25.1,0.754,15.09.2026 05:44", "a time in ISO 8601"),
        ("NaCl,,25,1,0,754,", "decimal comma in a comma-separated file needs quotes"),
        (f"NaCl,,25.1,0.754,,{'x' * 70_000}", "more than 65536 bytes"),
    ],
)
def test_rows(ask: Ask, tmp_path: Path, row: str, says: str) -> None:
    text = checked(ask, tmp_path, f"{HEAD}{GOOD}{row}\n").refusal
    assert says in text
    assert text.startswith("runs.csv: row 3: ")
    assert len(text) < 400


@pytest.mark.parametrize(
    ("content", "says"),
    [
        ("", "a header row and at least one row"),
        ("\n\n", "a column 'solution'"),
        (HEAD, "at least one row"),
        (HEAD + ",,,,\n", "at least one row"),
        ("solution,temperature_c,a_w,a_w\nNaCl,25,0.7,0.7\n", "row 1: columns: read 'a_w'; allowed: each column once"),
        ("solution,temperature_c\nNaCl,25\n", "row 1: columns"),
        ("solution,Molality,temperature_c,a_w\nNaCl,,25,0.75\n", "columns: read 'Molality'; allowed: 'molality'"),
        ("solution,read at,temperature_c,a_w\nNaCl,,25,0.75\n", "columns: read 'read at'; allowed: 'read_at'"),
        ((HEAD + GOOD).replace("\n", "\r"), "a line end of CR alone"),
        ((HEAD + GOOD).encode("utf-16"), "encoding: read 'UTF-16'; allowed: UTF-8"),
        ((HEAD + GOOD).encode("utf-16-le"), "a NUL byte"),
        (HEAD.encode() + b"M\xfcller,,25,0.75,\n", "row 2: encoding: read 'byte 0xfc at position 2'; allowed: UTF-8"),
        (HEAD + '"NaCl,,25,0.75,\n', "row 2: row: read 'unexpected end of data'; allowed: plain CSV"),
        ('"' + HEAD + GOOD, "row 1: row: "),
        (b"PK\x03\x04", "a zip archive"),
        (b"\x7fELF\x00\x00\xff\xfe", "row 1: "),
    ],
)
def test_files(ask: Ask, tmp_path: Path, content: bytes | str, says: str) -> None:
    text = checked(ask, tmp_path, content).refusal
    assert says in text
    assert text.startswith("runs.csv: ")


@pytest.mark.parametrize(
    ("name", "says"),
    [
        ("nowhere.csv", "nowhere.csv: file: read 'nowhere.csv'"),
        ("inputs", "inputs: file: read 'inputs'; allowed: a file, not a folder"),
        ("inputs/check-ow1-morning.csv/x", "an existing CSV or XLSX file"),
        ("a\nb\x1b[31m.csv", "file: read 'a\ufffdb\ufffd[31m.csv'"),
        ("a" * 5000 + ".csv", "can be opened (File name too long)"),
        ("\udcff.csv", "file: read '\ufffd.csv'"),
        ("", "file: read ''; allowed: the name of a file or folder"),
    ],
)
def test_places(ask: Ask, inputs: Path, monkeypatch: pytest.MonkeyPatch, name: str, says: str) -> None:
    monkeypatch.chdir(inputs.parent)
    text = ask("check", name).refusal
    assert says in text
    assert len(text) < 300


def test_a_hundred_megabytes_are_streamed(ask: Ask, tmp_path: Path) -> None:
    path = tmp_path / "huge.csv"
    with path.open("wb") as file:
        file.write(HEAD.encode())
        block = (GOOD * 20_000).encode()
        for _ in range(2):
            file.write(block)
        file.write(b"oops,,25,0.75,\n")
        while file.tell() < 100_000_000:
            file.write(block)
    tracemalloc.start()
    text = ask("check", path).refusal
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert text.startswith("huge.csv: row 40002: solution: read 'oops'")
    assert peak < 50_000_000


def test_decimal_commas_and_missing_offsets_are_said_once_with_their_rows(ask: Ask, tmp_path: Path) -> None:
    path = tmp_path / "runs.csv"
    rows = ["NaCl;;25,1;0,7538;2026-09-15T05:59:00", "NaCl;;25,0;0,7546;2026-09-15T06:05:00"]
    rows += [f"MgCl2;;24,8;0,32{i};2026-09-15T06:1{i}:00" for i in range(7, 9)]
    path.write_text("\ufeff" + HEAD.replace(",", ";") + "\n".join(rows), encoding="utf-8")
    answer = ask("check", path, "--json")
    assert answer.json["notes"] == [
        "runs.csv: row 2: temperature_c: decimal comma in 25,1 read as 25.1 (and so in 3 more rows)",
        "runs.csv: row 2: a_w: decimal comma in 0,7538 read as 0.7538 (and so in 3 more rows)",
        "runs.csv: row 2: read_at: no offset given, read as UTC (and so in 3 more rows)",
    ]


def workbook(path: Path, more: Callable[[Any], object] = lambda sheet: None) -> Path:
    """A workbook with one good row and whatever `more` adds."""
    book = xlsxwriter.Workbook(str(path))
    sheet = book.add_worksheet("day")
    sheet.write_row(0, 0, ["solution", "temperature_c", "a_w"])
    sheet.write_row(1, 0, ["NaCl", 25.1, 0.7538])
    more(sheet)
    book.close()
    return path


def test_a_workbook_reads_like_a_csv(ask: Ask, tmp_path: Path) -> None:
    assert ask("check", workbook(tmp_path / "runs.xlsx"), "--json").json["solutions"][0]["mean"] == 0.7538


@pytest.mark.parametrize(
    ("more", "says"),
    [
        (lambda sheet: sheet.write_formula(1, 2, "=0.7+0.05"), "cells: read 'a formula in C2'"),
        (lambda sheet: sheet.write_formula(7, 30, "=NOW()"), "cells: read 'a formula in AE8'"),
        (lambda sheet: sheet.merge_range(2, 0, 3, 0, "KCl"), "cells: read 'A3:A4 merged'; allowed: single cells"),
        (lambda sheet: sheet.write(1_048_575, 16_383, "far"), "cells: read 'a value in XFD1048576'"),
        (lambda sheet: sheet.write(0, 3, "a_w"), "each column once"),
        (lambda sheet: sheet.write(1, 2, 75.4), "row 2: a_w: read '75.4'"),
        (lambda sheet: sheet.write(1, 2, "#DIV/0!"), "row 2: a_w: read "),
    ],
)
def test_workbooks(ask: Ask, tmp_path: Path, more: Callable[[Any], object], says: str) -> None:
    text = ask("check", workbook(tmp_path / "runs.xlsx", more)).refusal
    assert says in text
    assert text.startswith("runs.xlsx: ")


@pytest.mark.parametrize("swapped", [False, True])
def test_the_first_tab_is_read_whatever_the_number_of_its_file(ask: Ask, tmp_path: Path, swapped: bool) -> None:
    """The formula stands in sheet2.xml: another tab's business, unless that tab was dragged to the front."""
    made, path = tmp_path / "made.xlsx", tmp_path / "runs.xlsx"
    book = xlsxwriter.Workbook(str(made))
    for name in ("day", "other"):
        sheet = book.add_worksheet(name)
        sheet.write_row(0, 0, ["solution", "temperature_c", "a_w"])
        sheet.write_row(1, 0, ["NaCl", 25.1, 0.7538])
    sheet.write_formula(5, 5, "=1")
    book.close()
    with zipfile.ZipFile(made) as old, zipfile.ZipFile(path, "w") as new:
        for member in old.namelist():
            text = old.read(member)
            if member == "xl/workbook.xml" and swapped:
                text = re.sub(rb"(<sheet [^>]*/>)(<sheet [^>]*/>)", rb"\2\1", text)
            new.writestr(member, text)
    if swapped:
        assert "a formula in F6" in ask("check", path).refusal
    else:
        assert ask("check", path).status == 0


def test_a_broken_or_huge_workbook_is_refused(ask: Ask, tmp_path: Path) -> None:
    whole = workbook(tmp_path / "runs.xlsx").read_bytes()
    assert "readable XLSX" in checked(ask, tmp_path, whole[: len(whole) // 2], "half.xlsx").refusal
    assert "readable XLSX" in checked(ask, tmp_path, b"", "empty.xlsx").refusal
    big = workbook(tmp_path / "big.xlsx", lambda sheet: sheet.insert_textbox(5, 5, "x" * 51_000_000))
    assert "at most 50 MB unpacked" in ask("check", big).refusal


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("0.6452", "64.52", "row 2: a_w: read '64.52'; allowed: a fraction"),
        ("2026-09-15T08:34:00+01:00", "2026-09-15T04:34:00+01:00", "row 2: read_at: read '2026-09-15T04:34:00+01:00'"),
        ("2026-09-15T08:34:00+01:00", LATER, "row 2: read_at: "),
        ("line 2 start", '"line 2\nstart"', "row 2: position: read 'line 2\ufffdstart'; allowed: one line"),
        ("line 2 start", "\u202eline", "(U+202E cannot be printed)"),
        ("line 2 start", "x" * 5000, "row 2: position: "),
        ("25.0", "77 F", "row 2: sample_temperature_c: read '77 F'"),
        (",A,", ",,", "row 2: portion: read ''"),
        ("46,", "45,", "row 3: run: read '45'; allowed: each run number once (row 2 has it)"),
        ("void_reason", "void_reson", "row 1: columns: read 'void_reson'; allowed: 'void_reason'"),
        ("component", "Component", "columns: read 'Component'; allowed: 'component'"),
        ("position", "portion", "columns: read 'portion'; allowed: each column once"),
    ],
)
def test_readings_of_a_lot(
    ask: Ask, inputs: Path, records: Path, changed: Callable[..., Path], old: str, new: str, says: str
) -> None:
    changed(inputs / "SB-0914-02-readings.csv", old, new)
    text = ask("certify", inputs / "SB-0914-02.toml", "--data", records).refusal
    assert says in text
    assert text.startswith("SB-0914-02-readings.csv: ")


@pytest.mark.parametrize("start", ["=", "+", "-", "@"])
def test_no_text_becomes_a_formula_in_the_exported_readings(
    ask: Ask, inputs: Path, changed: Callable[..., Path], start: str
) -> None:
    lot = changed(inputs / "SB-0914-02.toml", 'id = "SB-0914-02"', f'id = "{start}cmd|calc"')
    changed(lot, 'analyst = "R. Okonjo-Hale"', f'analyst = "{start}HYPERLINK(1)"')
    changed(inputs / "SB-0914-02-readings.csv", "45,A,line 2 start", f"{start}1+1,{start}A,{start}2*3")
    content = ask("certify", lot, "--data", inputs.parent / "records", "--json").json
    assert content["lot"] == f"{start}cmd|calc"
    exported = Path(content["pdf"]).with_name("R000001-readings.csv").read_text(encoding="utf-8")
    cells = [cell for line in exported.splitlines()[1:] for cell in line.split(",")]
    assert {f"'{start}cmd|calc", f"'{start}1+1", f"'{start}A", f"'{start}2*3"} <= set(cells)
    assert not [cell for cell in cells if cell.startswith(start)]
