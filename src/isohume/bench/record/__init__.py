"""The verdict frozen: lot file to record, canonical form, digest, append-only chain, verification.

The parts are loaded when first asked for: who verifies a ledger does not load the judging of lots.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from isohume.bench.record.canonical_form import canonical, digest
    from isohume.bench.record.certification import certify
    from isohume.bench.record.head import open_head
    from isohume.bench.record.judge import judge_check_file, judge_lot
    from isohume.bench.record.lot_file import read_lot_file
    from isohume.bench.record.store import open_store
    from isohume.bench.record.transaction import joined
    from isohume.bench.record.verification import verify

# The package's name for a function wins over a module of the same name, whichever was imported first.
_WHERE = {
    "canonical": "canonical_form",
    "certify": "certification",
    "digest": "canonical_form",
    "joined": "transaction",
    "judge_check_file": "judge",
    "judge_lot": "judge",
    "open_head": "head",
    "open_store": "store",
    "read_lot_file": "lot_file",
    "verify": "verification",
}

__all__ = [
    "canonical",
    "certify",
    "digest",
    "joined",
    "judge_check_file",
    "judge_lot",
    "open_head",
    "open_store",
    "read_lot_file",
    "verify",
]


def __getattr__(name: str) -> Any:
    if name not in _WHERE:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{_WHERE[name]}"), name)
