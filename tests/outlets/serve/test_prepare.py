"""The demonstration is made once and whole: half of one is never taken for a plant."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from isohume.bench.record.tables import DATABASE
from isohume.bench.record.verification import verify
from isohume.foundation.quantity.errors import InputError
from isohume.outlets.serve.prepare import refuse_another

PAPERS = ("demo-sign-in.txt", "demo-plant.txt")
MAKE = """
import os, sys
from datetime import UTC, datetime
from pathlib import Path
from isohume.outlets.serve.prepare import make_demo

def make(folder, now):
    from isohume.outlets.site.people.models import Site
    Site.objects.create(key="harrow-lane", name=now.isoformat())
    (folder / "demo-sign-in.txt").write_text("ada, four calm oat bars")
    if sys.argv[2] == "dies":
        os._exit(9)

make_demo(Path(sys.argv[1]), "b", make, datetime(2026, 9, 16, tzinfo=UTC))
"""


def made(folder: Path, how: str) -> int:
    """Make a demonstration in a process of its own; its exit status."""
    environment = {**os.environ, "ISOHUME_DATA": str(folder / ".being-made"), "ISOHUME_ADDRESS": "127.0.0.1:8765"}
    words = (sys.executable, "-c", MAKE, str(folder), how)
    return subprocess.run(words, env=environment, timeout=120).returncode


def test_a_demonstration_cut_short_is_made_anew(tmp_path: Path) -> None:
    assert made(tmp_path, "dies") == 9
    assert not (tmp_path / DATABASE).exists()
    assert made(tmp_path, "lives") == 0
    assert verify(tmp_path).verified
    assert {path.name for path in tmp_path.iterdir()} == {DATABASE, "ledger.head", "secret.key", *PAPERS}
    assert b"2026-09-16T00:00:00+00:00" in (tmp_path / DATABASE).read_bytes()


def test_a_folder_is_not_opened_as_another_demonstration_plant(tmp_path: Path) -> None:
    refuse_another(tmp_path, "c")  # without data any plant may be made in it
    (tmp_path / DATABASE).touch()
    with pytest.raises(InputError, match=r"plant: read 'c'; allowed: a folder of its own: .* do not say which plant"):
        refuse_another(tmp_path, "c")
    (tmp_path / "demo-plant.txt").write_text("b\n", encoding="utf-8")
    refuse_another(tmp_path, "b")
    with pytest.raises(InputError, match=r"plant: read 'c'; allowed: a folder of its own: .* holds plant b; or leave"):
        refuse_another(tmp_path, "c")
