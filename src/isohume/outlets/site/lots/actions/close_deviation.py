"""Close a deviation with cause, action and a signature. Closing never releases a lot: it lets it be decided."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_words
from isohume.outlets.site.bench.models import Lot, Run
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.lots.models import Deviation
from isohume.outlets.site.lots.state_of_lot import ENDED, last_record, settle, state_of
from isohume.outlets.site.people.models import Person, Site
from isohume.outlets.site.people.proof import Proof
from isohume.outlets.site.people.roles import MANAGER, RELEASE_OFFICER

DISPOSITIONS = ("", "release", "reject")
STATEMENT = "I close this deviation: cause and action are as written here."


@dataclass
class CloseDeviation(Action[Deviation]):
    """Writes cause and action, signed; a lot it held goes back to its record, and never further than that."""

    name = "deviation_closed"
    said = "Closed a deviation"
    roles = frozenset({MANAGER, RELEASE_OFFICER})

    deviation: Deviation
    cause: str
    action: str
    disposition: str
    proof: Proof | None

    @property
    def site(self) -> Site:
        """The deviation's plant."""
        return self.deviation.site

    @property
    def lot(self) -> Lot | None:
        """The lot it speaks of: named, or through its run."""
        run = self.deviation.run
        return self.deviation.lot or (run.portion.sample.lot if run else None)

    def refusals(self, by: By) -> Iterable[str]:
        """No fresh proof, closed already, one's own deviation, or a release that the record does not allow."""
        if self.proof is None or not self.proof.holds_for(by.person, by.at):
            yield "The password was not given again just now, or was wrong: nothing was signed."
            return
        self.deviation.refresh_from_db(fields=["closed_at"])
        if self.deviation.closed_at:
            yield f"Deviation {self.deviation.pk} is closed already."
        lot = self.lot
        if self.deviation.opened_by_id == by.person.pk and (lot is not None or self._lots_of_check()):
            what = f"deviation {self.deviation.pk}, on which the release of a lot hangs"
            yield f"{by.person.printed_name} opened {what}: another person closes it."
        if lot is not None:
            yield from self._of_lot(lot, by.person)
        yield from self._own_runs(lot, by.person)

    def _own_runs(self, lot: Lot | None, person: Person) -> Iterable[str]:
        """Who recorded runs of a lot does not bring it back to its release, whatever word is chosen."""
        for held in dict.fromkeys([*([lot] if lot else []), *self._lots_of_check()]):
            asked = self.disposition == "release" and held == lot
            if not asked and (self.disposition == "reject" or state_of(held, but_for=self.deviation) != "judged"):
                continue
            if Run.objects.filter(portion__sample__lot=held, by=person).exists():
                yield f"{person.printed_name} recorded runs of lot {held.code}: another person decides of its release."

    def _lots_of_check(self) -> list[Lot]:
        """The lots whose records stand on the check that failed."""
        check = self.deviation.failed_check
        return [] if check is None else list(Lot.objects.filter(records__opening_check=check).distinct())

    def _of_lot(self, lot: Lot, person: Person) -> Iterable[str]:
        if self.disposition == "release":
            record = last_record(lot)
            if record is not None and record.disposition != "release":
                yield (
                    f"Record {record.record} of lot {lot.code} says {record.disposition} ({record.verdict}). It can be "
                    "rejected, or judged again with a reason after new evidence."
                )

    def change(self, by: By) -> Done[Deviation]:
        """Write it down, and let the lot's state follow."""
        deviation, lot = self.deviation, self.lot
        cause, action = (_needed(text, name) for text, name in ((self.cause, "cause"), (self.action, "action")))
        disposition = self._disposition(lot)
        deviation.cause, deviation.action, deviation.disposition = cause, action, disposition
        deviation.closed_at, deviation.closed_by = by.at, by.person
        deviation.save(update_fields=["cause", "action", "disposition", "closed_at", "closed_by"])
        details = {
            "cause": cause,
            "action": action,
            "meaning": "closed",
            "printed_name": by.person.printed_name,
            "statement": STATEMENT,
        }
        if lot is not None:
            before = lot.state
            _move(lot, disposition)
            details |= {"disposition of the lot": disposition or "as its record says", "state": [before, lot.state]}
        for held in self._lots_of_check():
            if held.state == "on hold":
                settle(held)
        about = [thing.ref for thing in (lot, deviation.failed_check, deviation.run) if thing is not None]
        return Done(deviation, deviation.ref, about, details)

    def _disposition(self, lot: Lot | None) -> str:
        disposition = "" if self.disposition == "-" else self.disposition
        if disposition not in DISPOSITIONS or (disposition and lot is None):
            allowed = "release, reject, or nothing said" if lot else "nothing: no lot hangs on this deviation"
            raise InputError("disposition", self.disposition, allowed)
        return disposition


def _needed(text: str, field: str) -> str:
    words = read_words(text, field, 1000)
    if not words:
        raise InputError(field, "nothing", f"the {field}, in words")
    return words


def _move(lot: Lot, disposition: str) -> None:
    lot.refresh_from_db(fields=["state"])
    if disposition == "reject" and lot.state != "released":
        lot.state = "rejected"
        lot.save(update_fields=["state"])
    elif lot.state not in ENDED:
        settle(lot)
