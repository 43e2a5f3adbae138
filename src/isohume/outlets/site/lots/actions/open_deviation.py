"""Open a deviation: something was not as it should be, and somebody must answer for it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_words
from isohume.outlets.site.bench.models import Lot, Run
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.lots.models import DEVIATION_KINDS, Deviation
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import ANALYST, DEVELOPER, MANAGER, RELEASE_OFFICER


@dataclass
class OpenDeviation(Action[Deviation]):
    """Opened by a person or by a failed check, an out-of-specification result, keyings that differ, a hold."""

    name = "deviation_opened"
    said = "Opened a deviation"
    roles = frozenset({ANALYST, MANAGER, RELEASE_OFFICER, DEVELOPER})

    at_site: Site
    kind: str
    what: str
    lot: Lot | None = None
    failed_check: Check | None = None
    run: Run | None = None
    about: str = ""
    """The name, in the ledger, of another object it speaks of: an instrument whose chart signals, a round."""

    @property
    def site(self) -> Site:
        """The plant it happened in."""
        return self.at_site

    def change(self, by: By) -> Done[Deviation]:
        """Open it, without an owner yet; the lot it speaks of is put on hold, released or not. Rejected stays."""
        if self.kind not in DEVIATION_KINDS:
            raise InputError("kind", self.kind, f"one of {', '.join(DEVIATION_KINDS)}")
        what = read_words(self.what, "what", 500)
        if not what:
            raise InputError("what", "nothing", "what was not as it should be")
        deviation = Deviation.objects.create(
            site=self.at_site,
            kind=self.kind,
            what=what,
            lot=self.lot,
            failed_check=self.failed_check,
            run=self.run,
            about=self.about,
            opened_at=by.at,
            opened_by=by.person,
        )
        details = {"kind": self.kind, "what": what, **self._hold()}
        return Done(deviation, deviation.ref, self._about(), details)

    @property
    def _lot(self) -> Lot | None:
        return self.lot or (self.run.portion.sample.lot if self.run else None)

    def _hold(self) -> dict[str, list[str]]:
        """Put its lot on hold as the database knows it now: what the caller holds may be old."""
        lot = self._lot
        if lot is None:
            return {}
        lot.refresh_from_db(fields=["state"])
        before = lot.state
        if before in ("on hold", "rejected"):
            return {}
        lot.state = "on hold"
        lot.save(update_fields=["state"])
        return {"state": [before, "on hold"]}

    def _about(self) -> Iterable[str]:
        named = [thing.ref for thing in (self._lot, self.failed_check, self.run) if thing is not None]
        return [*named, self.about] if self.about else named
