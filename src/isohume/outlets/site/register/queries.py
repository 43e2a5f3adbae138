"""Which bottles of reference solutions may be read on a day, and why others may not."""

from __future__ import annotations

from datetime import date

from isohume.outlets.site.bench.moments import plant_day
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.register.models import Bottle, SolutionLot


def faults_of_lot(lot: SolutionLot) -> list[str]:
    """Why a reference lot may not be used on any day; none where it may."""
    faults = [f"Lot {lot.code} is withdrawn: {lot.withdrawn_reason}"] if lot.withdrawn_reason else []
    if any(not weighing.check_passed for weighing in lot.weighings.all()):
        faults.append(f"The balance check of lot {lot.code} failed: what was weighed is not known.")
    return faults


def reasons_against_lot(lot: SolutionLot, day: date) -> list[str]:
    """Why a reference lot may not be used on a day; none where it may. The last day is its expiry date."""
    reasons = faults_of_lot(lot)
    if day > lot.expires_on:
        reasons.append(f"Lot {lot.code} expired on {lot.expires_on.isoformat()}.")
    if day < lot.made_on:
        reasons.append(f"Lot {lot.code} was made on {lot.made_on.isoformat()}.")
    return reasons


def reasons_against_bottle(bottle: Bottle, day: date) -> list[str]:
    """Why a bottle may not be read on a day; none where it may."""
    site, reasons = bottle.solution_lot.site, []
    if bottle.discarded_at is not None and plant_day(bottle.discarded_at, site) <= day:
        reasons.append(f"Bottle {bottle.code} is discarded: {bottle.discarded_reason}")
    if bottle.opened_at is None or plant_day(bottle.opened_at, site) > day:
        reasons.append(f"Bottle {bottle.code} is not opened.")
    if bottle.discard_on is not None and day > bottle.discard_on:
        reasons.append(f"Bottle {bottle.code} was to be discarded on {bottle.discard_on.isoformat()}.")
    return reasons + reasons_against_lot(bottle.solution_lot, day)


def bottles_of(site: Site) -> list[Bottle]:
    """Every bottle of the plant with its lot, by solution, lot and bottle."""
    found = Bottle.objects.filter(solution_lot__site=site).select_related("solution_lot__site")
    ordered = found.prefetch_related("solution_lot__weighings")
    return list(ordered.order_by("solution_lot__solution", "solution_lot__code", "code"))


def usable_bottles(site: Site, day: date) -> list[Bottle]:
    """The bottles that may be read on a day, by solution, lot and bottle."""
    return [bottle for bottle in bottles_of(site) if not reasons_against_bottle(bottle, day)]
