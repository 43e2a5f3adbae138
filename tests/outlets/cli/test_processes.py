"""The command line as a process: closed and full outputs, narrow encodings, folders that may not be read or written."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

Child = Callable[..., subprocess.CompletedProcess[bytes]]
PASS = ["decide", "--value", "0.60", "--u", "0.004", "--max", "0.85"]
# As root every folder can be written: the child loads all it needs by a first day, then becomes nobody, and asks.
AS_NOBODY = """
import contextlib, io, os, sys, tempfile
from isohume.outlets.cli.main import main
with tempfile.TemporaryDirectory() as warm, contextlib.redirect_stdout(io.StringIO()):
    assert main(["demo", warm]) == 0
if os.geteuid() == 0:
    os.setegid(65534)
    os.seteuid(65534)
sys.exit(main(sys.argv[1:]))
"""


def one_line(err: bytes) -> str:
    """The one line on standard error."""
    text = err.decode()
    assert text.startswith("isohume: ")
    assert text.count("\n") == 1
    assert "Traceback" not in text
    return text


@pytest.mark.parametrize("words", [PASS, [*PASS, "--json"], ["reference", "NaCl"], ["--help"]])
def test_a_full_output_is_no_release(child: Child, words: list[str]) -> None:
    with Path("/dev/full").open("wb") as full:
        done = child(words, stdout=full, stderr=subprocess.PIPE)
    assert done.returncode == 2
    assert "output: read 'No space left on device'" in one_line(done.stderr)


@pytest.mark.parametrize("words", [PASS, [*PASS, "--json"], ["validate", "--list"]])
def test_a_reader_that_has_gone_is_no_release(child: Child, words: list[str]) -> None:
    reader, writer = os.pipe()
    os.close(reader)
    try:
        done = child(words, stdout=writer, stderr=subprocess.PIPE)
    finally:
        os.close(writer)
    assert done.returncode == 2
    assert "closed by its reader" in one_line(done.stderr)


@pytest.mark.parametrize(("closed", "status", "says"), [(1, 2, "standard output: read 'closed'"), (2, 2, "")])
def test_a_closed_output(closed: int, status: int, says: str) -> None:
    words = PASS if closed == 1 else ["reference", "NaX"]
    code = "import sys; from isohume.outlets.cli.main import run; sys.argv[0] = 'isohume'; run()"
    done = subprocess.run(
        [sys.executable, "-c", code, *words],
        stdout=None if closed == 1 else subprocess.PIPE,
        stderr=None if closed == 2 else subprocess.PIPE,
        preexec_fn=lambda: os.close(closed),
        timeout=60,
    )
    assert done.returncode == status
    assert not done.stdout
    assert says in (done.stderr or b"").decode()


def test_a_narrow_output_still_gets_valid_json_and_a_readable_line(child: Child, inputs: Path) -> None:
    narrow = {**os.environ, "PYTHONIOENCODING": "ascii"}
    folder = inputs.parent / "Prüfstand"
    done = child(["certify", inputs / "SB-0914-02.toml", "--data", folder, "--json"], env=narrow)
    assert done.returncode == 1
    assert b"Pr\\u00fcfstand" in done.stdout
    done = child(["certify", inputs / "SB-0914-02.toml", "--data", folder], env=narrow)
    assert b"Pr\\xfcfstand" in done.stdout
    done = child(["check", "Prüfung.csv"], env=narrow)
    assert "Pr\\xfcfung.csv" in one_line(done.stderr)


def test_a_folder_whose_name_is_no_text(child: Child, inputs: Path) -> None:
    folder = os.fsencode(inputs.parent) + b"/rec\xff"
    done = child(["certify", inputs / "SB-0914-02.toml", "--data", folder, "--json"])
    assert (done.returncode, done.stderr) == (1, b"")
    assert b"rec\\udcff/R000001.pdf" in done.stdout


def test_the_exit_status_of_a_process_is_the_verb_s(child: Child, inputs: Path) -> None:
    assert child(PASS).returncode == 0
    assert child([*PASS[:2], "0.846", *PASS[3:]]).returncode == 1
    assert child(["check", inputs / "nowhere.csv"]).returncode == 2


def test_an_internal_fault_is_one_line_and_a_report(monkeypatch: pytest.MonkeyPatch, tmp_path: Path, ask: Any) -> None:
    def broken(_: list[str]) -> int:
        raise ZeroDivisionError("first line\nsecond line")

    monkeypatch.setattr("isohume.outlets.cli.reference.run", broken)
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    answer = ask("reference", "NaCl")
    assert (answer.status, answer.out) == (3, "")
    assert answer.err.count("\n") == 1
    report = next(tmp_path.glob("isohume-fault-*.txt"))
    assert str(report) in answer.err
    assert "ZeroDivisionError: first line" in report.read_text(encoding="utf-8")
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path / "nowhere"))
    assert ask("reference", "NaCl").status == 3


@pytest.fixture
def guarded(inputs: Path, records: Path) -> Iterator[Path]:
    """A folder of nobody's with inputs and records, whose permissions a test may take away."""
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder)
        shutil.copytree(inputs, place / "demo-day" / "inputs")
        shutil.copytree(records, place / "records")
        before = held(place / "records")
        owned = [place, *place.rglob("*")]
        if os.geteuid() == 0:
            for path in owned:
                os.chown(path, 65534, 65534)
        yield place
        for path in owned:
            path.chmod(0o700 if path.is_dir() else 0o600)
        assert held(place / "records") == before, "something was half saved"


def held(folder: Path) -> dict[str, bytes]:
    """Every file of a folder with its content."""
    return {path.name: path.read_bytes() for path in sorted(folder.iterdir())}


def as_nobody(*words: str | Path) -> subprocess.CompletedProcess[bytes]:
    """The command line without the privileges of root."""
    return subprocess.run([sys.executable, "-c", AS_NOBODY, *map(str, words)], capture_output=True, timeout=60)


@pytest.mark.parametrize("lot", ["SB-0914-02", "SB-0914-03"])
def test_a_data_folder_that_cannot_be_written(guarded: Path, lot: str) -> None:
    data = guarded / "records"
    data.chmod(0o500)
    done = as_nobody("certify", guarded / "demo-day" / "inputs" / f"{lot}.toml", "--data", data)
    assert done.returncode == 2
    assert "a folder that can be written" in one_line(done.stderr)
    assert done.stdout == b""


def test_a_data_folder_that_cannot_be_made(guarded: Path) -> None:
    guarded.chmod(0o500)
    for words in (("demo", guarded / "x"), ("certify", "demo-day/inputs/SB-0914-02.toml", "--data", guarded / "x")):
        done = as_nobody(words[0], *(guarded / word if "inputs" in str(word) else word for word in words[1:]))
        assert done.returncode == 2
        assert one_line(done.stderr)
    assert not (guarded / "x").exists()


@pytest.mark.parametrize("name", ["check-ow1-morning.csv", "SB-0914-02-readings.csv", "SB-0914-02.toml"])
def test_a_file_that_may_not_be_read(guarded: Path, name: str) -> None:
    folder = guarded / "demo-day" / "inputs"
    (folder / name).chmod(0)
    done = as_nobody("certify", folder / "SB-0914-02.toml", "--data", guarded / "new")
    assert done.returncode == 2
    assert name in one_line(done.stderr)
    assert "Permission denied" in one_line(done.stderr)
    assert not (guarded / "new").exists()


def test_records_that_may_not_be_read_are_not_called_bad(guarded: Path) -> None:
    (guarded / "records").chmod(0)
    done = as_nobody("verify", guarded / "records", "--json")
    assert done.returncode == 2
    assert "Permission denied" in one_line(done.stderr)
    assert done.stdout == b""
