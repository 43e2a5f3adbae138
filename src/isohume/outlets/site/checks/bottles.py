"""May this bottle be read as a reference at this moment, and which bottle was scanned or picked?"""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import datetime

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.bench.moments import before_minute, plant_day, shown_at
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.register.models import Bottle
from isohume.outlets.site.register.queries import reasons_against_bottle, usable_bottles

_SCANNED = re.compile(r"iso:b:(\d{1,15})", re.ASCII)


def reasons_at(bottle: Bottle, at: datetime) -> list[str]:
    """Why a bottle may not be read at a moment, each reason naming the bottle; none where it may."""
    lot = bottle.solution_lot
    reasons = reasons_against_bottle(bottle, plant_day(at, lot.site))
    if not reasons and bottle.opened_at is not None and before_minute(at, bottle.opened_at):
        reasons = [f"It was opened at {shown_at(bottle.opened_at, lot.site)}, after this reading."]
    return [f"{lot.name}, {called(bottle)}: {reason}" for reason in reasons]


def called(bottle: Bottle) -> str:
    """What a bottle is called in lists and fields: its lot and its own code."""
    return f"{bottle.solution_lot.code} / {bottle.code}"


def pick_list(site: Site, at: datetime) -> list[tuple[str, str]]:
    """The bottles that may be read on the day of a moment: what to type, and what it is."""
    usable = usable_bottles(site, plant_day(at, site))
    return [(called(bottle), f"{bottle.solution_lot.name}, lot {bottle.solution_lot.code}") for bottle in usable]


def bottle_named(typed: str, field: str, site: Site) -> Bottle | None:
    """The bottle a field names: a scanned code, its lot and code, or a code that only one bottle has; blank is none.

    Raises: InputError where it names no bottle of the plant, or several.
    """
    text = typed.strip()
    if not text:
        return None
    bottles = Bottle.objects.filter(solution_lot__site=site).select_related("solution_lot__site")
    scanned = _SCANNED.fullmatch(text)
    if scanned is not None:
        found = list(bottles.filter(pk=int(scanned[1])))
    else:
        lot, slash, code = text.rpartition(" / ")
        found = list(bottles.filter(solution_lot__code=lot, code=code) if slash else bottles.filter(code=text)[:6])
    if len(found) == 1:
        return found[0]
    raise InputError(field, text, _which(found))


def _which(found: Iterable[Bottle]) -> str:
    named = ", ".join(called(bottle) for bottle in found)
    return f"one bottle; this may be {named}" if named else "a bottle of this plant: scan it, or its lot and code"
