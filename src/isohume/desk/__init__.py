"""Where bench and product meet: restating at another temperature, isotherm from routine pairs.

Names are fetched from their files when first asked for: an isotherm brings a compiler along.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from isohume.desk.heat_of_sorption import HeatOfSorption, heat_from_isotherms
    from isohume.desk.pairs import Pairs, pairs_of
    from isohume.desk.restating import BenchReading, Restated, restate
    from isohume.desk.routine_pairs import LocalIsotherm, local_isotherm
    from isohume.desk.stored_isotherm import Validity, still_fits
    from isohume.desk.york import YorkLine, york_line

_WHERE = {
    "BenchReading": "restating",
    "HeatOfSorption": "heat_of_sorption",
    "LocalIsotherm": "routine_pairs",
    "Pairs": "pairs",
    "Restated": "restating",
    "Validity": "stored_isotherm",
    "YorkLine": "york",
    "heat_from_isotherms": "heat_of_sorption",
    "local_isotherm": "routine_pairs",
    "pairs_of": "pairs",
    "restate": "restating",
    "still_fits": "stored_isotherm",
    "york_line": "york",
}

__all__ = [
    "BenchReading",
    "HeatOfSorption",
    "LocalIsotherm",
    "Pairs",
    "Restated",
    "Validity",
    "YorkLine",
    "heat_from_isotherms",
    "local_isotherm",
    "pairs_of",
    "restate",
    "still_fits",
    "york_line",
]


def __getattr__(name: str) -> Any:
    """The public name, from the file it lives in."""
    if name not in _WHERE:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{_WHERE[name]}"), name)


def __dir__() -> list[str]:
    return __all__
