"""The documentation says what the code does: generated pages are fresh, examples run, names exist."""

from __future__ import annotations

import importlib.util
import re
from pathlib import Path

import pytest

from isohume.outlets.cli.main import VERBS, main

ROOT = Path(__file__).parents[2]
spec = importlib.util.spec_from_file_location("reference_docs", ROOT / "builders" / "reference_docs.py")
assert spec
assert spec.loader
reference_docs = importlib.util.module_from_spec(spec)
spec.loader.exec_module(reference_docs)
PAGES = reference_docs.pages()
MARKDOWN = [ROOT / "README.md", *sorted((ROOT / "docs").rglob("*.md"))]


@pytest.mark.parametrize("name", PAGES)
def test_generated_pages_are_fresh(name: str) -> None:
    committed = ROOT / "docs" / "reference" / name
    assert committed.read_text(encoding="utf-8") == PAGES[name], "run `make docs`"


@pytest.mark.parametrize("path", MARKDOWN, ids=lambda p: str(p.relative_to(ROOT)))
def test_links_lead_somewhere(path: Path) -> None:
    for target in re.findall(r"\]\(([^)#]+?)(?:#[^)]*)?\)", path.read_text(encoding="utf-8")):
        if "://" not in target:
            assert (path.parent / target).exists(), target


@pytest.mark.parametrize("verb", VERBS)
def test_every_verb_has_its_how_to(verb: str) -> None:
    pages = "".join(p.read_text(encoding="utf-8") for p in (ROOT / "docs" / "how-to").glob("*.md"))
    assert f"isohume {verb}" in pages


def test_the_trace_names_only_what_exists() -> None:
    """docs/trace.md leads from a row, decision or failure mode to code and test; every name must resolve."""
    text = (ROOT / "docs" / "trace.md").read_text(encoding="utf-8")
    names = re.findall(r"`((?:src|tests|proofs|docs|builders)/[^`]+)`", text)
    assert len(names) > 40
    for name in names:
        path, _, test = name.partition("::")
        assert (ROOT / path).exists(), path
        if test:
            assert f"def {test}(" in (ROOT / path).read_text(encoding="utf-8"), name


def test_the_tutorial_commands_run(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Every `isohume` line of the tutorial, in order, in an empty folder; the page says where a lot is on hold."""
    monkeypatch.chdir(tmp_path)
    text = (ROOT / "docs" / "tutorial" / "first-certificate.md").read_text(encoding="utf-8")
    for name, content in re.findall(r"`([\w.-]+)`:\n\n```(?:csv|toml)\n(.*?)```", text, re.DOTALL):
        (tmp_path / name).write_text(content, encoding="utf-8")
    lines = re.findall(r"^\$ isohume (.+?)(?:\s+# exit (\d))?$", text, re.MULTILINE)
    assert len(lines) >= 6
    for line, status in lines:
        assert main(line.split()) == int(status or 0), line
    errors = capsys.readouterr().err.splitlines()
    assert len(errors) == 1, "only the refused target speaks on standard error"
