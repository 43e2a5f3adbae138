"""Runs every proof; each writes its page in docs/proof and says whether it holds."""

from __future__ import annotations

import importlib
import pkgutil
import sys
from pathlib import Path


def main() -> int:
    """Every module of this folder that has a main(); 1 where one does not hold."""
    held = True
    for name in sorted(m.name for m in pkgutil.iter_modules([str(Path(__file__).parent)]) if m.name != "__main__"):
        proof = getattr(importlib.import_module(f"proofs.{name}"), "main", None)
        if proof is not None:
            print(f"proof {name} ...", file=sys.stderr, flush=True)
            held = proof() == 0 and held
    return 0 if held else 1


if __name__ == "__main__":
    sys.exit(main())
