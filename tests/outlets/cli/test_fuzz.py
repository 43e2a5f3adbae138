"""Whatever the words, the tables and the lot files hold: no exception, no internal fault, at most one line of error.

The examples are the same in every run (derandomized); what was found with many more of them is kept as plain tests.
"""

from __future__ import annotations

import contextlib
import io
import tempfile
from collections.abc import Iterator
from importlib.resources import files
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from isohume.outlets.cli.main import VERBS, main
from isohume.product.sorption.readiness import prepare_kernels

DAY = files("isohume.outlets.demo").joinpath("harrow_lane")
LOT = DAY.joinpath("SB-0914-01.toml").read_text(encoding="utf-8")
READINGS = DAY.joinpath("SB-0914-01-readings.csv").read_text(encoding="utf-8")
POINTS = DAY.joinpath("soft-oat-bar-isotherm.csv").read_text(encoding="utf-8")
CHECK = DAY.joinpath("check-ow1-morning.csv").read_text(encoding="utf-8")
FEW = settings(derandomize=True, deadline=None, max_examples=80, suppress_health_check=list(HealthCheck))
NUMBERS = ("0", "-0", "1", "-1", "0,65", "1,234", "65.2", "1e400", "1e-400", "nan", "-inf", "77 F", "0x1f", "9" * 5000)
MARKS = ("", " ", "=1+1", '"', "'", ",", ";", "\t", "\r", "\n", "\0", "\x1b[31m", "\u202e", "\ufeff", "é", "[", "{")
TIMES = ("2026-09-15", "9999-12-31T23:59:59-23:59", "0001-01-01T00:00:00+23:59")
WORDS = ("true", "[lot]", "x" * 300, "\\u0000")
ODD = st.sampled_from((*NUMBERS, *MARKS, *TIMES, *WORDS))
ANYTHING = st.one_of(ODD, st.text(max_size=20), st.decimals(allow_nan=True).map(str))


def asked(*words: str) -> tuple[int, str]:
    """Exit status and standard error of a run, which must be one of the contract's answers."""
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        status = main(list(words))
    said = err.getvalue()
    assert status in (0, 1, 2), said
    assert said.count("\n") == (1 if status == 2 else 0)
    assert said.removesuffix("\n").isprintable()
    assert (out.getvalue() == "") is (status == 2)
    return status, said


@pytest.fixture(scope="module")
def folder() -> Iterator[Path]:
    """A folder with the demonstration day's inputs."""
    with tempfile.TemporaryDirectory() as place:
        for item in DAY.iterdir():
            (Path(place) / item.name).write_bytes(item.read_bytes())
        yield Path(place)


@given(st.lists(st.one_of(st.sampled_from(list(VERBS)), ANYTHING), max_size=6))
@FEW
def test_any_words(words: list[str]) -> None:
    if words[:1] not in (["demo"], ["certify"], ["validate"]):
        asked(*words)


OPTIONS = {
    "decide": "--value --u --replicates --s-r --u-other --max --below --min --above --guard --quality-limit --how",
    "reference": "--temperature-c --molality --target --slurry-g --how --json",
}


@given(st.data(), st.sampled_from(list(OPTIONS)))
@FEW
def test_any_value_after_a_known_option(data: st.DataObject, verb: str) -> None:
    flag = st.sampled_from(OPTIONS[verb].split())
    number = st.decimals(min_value=0, max_value=2, places=3).map(str)
    words = [verb] if verb == "decide" else [verb, data.draw(st.sampled_from(["NaCl", "LiCl", "sucrose", "K2CO3"]))]
    for chosen in data.draw(st.lists(flag, max_size=5, unique=True)):
        words.append(chosen)
        if chosen not in ("--quality-limit", "--how", "--json"):
            words.append(data.draw(st.one_of(number, ANYTHING)))
    asked(*words)


@st.composite
def damaged(draw: st.DrawFn, text: str) -> str:
    """A good text with one to three places replaced, dropped or doubled."""
    for _ in range(draw(st.integers(1, 3))):
        start = draw(st.integers(0, len(text)))
        end = min(len(text), start + draw(st.integers(0, 12)))
        text = text[:start] + draw(ANYTHING) + text[end:]
    return text


@st.composite
def damaged_cell(draw: st.DrawFn, text: str, separators: str) -> str:
    """A good text with one value replaced as a whole."""
    lines = text.splitlines()
    row = draw(st.integers(0, len(lines) - 1))
    parts = lines[row].split(separators)
    parts[draw(st.integers(0, len(parts) - 1))] = draw(ANYTHING)
    lines[row] = separators.join(parts)
    return "\n".join(lines) + "\n"


@given(st.one_of(damaged(CHECK), damaged_cell(CHECK, ","), st.text(max_size=200)))
@FEW
def test_any_check_file(folder: Path, text: str) -> None:
    path = folder / "any-check.csv"
    path.write_bytes(text.encode("utf-8", "surrogatepass"))
    asked("check", str(path))


@pytest.fixture(scope="module")
def _kernels() -> None:
    """Compiled before the first question: they speak on standard error, once on a computer."""
    prepare_kernels(lambda line: None, errors_in_both=True)


@pytest.mark.usefixtures("_kernels")
@given(st.one_of(damaged(POINTS), damaged_cell(POINTS, ","), st.text(max_size=200)))
@FEW
def test_any_point_file(folder: Path, text: str) -> None:
    path = folder / "any-points.csv"
    path.write_bytes(text.encode("utf-8", "surrogatepass"))
    asked("isotherm", str(path), "--temperature-c", "35", "--a-w-limit", "0.6", "--json")
    asked("isotherm", str(path), "--model", "gab")


@given(st.binary(max_size=300), st.sampled_from(["any.csv", "any.xlsx", "any.toml"]))
@FEW
def test_any_bytes(folder: Path, content: bytes, name: str) -> None:
    path = folder / name
    path.write_bytes(content)
    asked("check", str(path))
    assert asked("certify", str(path), "--data", str(folder / "none"))[0] == 2
    assert not (folder / "none").exists()


@given(st.one_of(damaged(LOT), damaged_cell(LOT, " = "), st.text(max_size=200)))
@FEW
def test_any_lot_file(folder: Path, text: str) -> None:
    path = folder / "any-lot.toml"
    path.write_bytes(text.encode("utf-8", "surrogatepass"))
    with tempfile.TemporaryDirectory() as data:
        status, _ = asked("certify", str(path), "--data", data)
        assert bool(list(Path(data).iterdir())) is (status != 2)
    asked("check", str(path))


@given(st.one_of(damaged(READINGS), damaged_cell(READINGS, ",")))
@FEW
def test_any_readings_file(folder: Path, text: str) -> None:
    (folder / "any-readings.csv").write_bytes(text.encode("utf-8", "surrogatepass"))
    path = folder / "any-readings.toml"
    path.write_text(LOT.replace("SB-0914-01-readings.csv", "any-readings.csv"), encoding="utf-8")
    with tempfile.TemporaryDirectory() as data:
        status, _ = asked("certify", str(path), "--data", data)
        assert bool(list(Path(data).iterdir())) is (status != 2)
