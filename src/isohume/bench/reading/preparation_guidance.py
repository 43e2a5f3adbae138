"""How a portion is prepared, by the form of its product: common practice in our own words, kept as data."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from isohume.foundation.quantity.errors import UnknownNameError

FORMS = (
    "powder or flakes",
    "hard pieces",
    "syrup or sauce",
    "baked goods",
    "soft or filled pieces",
    "coated pieces",
    "liquid or ointment",
)


@dataclass(frozen=True, slots=True)
class Guidance:
    """The steps of preparing a portion of one form, what to watch, and where that comes from."""

    form: str
    steps: tuple[str, ...]
    cautions: tuple[str, ...]
    source: str


def guidance(form: str) -> Guidance:
    """How to prepare a portion of a product of this form.

    form: one of FORMS, such as "baked goods" [text], in any case.
    Returns: the Guidance [text]: the form's own steps and cautions, with those of every form around them.
    Raises: UnknownNameError for a form that is not known; no general guidance is given in its place.
    Example: guidance("hard pieces") says to snip, not to shred.
    Source: none (common practice).
    """
    data = _data()
    name = form.strip().casefold()
    if name not in data["form"]:
        raise UnknownNameError("form", form, FORMS)
    own = data["form"][name]
    before, after = data["every_form"][:2], data["every_form"][2:]
    return Guidance(
        name,
        (*before, *own["steps"], *after),
        (*own["cautions"], *data["every_form_cautions"]),
        data["source"],
    )


@cache
def _data() -> dict[str, Any]:
    import tomllib  # only a page that shows guidance needs it

    text = files(__package__).joinpath("preparation_guidance.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)
