"""The method's scope gate: what ISO 18787 does not cover, and what it covers only with care."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final, Literal

from isohume.foundation.quantity.errors import UnknownNameError

OUTSIDE: Final = "outside ISO 18787 scope"
INSIDE: Final = "inside ISO 18787 scope"

_EXCLUDED = {
    "frozen": "ISO 18787 excludes frozen products.",
    "water-in-oil emulsion": "ISO 18787 excludes water-in-oil emulsions.",
    "crystalline sugar or salt": "ISO 18787 excludes crystalline products such as sugar and salt.",
}
_CAUTIONED = {
    "volatile": (
        "Volatile compounds (alcohol, glycols, acids, spice oils) can act on the sensor: ISO 18787 says that the "
        "equipment may have to be adapted. Watch for successive values that never settle, and for a reference "
        "solution that reads off afterwards."
    ),
}
SCOPE_FLAGS = (*_EXCLUDED, *_CAUTIONED)


@dataclass(frozen=True, slots=True)
class Scope:
    """Whether a product lies inside the method's scope; cautions do not put it outside."""

    inside: bool
    words: Literal["inside ISO 18787 scope", "outside ISO 18787 scope"]
    reasons: tuple[str, ...]


def judge_scope(flags: Iterable[str]) -> Scope:
    """Whether a product with these flags lies inside the scope of ISO 18787.

    flags: "frozen", "water-in-oil emulsion", "crystalline sugar or salt", "volatile" [text], any of them or none.
    Returns: the Scope [text]; "volatile" is a caution and leaves the product inside.
    Raises: UnknownNameError for another flag.
    Example: water-in-oil emulsion -> "outside ISO 18787 scope".
    Source: ISO18787, scope (the scope alone was read; numeric clauses were not).
    """
    found = set(flags)
    if unknown := sorted(found - set(SCOPE_FLAGS)):
        raise UnknownNameError("scope_flags", unknown[0], SCOPE_FLAGS)
    against = tuple(why for flag, why in _EXCLUDED.items() if flag in found)
    cautions = tuple(why for flag, why in _CAUTIONED.items() if flag in found)
    if against:
        return Scope(False, OUTSIDE, (*against, "A reading is reported as outside scope.", *cautions))
    return Scope(True, INSIDE, cautions)
