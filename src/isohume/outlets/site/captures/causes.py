"""Why a captured run is void: the causes of the trade's list (job 1.3), each in its own words and chosen by code."""

from __future__ import annotations

from isohume.foundation.quantity.errors import InputError

CAUSES = {
    "dirty-chamber": "chamber or sensor was dirty",
    "carry-over": "carried over from the run before",
    "volatile": "a volatile acted on the sensor",
    "warm-sample": "the sample was warmer than the block",
    "cold-sample": "the sample was colder than the block",
    "condensation": "water condensed in cup or chamber",
    "not-settled": "it did not settle",
    "stopped-early": "it was stopped early",
    "leak": "lid or rim let the room in",
    "fill": "the cup was too full or near empty",
    "open-too-long": "the cup was open too long before it was read",
    "wrong-cup": "another cup or bottle was in the chamber",
    "bad-reference": "the reference was not as it should be",
    "instrument": "instrument, power or line failed",
    "no-sample": "a blank or a trial: no sample was read",
    "whose-unknown": "nobody can say any more what was read",
    "other": "another cause, in words",
}
NEEDS_WORDS = ("other", "whose-unknown")


def cause_of(code: str) -> str:
    """The code, where it is one.

    Raises: InputError at the field `cause` for anything else.
    """
    if code not in CAUSES:
        raise InputError("cause", code or "nothing", f"one of {', '.join(CAUSES.values())}")
    return code
