"""isohume: a workbench for water activity.

Prove the meter, judge the reading, decide the lot with its uncertainty, keep a record that can be proved years later.
The parts are loaded when first asked for.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

from isohume.version import __version__

if TYPE_CHECKING:
    from isohume.bench.assurance import judge_check, standing
    from isohume.bench.decision import decide, decide_portions
    from isohume.bench.record import certify, verify
    from isohume.foundation.solutions import molality_for, reference_value

_WHERE = {
    "certify": "isohume.bench.record",
    "decide": "isohume.bench.decision",
    "decide_portions": "isohume.bench.decision",
    "judge_check": "isohume.bench.assurance",
    "molality_for": "isohume.foundation.solutions",
    "reference_value": "isohume.foundation.solutions",
    "standing": "isohume.bench.assurance",
    "verify": "isohume.bench.record",
}

__all__ = [
    "__version__",
    "certify",
    "decide",
    "decide_portions",
    "judge_check",
    "molality_for",
    "reference_value",
    "standing",
    "verify",
]


def __getattr__(name: str) -> Any:
    if name not in _WHERE:
        raise AttributeError(f"module 'isohume' has no attribute {name!r}")
    return getattr(import_module(_WHERE[name]), name)
