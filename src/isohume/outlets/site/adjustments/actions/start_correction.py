"""Correct an instrument's readings from now on: a version, from a named check, within the caps, signed."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict, dataclass, field
from typing import Any

from isohume.outlets.site.adjustments.actions.record_adjustment import last_check
from isohume.outlets.site.adjustments.changes import begin, next_minute, supersede
from isohume.outlets.site.adjustments.models import MOVES, Correction
from isohume.outlets.site.adjustments.proposal import Proposal, propose
from isohume.outlets.site.adjustments.queries import changed_between, line_of
from isohume.outlets.site.adjustments.sequence import against_adjusting, against_correcting
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.ledger.actions import Action, By, Done, Refused
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.proof import Proof
from isohume.outlets.site.people.roles import MANAGER
from isohume.outlets.site.register.actions.fields import needed_words

STATEMENT = (
    "I correct the readings of this instrument from now on by the line shown here. It was cleaned and checked again, "
    "and I know that it has no standing until a check passes with the correction."
)
NOT_PROVED = "The password was not given again just now, or was wrong: nothing was signed."


@dataclass
class StartCorrection(Action[Correction]):
    """Readings from the next full minute on are corrected when a lot is judged; earlier ones keep what held then."""

    name = "correction_started"
    said = "Began a correction of readings"
    roles = frozenset({MANAGER})

    of_check: Check
    reason: str
    proof: Proof | None
    _proposal: Proposal | None = field(default=None, init=False, repr=False)

    @property
    def site(self) -> Site:
        """The instrument's plant."""
        return self.of_check.instrument.site

    def refusals(self, by: By) -> Iterable[str]:
        """No fresh proof, another check since, a careful step left out, or beyond a cap."""
        if self.proof is None or not self.proof.holds_for(by.person, by.at):
            yield NOT_PROVED
            return
        check, instrument = self.of_check, self.of_check.instrument
        last = last_check(instrument, by.at)
        if last != check:
            yield f"Check {check.pk} is not the last of {instrument}: a correction rests on what it reads now."
        if (changed := changed_between(instrument, check.last_read_at, next_minute(by.at))) is not None:
            read = "read the as-left check" if changed.kind in MOVES else f"{changed.words}: check it"
            yield f"The scale of {instrument} changed after check {check.pk}: {read} first."
        yield from against_adjusting(instrument, by.at, check)
        yield from against_correcting(instrument, by.at, check)
        found = propose(check, by.at)
        if isinstance(found, str):
            yield found
            return
        self._proposal = found
        yield from found.against

    def change(self, by: By) -> Done[Correction]:
        """Keep the version with its coefficients, caps and references; the one before ends where it begins."""
        found = self._proposal
        if found is None:
            raise Refused(f"Check {self.of_check.pk} gives no correction.")
        reason = needed_words(
            self.reason, "reason", 300, "why its readings are corrected and it is not adjusted itself"
        )
        line = found.line
        made = Correction.objects.create(
            instrument=self.of_check.instrument,
            version=int(line.version),
            of_check=self.of_check,
            offset=f"{line.offset:f}",
            slope=f"{line.slope:f}",
            u_offset=f"{line.u_offset:.10f}",
            u_slope=f"{line.u_slope:.10f}",
            covariance=f"{line.covariance:.14f}",
            lowest_read=f"{line.lowest_read:f}",
            highest_read=f"{line.highest_read:f}",
            references=[asdict(reference) for reference in found.fitted.references],
            caps=asdict(found.caps),
            reason=reason,
            since=line.since,
            by=by.person,
        )
        if found.before is not None:
            supersede(found.before, line.since, by.person, made.version)
        begin(made, None if found.before is None else line_of(found.before))
        about = [made.instrument.ref, self.of_check.ref, *([found.before.ref] if found.before else [])]
        return Done(made, made.ref, about, _details(made, found, by), reason)


def _details(made: Correction, found: Proposal, by: By) -> dict[str, Any]:
    return {
        "version": str(made.version),
        "check": made.of_check.ref,
        "b0": made.offset,
        "b1": made.slope,
        "u(b0)": made.u_offset,
        "u(b1)": made.u_slope,
        "cov(b0, b1)": made.covariance,
        "from a_w": made.lowest_read,
        "to a_w": made.highest_read,
        "since": made.since.isoformat(),
        "walk": f"{found.walked:+.5f}",
        "caps": {name: f"{cap:g}" for name, cap in made.caps.items()},
        "meaning": "corrected",
        "printed_name": by.person.printed_name,
        "statement": STATEMENT,
    }
