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

    @property
    def site(self) -> Site:
        """The plant it happened in."""
        return self.at_site

    def change(self, by: By) -> Done[Deviation]:
        """Open it, without an owner yet; a lot it names is put on hold."""
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
            opened_at=by.at,
            opened_by=by.person,
        )
        if self.lot is not None and self.lot.state in ("open", "judged"):
            self.lot.state = "on hold"
            self.lot.save(update_fields=["state"])
        return Done(deviation, deviation.ref, self._about(), {"kind": self.kind, "what": what})

    def _about(self) -> Iterable[str]:
        return [thing.ref for thing in (self.lot, self.failed_check, self.run) if thing is not None]
