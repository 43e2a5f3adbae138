"""Names of solutions: formula or English, any case, with or without the water of the crystal, to one key."""

from __future__ import annotations

import re
from functools import cache

from isohume.foundation.quantity.errors import InputError, UnknownNameError
from isohume.foundation.solutions.tables import table

_HYDRATE_FORMULA = re.compile(r"[\s.·*•∙⋅x-]+\d*(?:[.,/]\d+)?\s*h2o$")
_HYDRATE_WORD = re.compile(r"[\s-]*(?:anhydrous|(?:hemi|mono|sesqui|di|tri|tetra|penta|hexa|hepta)?-?hydrate)$")
HANDLING_WORDS = "handling words are common practice, no source: the supplier's safety data sheet governs"
_SUBSCRIPTS = str.maketrans("₀₁₂₃₄₅₆₇₈₉", "0123456789")
_FILLER = re.compile(r"[\s_\-]+")


def _plain(name: str) -> str:
    text = name.translate(_SUBSCRIPTS).casefold().strip()
    text = _HYDRATE_WORD.sub("", _HYDRATE_FORMULA.sub("", text))
    return _FILLER.sub("", text)


@cache
def _keys_by_name() -> dict[str, str]:
    found: dict[str, str] = {}
    for key, entry in table("substances").items():
        for name in (key, entry["name"], *entry["aliases"]):
            found[_plain(name)] = key
    return found


def solution_key(name: str) -> str:
    """The key of a solution from its formula or English name.

    name: formula or English name [text], any case, spaces and hydrate spellings allowed.
    Returns: the key [text], such as NaCl or CH3COOK.
    Raises: UnknownNameError with the three nearest names; InputError for a blank.
    Example: solution_key("potassium acetate") = "CH3COOK".
    Source: none.
    """
    if not isinstance(name, str) or not name.strip():
        raise InputError("solution", name, "a formula or an English name, such as NaCl or sodium chloride")
    key = _keys_by_name().get(_plain(name))
    if key is None:
        raise UnknownNameError("solution", name, _nearest(_plain(name)))
    return key


def _nearest(plain: str) -> list[str]:
    import difflib

    # the search grows with the square of the length, and no name is as long as this
    plain = plain[:100]

    keys = _keys_by_name()
    nearest: list[str] = []
    for candidate in difflib.get_close_matches(plain, keys, n=len(keys), cutoff=0.0):
        if keys[candidate] not in nearest and keys[candidate] in known_solutions():
            nearest.append(keys[candidate])
    return nearest[:3]


@cache
def known_solutions() -> tuple[str, ...]:
    """Every solution for which a value can be given, saturated or by molality.

    Returns: the keys [text], sorted.
    Source: none.
    """
    return tuple(sorted(key for key, entry in table("substances").items() if entry["usable"]))


def english_name(key: str) -> str:
    """The English name of a solution's substance, by its key.

    key: the solution's key [text], as solution_key gives it.
    Returns: the English name [text].
    Source: none.
    """
    name: str = table("substances")[key]["name"]
    return name


def hazard_cautions(key: str) -> tuple[str, ...]:
    """Hazard and handling words of a substance; they are common practice and say so.

    key: the solution's key [text], as solution_key gives it.
    Returns: cautions [text], none for a harmless salt.
    Source: none, common practice.
    """
    words = tuple(table("substances")[key]["cautions"])
    if not words:
        return ()
    return (*words, HANDLING_WORDS)
