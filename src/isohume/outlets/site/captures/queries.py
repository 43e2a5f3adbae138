"""The questions asked of captured runs: whose is the next run, which wait, what came of those on an instrument."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta

from django.db.models import Q, QuerySet

from isohume.outlets.site.bench.models import Lot
from isohume.outlets.site.captures.clock import AGREE
from isohume.outlets.site.captures.models import CapturedRun, Expected
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.register.models import Instrument

STANDS = timedelta(hours=4)
"""How long the word that a cup is next stands: a lidded cup of common practice does not wait longer (no source)."""
OF_RUN = (
    "instrument__site", "agent", "spool", "assigned_by", "voided_by", "run__corrected_by", "check_made",
    "bottle__solution_lot", "portion__sample__lot__product__method", "portion__sample__lot__specification",
    "portion__sample__lot__site",
)  # fmt: skip


def known_instruments(site: Site, called: Iterable[str]) -> dict[str, Instrument]:
    """The instruments of a plant by what an agent calls them: their name or their serial number."""
    called = set(called)
    found = Instrument.objects.filter(Q(name__in=called) | Q(serial__in=called), site=site)
    out: dict[str, Instrument] = {}
    for instrument in found:
        out.setdefault(instrument.serial, instrument)
    out.update({instrument.name: instrument for instrument in found})  # a name goes before another's serial number
    return out


def open_expected(instrument: Instrument, at: datetime) -> QuerySet[Expected]:
    """What was said that the next run of an instrument is, as it stands at a moment, newest first.

    What was dropped or replaced later counts for a run that began before: a run may come in hours after it was read.
    """
    still = Q(dropped_at=None) | Q(dropped_at__gt=at)
    found = Expected.objects.filter(still, instrument=instrument, taken=None, at__lte=at + AGREE, at__gt=at - STANDS)
    return found.select_related("by", "portion__sample__lot", "bottle__solution_lot").order_by("-at", "-pk")


def open_expected_at(instrument: Instrument, at: datetime) -> Expected | None:
    """The newest one."""
    return open_expected(instrument, at).first()


def captured_of(site: Site) -> QuerySet[CapturedRun]:
    """The captured runs of a plant with what a line about each needs."""
    return CapturedRun.objects.filter(site=site).select_related(*OF_RUN)


def running_now(site: Site, most: int = 12) -> list[CapturedRun]:
    """The runs that go on at this moment, by instrument."""
    return list(captured_of(site).filter(fate="waiting", ended_at=None).order_by("instrument__name", "-pk")[:most])


def without_fate(site: Site) -> QuerySet[CapturedRun]:
    """Runs that are running, or that ended and wait for somebody to accept, void or assign them."""
    return captured_of(site).filter(fate="waiting").order_by("started_at", "pk")


def waiting_of_lot(lot: Lot) -> list[str]:
    """What an instrument gave of a lot's cups and nobody has answered for: no verdict goes past it (F29)."""
    found = without_fate(lot.site).filter(portion__sample__lot=lot)
    named = (f"{run.named.capitalize()} of {run.of_words} on {run.instrument.name}" for run in found)
    return [f"{name} waits: accept it, or void it with its cause." for name in named]


def said_next(site: Site, at: datetime) -> list[Expected]:
    """What is next on each instrument of a plant, as it was said and no run took it."""
    found = Expected.objects.filter(
        instrument__site=site, taken=None, dropped_at=None, at__lte=at + AGREE, at__gt=at - STANDS
    )
    related = ("instrument", "by", "portion__sample__lot", "bottle__solution_lot")
    return list(found.select_related(*related).order_by("instrument__name", "-at"))
