"""Judge a lot: its evidence becomes input files, the command line's code judges them, and the record is frozen."""

from __future__ import annotations

import tempfile
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from isohume.bench.record.certification import digest_of_inputs, freeze_judged, lot_key
from isohume.bench.record.compose import input_files
from isohume.bench.record.judge import judge_lot
from isohume.bench.record.lot_file import read_lot_file
from isohume.bench.record.queries import FrozenRecord
from isohume.bench.record.transaction import Transaction
from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_words
from isohume.outlets.site.bench.models import Lot
from isohume.outlets.site.captures.queries import waiting_of_lot
from isohume.outlets.site.captures.unaccounted import unaccounted_of_lot
from isohume.outlets.site.ledger.actions import Action, By, Done, Refused, perform
from isohume.outlets.site.ledger.models import TrailLine
from isohume.outlets.site.ledger.writing import writing
from isohume.outlets.site.lots.actions.open_deviation import OpenDeviation
from isohume.outlets.site.lots.evidence_of_lot import EvidenceOfLot, evidence_of
from isohume.outlets.site.lots.frozen import frozen, was_signed
from isohume.outlets.site.lots.inputs_now import digest_now
from isohume.outlets.site.lots.lot_inputs import write_inputs
from isohume.outlets.site.lots.models import LotRecord
from isohume.outlets.site.lots.state_of_lot import ENDED, last_record, settle
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import ANALYST, MANAGER, RELEASE_OFFICER

OUT_OF_SPECIFICATION = "out of specification"
BEYOND = ("fail", "conditional fail")
LONGEST_REASON = 1000


@dataclass
class JudgeLot(Action[LotRecord]):
    """Makes a lot's record, or finds the one that the same evidence made before."""

    name = "lot_judged"
    said = "Judged a lot and froze its record"
    roles = frozenset({ANALYST, MANAGER, RELEASE_OFFICER})

    lot: Lot
    amendment_reason: str = ""

    @property
    def site(self) -> Site:
        """The lot's plant."""
        return self.lot.site

    def refusals(self, by: By) -> list[str]:
        """A lot that was released or rejected is judged again only after a hold; no run of it is passed over."""
        self.lot.refresh_from_db(fields=["state"])
        if self.lot.state in ENDED:
            return [f"Lot {self.lot.code} is {self.lot.state}, and that is signed. Hold it first, with the reason."]
        return [*waiting_of_lot(self.lot), *unaccounted_of_lot(self.lot)]

    def change(self, by: By) -> Done[LotRecord]:
        """Judge, freeze, keep the input files, and let the lot's state follow."""
        evidence = evidence_of(self.lot)
        reason = read_words(self.amendment_reason, "amendment_reason", LONGEST_REASON)
        with writing(by.at) as ledger, tempfile.TemporaryDirectory(prefix="isohume-lot-") as folder:
            found, is_new = _judged(ledger, evidence, Path(folder), reason, by.at)
        record = _projected(evidence, found, by) if is_new else LotRecord.objects.get(record=found.id)
        if is_new:
            _trail(record, found.seq)
            self._deviate(record, found.content, by)
        settle(self.lot)
        return Done(record, record.ref, _about(evidence), _details(record, is_new), reason)

    def _deviate(self, record: LotRecord, content: dict[str, Any], by: By) -> None:
        """A result beyond the limit opens a deviation, once as long as it is open."""
        open_already = self.lot.deviations.filter(kind=OUT_OF_SPECIFICATION, closed_at=None).exists()
        if record.verdict in BEYOND and not open_already:
            what = f"Lot {self.lot.code}: {record.verdict}. {content['decision']['reasons'][-1]}"[:500]
            perform(OpenDeviation(self.site, OUT_OF_SPECIFICATION, what, lot=self.lot), by)


def site_key(lot: Lot) -> str:
    """The id under which the ledger finds a lot of the site: two plants never share one."""
    return f"{lot.site.key}/{lot_key(lot.code)}"


def _judged(
    ledger: Transaction, evidence: EvidenceOfLot, folder: Path, reason: str, at: datetime
) -> tuple[FrozenRecord, bool]:
    """The lot's record; the same evidence finds the last one again, whatever its reason was.

    A release that a hold took back is not in force again by itself: there the same evidence gets another record.
    """
    try:
        known = _known(ledger, evidence)
        if known is not None:
            if not was_signed(known.id, "released"):
                return known, False
            if not reason:
                asked = f"why lot {evidence.lot.code} gets another record: {known.id} was released, and held since"
                raise InputError("amendment.reason", "nothing", asked)
        lot = read_lot_file(write_inputs(evidence, folder, reason))
        files = input_files(lot)
        frozen_one, is_new = freeze_judged(ledger, judge_lot(lot, at), digest_of_inputs(files), site_key(evidence.lot))
    except InputError as error:
        raise _in_words(error) from error
    for _, path in lot.files:
        ledger.keep_file(path.name, path.read_bytes())
    return frozen_one, is_new


def _known(ledger: Transaction, evidence: EvidenceOfLot) -> FrozenRecord | None:
    last = last_record(evidence.lot)
    if last is None:
        return None
    known = ledger.find_by_inputs(digest_now(evidence, frozen(last.record).content))
    return known if known is not None and known.id == last.record else None


def _in_words(error: InputError) -> Exception:
    """What the form asks for stands at its field; everything else is a reason, since the form does not hold it."""
    if error.field == "amendment.reason":
        return InputError("amendment_reason", error.value, error.allowed)
    return Refused(f"The lot cannot be judged: {error}.")


def _projected(evidence: EvidenceOfLot, found: FrozenRecord, by: By) -> LotRecord:
    decision = found.content["decision"]
    record = LotRecord.objects.create(
        lot=evidence.lot,
        record=found.id,
        digest=found.digest,
        verdict=decision["verdict"],
        disposition=decision["disposition"],
        value=decision["value"],
        u=decision["u"],
        probability=decision["probability_of_conformity"],
        estimate=(found.content.get("estimates") or {}).get("label", ""),
        opening_check=evidence.opening,
        issued_at=by.at,
        by=by.person,
    )
    record.runs.set(evidence.runs)
    return record


def _trail(record: LotRecord, seq: int) -> None:
    """The record's own ledger line stands in the trail of record and lot."""
    TrailLine.objects.bulk_create(TrailLine(ref=ref, seq=seq) for ref in (record.ref, record.lot.ref))


def _about(evidence: EvidenceOfLot) -> list[str]:
    checks = [evidence.opening, *([evidence.closing] if evidence.closing else [])]
    return [thing.ref for thing in (evidence.lot, *evidence.runs, *checks)]


def _details(record: LotRecord, is_new: bool) -> dict[str, Any]:
    return {
        "record": record.record,
        "digest": record.digest,
        "verdict": record.verdict,
        "disposition": record.disposition,
        "new": "yes" if is_new else "no, the same evidence made it before",
    }
