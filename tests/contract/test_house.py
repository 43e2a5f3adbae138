"""The house rules that a machine can hold: sizes, rings, marks of unfinished work."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
SOURCES = sorted((ROOT / "src").rglob("*.py"))
OURS = [*SOURCES, *sorted((ROOT / "tests").rglob("*.py")), *sorted((ROOT / "builders").rglob("*.py"))]
LONGEST_FILE, LONGEST_FUNCTION = 400, 40
# One branch for each isotherm model, written by builders/model_dispatch.py: as long as there are models.
WRITTEN_BY_A_BUILDER = {ROOT / "src/isohume/product/sorption/models/dispatch.py"}


def functions(path: Path) -> list[ast.FunctionDef | ast.AsyncFunctionDef]:
    """Every function of a file."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    return [node for node in ast.walk(tree) if isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef))]


def lines_of_code(function: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    """Lines of a function, its docstring and a signature of many lines left out."""
    body = function.body[1:] if ast.get_docstring(function) is not None else function.body
    return (body[-1].end_lineno or 0) - body[0].lineno + 1 if body else 0


@pytest.mark.parametrize("path", OURS, ids=lambda p: str(p.relative_to(ROOT)))
def test_files_stay_under_400_lines(path: Path) -> None:
    assert len(path.read_text(encoding="utf-8").splitlines()) < LONGEST_FILE


@pytest.mark.parametrize("path", sorted(set(SOURCES) - WRITTEN_BY_A_BUILDER), ids=lambda p: str(p.relative_to(ROOT)))
def test_functions_stay_under_40_lines(path: Path) -> None:
    long = {f.name: lines_of_code(f) for f in functions(path) if lines_of_code(f) >= LONGEST_FUNCTION}
    assert not long


def test_no_file_is_called_utils() -> None:
    assert not [p.name for p in SOURCES if p.stem in ("utils", "util", "helpers", "misc", "common")]


@pytest.mark.parametrize("path", SOURCES, ids=lambda p: str(p.relative_to(ROOT)))
def test_no_marks_of_unfinished_work(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert not [mark for mark in ("TODO", "FIXME", "XXX", "NotImplementedError") if mark in text]


def test_a_reference_value_starts_without_heavy_libraries() -> None:
    """The imports of `isohume reference`, listed by a fresh interpreter."""
    code = (
        "import sys, contextlib, io\n"
        "from isohume.outlets.cli.main import main\n"
        "with contextlib.redirect_stdout(io.StringIO()): main(['reference', 'NaCl', '--json'])\n"
        "print(' '.join(sorted({m.split('.')[0] for m in sys.modules})))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    loaded = set(done.stdout.split())
    assert loaded & {"isohume"}
    assert not loaded & {"numpy", "scipy", "numba", "django", "typst", "sqlite3"}
