"""The command line as a person meets it: what was said on both outputs, the exit status, and what a folder held."""

from __future__ import annotations

import contextlib
import io
import json
import os
import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from hashlib import sha256
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest

from isohume.outlets.cli.main import main

DAY = files("isohume.outlets.demo").joinpath("harrow_lane")
CHILD = "import sys; from isohume.outlets.cli.main import run; sys.argv[0] = 'isohume'; run()"


@dataclass(frozen=True)
class Answer:
    """One run of the command line."""

    status: int
    out: str
    err: str

    @property
    def json(self) -> dict[str, Any]:
        """The one JSON object on standard output; anything beside it fails."""
        assert self.err == ""
        assert self.out.count("\n") == 1
        assert self.out.endswith("\n")
        content = json.loads(self.out, parse_constant=lambda word: pytest.fail(f"{word} is not JSON"))
        assert isinstance(content, dict)
        return content

    @property
    def refusal(self) -> str:
        """The one line of a refusal: exit status 2, nothing on standard output, no traceback, nothing to steer by."""
        assert self.status == 2, self
        assert self.out == ""
        assert self.err.startswith("isohume: ")
        assert self.err.endswith("\n")
        line = self.err.removesuffix("\n")
        assert line.isprintable(), repr(line)
        assert "Traceback" not in line
        assert ": read " in line
        assert "; allowed: " in line
        return line.removeprefix("isohume: ")


def ask(*words: str | Path) -> Answer:
    """Run the command line in this process."""
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        status = main([str(word) for word in words])
    return Answer(status, out.getvalue(), err.getvalue())


@pytest.fixture(name="ask")
def asking() -> Callable[..., Answer]:
    """`ask(*words)`: the command line in this process."""
    return ask


@pytest.fixture
def child() -> Callable[..., subprocess.CompletedProcess[bytes]]:
    """`child(words, **options)`: the command line in a process of its own, as the shell starts it."""

    def started(words: list[str | bytes | Path], **options: Any) -> subprocess.CompletedProcess[bytes]:
        command = [sys.executable, "-c", CHILD, *(os.fspath(word) for word in words)]
        return subprocess.run(command, timeout=60, **{"capture_output": "stdout" not in options, **options})

    return started


@pytest.fixture
def inputs(tmp_path: Path) -> Path:
    """The demonstration day's input files, in a folder `demo-day/inputs`."""
    folder = tmp_path / "demo-day" / "inputs"
    folder.mkdir(parents=True)
    for item in DAY.iterdir():
        (folder / item.name).write_bytes(item.read_bytes())
    return folder


def held(folder: Path) -> dict[str, str]:
    """Every file of a folder with the digest of its content."""
    return {
        str(path.relative_to(folder)): sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


@pytest.fixture(scope="module")
def _one_record(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A data folder with one record, made once."""
    place = tmp_path_factory.mktemp("made")
    for item in DAY.iterdir():
        (place / item.name).write_bytes(item.read_bytes())
    assert ask("certify", place / "SB-0914-02.toml", "--data", place / "records").status == 1
    return place / "records"


@pytest.fixture
def records(_one_record: Path, tmp_path: Path) -> Iterator[Path]:
    """A data folder with one record; whatever the test asks for must leave it as it was."""
    folder = tmp_path / "records"
    folder.mkdir()
    for path in _one_record.iterdir():
        (folder / path.name).write_bytes(path.read_bytes())
    before = held(folder)
    yield folder
    assert held(folder) == before, "something was half saved"


SMALL_PLANT = """
import sys
from datetime import UTC, datetime
from pathlib import Path
import django
django.setup()
from django.core.management import call_command
from django.db import connection
from isohume.bench.record.store import open_store
from isohume.outlets.demo.plant_a import make
folder = Path(sys.argv[1])
open_store(folder).close()
call_command("migrate", run_syncdb=True, verbosity=0)
make(folder, datetime(2026, 11, 26, 9, 30, tzinfo=UTC), days=10)  # a Thursday: the incident was the day before
connection.close()
"""


@pytest.fixture(scope="session")
def small_plant(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The data folder of a site with ten days of plant A, made once and only read."""
    folder = tmp_path_factory.mktemp("demo-plant") / "data"
    folder.mkdir()
    given = {"ISOHUME_DATA": str(folder), "DJANGO_SETTINGS_MODULE": "isohume.outlets.site.config.settings"}
    command = [sys.executable, "-c", SMALL_PLANT, str(folder)]
    subprocess.run(command, check=True, env={**os.environ, **given}, timeout=600)
    return folder


def replaced(path: Path, old: str, new: str) -> Path:
    """A text file with one place changed."""
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    return path


@pytest.fixture
def changed() -> Callable[[Path, str, str], Path]:
    """`changed(path, old, new)`: the file with one place changed."""
    return replaced
