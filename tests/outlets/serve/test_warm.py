"""Kernels are compiled behind the site, so that no run's page waits for the compiler."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path

LOOK = """
import time
from isohume.outlets.serve.warm import warm
begun = time.perf_counter()
warm()
print(time.perf_counter() - begun)
"""
WITHIN_S = 2.0  # what a run's page may take on a site that has just been started


def test_what_was_compiled_beside_the_pages_is_only_read_by_them(tmp_path: Path) -> None:
    environment = {**os.environ, "ISOHUME_CACHE": str(tmp_path)}
    subprocess.run([sys.executable, "-m", "isohume.outlets.serve.warm"], env=environment, check=True, timeout=300)
    kept = list(tmp_path.rglob("*.nbc"))
    assert kept
    before = {path: path.stat().st_mtime_ns for path in tmp_path.rglob("*.nb?")}
    said = subprocess.run([sys.executable, "-c", LOOK], env=environment, check=True, capture_output=True, timeout=300)
    assert {path: path.stat().st_mtime_ns for path in tmp_path.rglob("*.nb?")} == before  # nothing was compiled again
    assert float(said.stdout) < WITHIN_S


def test_to_begin_takes_no_time() -> None:
    begin = "import time\nfrom isohume.outlets.serve import warm\nfrom unittest.mock import patch\n"
    begin += "with patch.object(warm, '_compiled_and_read', lambda: time.sleep(5)):\n"
    begin += "    begun = time.perf_counter()\n    warm.warm_behind()\n    assert time.perf_counter() - begun < 1\n"
    started = time.perf_counter()
    subprocess.run([sys.executable, "-c", begin], check=True, timeout=60)
    assert time.perf_counter() - started < 5.0  # a thread that warms keeps no process alive
