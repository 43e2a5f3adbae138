"""Runs every benchmark and writes docs/benchmarks.md with date, machine and versions of the peers."""

from __future__ import annotations

import contextlib
import importlib
import io
import os
import pkgutil
import platform
import sys
from datetime import UTC, datetime
from importlib.metadata import version
from pathlib import Path

ROOT = Path(__file__).parents[1]
PEERS = ("numpy", "scipy", "CoolProp", "iapws", "typst")


def main() -> None:
    """Each module of this folder has a main() that prints a table and says what it measured."""
    parts = [
        "# Benchmarks\n",
        "Ratios of one run on one machine; `make bench` makes this page anew. Timings never fail a test.\n",
        f"Measured {datetime.now(UTC):%Y-%m-%d}, Python {platform.python_version()}, {os.cpu_count()} cores, "
        + ", ".join(f"{name} {version(name)}" for name in PEERS)
        + ".\n",
    ]
    for module in sorted(m.name for m in pkgutil.iter_modules([str(Path(__file__).parent)]) if m.name != "__main__"):
        loaded = importlib.import_module(f"benchmarks.{module}")
        title = (loaded.__doc__ or module).strip().splitlines()[0]
        print(f"{module} ...", file=sys.stderr, flush=True)
        with contextlib.redirect_stdout(io.StringIO()) as printed:
            loaded.main()
        parts.append(f"## {module}\n\n{title}\n\n{printed.getvalue().strip()}\n")
    (ROOT / "docs" / "benchmarks.md").write_text("\n".join(parts), encoding="utf-8")


if __name__ == "__main__":
    main()
