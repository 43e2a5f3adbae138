"""Record that the instrument itself was adjusted or serviced: as found, what was done, why; as left comes after."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db.models import Q

from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_a_w, read_words
from isohume.outlets.site.adjustments.calibrated_anew import GOES_ON, against_anew
from isohume.outlets.site.adjustments.changes import end
from isohume.outlets.site.adjustments.models import KINDS, MOVES, RETURNED, InstrumentAdjustment, ScaleChange
from isohume.outlets.site.adjustments.queries import (
    adjustment_events,
    changed_between,
    correction_in_force,
    out_of_use_since,
)
from isohume.outlets.site.adjustments.sequence import against_adjusting, open_failure
from isohume.outlets.site.bench.moments import event_time, shown_at
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import MANAGER
from isohume.outlets.site.register.actions.fields import needed_words
from isohume.outlets.site.register.models import Instrument

MOST_READINGS = 4
MOST_NAMED = 5
WHAT_TO_DO = (
    "void it with its cause first, or give the true time. Where frozen records rest on it, give a time after it, say "
    "the true one in the reason, and open a deviation."
)
SIDES = ("as_found", "as_left")


@dataclass
class RecordAdjustment(Action[InstrumentAdjustment]):
    """Readings are mappings with `reference`, `as_found`, `as_left` as a service report says them; blank rows are none.

    The instrument has no standing from then on, until a check passes as left. A correction in force ends: no
    check that was judged with it may be on record from after that time.
    """

    name = "instrument_adjusted"
    said = "Adjusted an instrument"
    roles = frozenset({MANAGER})

    instrument: Instrument
    kind: str
    as_found: Check | None
    what: str
    done_by: str
    reason: str
    at: str = ""
    certificate: str = ""
    readings: Sequence[dict[str, str]] = ()

    @property
    def site(self) -> Site:
        """The plant it stands in."""
        return self.instrument.site

    def refusals(self, by: By) -> Iterator[str]:
        """As found first; and while a failure is open, nothing careful is left out, whatever it is called."""
        at = event_time(self.at, "at", self.site, by.at)
        last = last_check(self.instrument, at)
        if last is None:
            yield f"{self.instrument} has no check before it: read one as found first."
            return
        if at <= last.last_read_at:
            yield f"Check {last.pk} was read at that time: the adjustment comes after it."
        # what is done to it while it is out of use has its as-found check from before; after its return it has none
        kinds = (*MOVES, RETURNED)
        if (changed := changed_between(self.instrument, last.last_read_at, at, kinds)) is not None:
            read = "read as left" if changed.kind in MOVES else "checked since"
            yield f"{changed.words} at {shown_at(changed.at, self.site)} and was not {read} yet: check it first."
        if (later := adjustment_events(self.instrument).filter(at__gt=at).first()) is not None:
            when = shown_at(later.at, self.site)
            yield f"{later.words} at {when}, after this moment: changes of scale are recorded in their order."
        yield from self._against_later_checks(at)
        yield from self._against_leaving_out(at, last)

    def _against_leaving_out(self, at: datetime, last: Check | None) -> Iterator[str]:
        """A service needs no steps where nothing failed, nor where the instrument was taken out of use before it."""
        if self.kind != "service":
            yield from against_adjusting(self.instrument, at, last)
        elif open_failure(self.instrument, at) is not None and out_of_use_since(self.instrument, at) is None:
            against = against_adjusting(self.instrument, at, last)
            yield from against
            if against:
                yield f"For a service without these steps take {self.instrument} out of use first."

    def _against_later_checks(self, at: datetime) -> Iterator[str]:
        """A check on record must not stand on a correction that ended before it, nor on both sides of an adjustment."""
        corrected = correction_in_force(self.instrument, at)
        wrong = Q(first_read_at__lte=at)
        if corrected is not None:
            wrong |= Q(result__correction=corrected.ref)
        later = Check.objects.filter(wrong, voided_at=None, instrument=self.instrument, last_read_at__gt=at)
        for one in later.order_by("last_read_at", "pk")[:MOST_NAMED]:
            if one.first_read_at <= at:
                why = f"Readings of check {one.pk} stand on both sides of {shown_at(at, self.site)}"
            else:
                why = f"Check {one.pk} was read after this moment and judged with the correction that it ends"
            yield f"{why} (read until {shown_at(one.last_read_at, self.site)}): {WHAT_TO_DO}"

    def change(self, by: By) -> Done[InstrumentAdjustment]:
        """Keep it, end the correction that was made for the scale before, and begin a new phase."""
        at = event_time(self.at, "at", self.site, by.at)
        made = InstrumentAdjustment.objects.create(
            instrument=self.instrument,
            kind=self._kind(),
            as_found=self._as_found(at),
            what=needed_words(self.what, "what", 300, "what was adjusted, and how"),
            done_by=needed_words(self.done_by, "done_by", 120, "who adjusted it: a person or a service"),
            certificate=read_words(self.certificate, "certificate", 120),
            readings=_read(self.readings),
            reason=needed_words(self.reason, "reason", 300, "why it was adjusted"),
            at=at,
            entered_at=by.at,
            by=by.person,
        )
        correction = correction_in_force(self.instrument, at)
        if correction is not None:
            end(correction, at, by.person, "the instrument itself was adjusted")
        word = "serviced" if made.kind == "service" else "adjusted"
        goes_on = against_anew(made.kind, made.certificate, made.done_by, made.readings, self.site)
        ScaleChange.objects.create(
            instrument=self.instrument,
            at=at,
            kind=word,
            about=made.ref,
            words=f"{self.instrument} was {word}",
            anew=not goes_on,
        )
        about = [self.instrument.ref, made.as_found.ref, *([correction.ref] if correction else [])]
        details = _details(made)
        if made.kind == "service":
            details["walk"] = f"{GOES_ON}: {'; '.join(goes_on)}" if goes_on else "begins anew"
        return Done(made, made.ref, about, details, made.reason)

    def _kind(self) -> str:
        if self.kind not in KINDS:
            raise InputError("kind", self.kind, f"one of {', '.join(KINDS)}")
        return self.kind

    def _as_found(self, at: datetime) -> Check:
        """The check that shows it as found: the last one before."""
        last = last_check(self.instrument, at)
        if last is None or self.as_found != last:
            allowed = f"check {last.pk}, the last one before" if last else "the last check before"
            raise InputError("as_found", f"check {self.as_found.pk}" if self.as_found else "nothing", allowed)
        return last


def last_check(instrument: Instrument, at: datetime) -> Check | None:
    """The last check of an instrument that was read until a moment and is not void."""
    found = Check.objects.filter(voided_at=None, instrument=instrument, last_read_at__lte=at)
    return found.select_related("method_version__method", "instrument__site").order_by("-last_read_at", "-pk").first()


def _read(rows: Sequence[dict[str, str]]) -> list[dict[str, str]]:
    """The rows of a service report; a reference with one side only is no comparison."""
    kept = []
    for n, row in enumerate(rows[:MOST_READINGS], 1):
        typed = {name: str(row.get(name, "")).strip() for name in ("reference", *SIDES)}
        if not any(typed.values()):
            continue
        reference = needed_words(typed["reference"], f"reference_{n}", 60, "which reference was read")
        read = {side: str(read_a_w(typed[side], f"{side}_{n}")) for side in SIDES}
        kept.append({"reference": reference, **read})
    return kept


def _details(made: InstrumentAdjustment) -> dict[str, Any]:
    given: dict[str, Any] = {
        "kind": made.kind,
        "as_found": made.as_found.ref,
        "what": made.what,
        "done_by": made.done_by,
        "at": made.at.isoformat(),
    }
    if made.certificate:
        given["certificate"] = made.certificate
    if made.readings:
        given["readings"] = made.readings
    return given
