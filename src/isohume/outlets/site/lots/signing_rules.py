"""Who may sign what: every reason why a person may not give a record a meaning. No door leads round these."""

from __future__ import annotations

from typing import Any

from django.db.models import QuerySet

from isohume.bench.record.signature import Signature
from isohume.outlets.site.bench.models import Lot, Run
from isohume.outlets.site.captures.models import CapturedRun
from isohume.outlets.site.captures.queries import waiting_of_lot
from isohume.outlets.site.captures.unaccounted import unaccounted_of_lot
from isohume.outlets.site.checks.lots_of_check import failed_against
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.lots.evidence_of_lot import check_after, runs_of
from isohume.outlets.site.lots.frozen import frozen, outdated, questions, was_signed
from isohume.outlets.site.lots.models import LotRecord
from isohume.outlets.site.lots.state_of_lot import last_record, open_deviations
from isohume.outlets.site.people.models import Person
from isohume.outlets.site.people.roles import MANAGER, RELEASE_OFFICER, Role

MEANINGS = ("reviewed", "approved", "released", "rejected")
SIGNS: dict[str, tuple[Role, ...]] = {
    "reviewed": (MANAGER, RELEASE_OFFICER),
    "approved": (MANAGER, RELEASE_OFFICER),
    "released": (RELEASE_OFFICER,),
    "rejected": (RELEASE_OFFICER, MANAGER),
}


def role_for(person: Person, meaning: str) -> Role | None:
    """The role a person signs this meaning in; None where the person has none that may."""
    return next((role for role in SIGNS[meaning] if person.holds(role)), None)


def reasons_against(record: LotRecord, meaning: str, person: Person, runs: tuple[Run, ...] | None = None) -> list[str]:
    """Every reason why this person may not sign this record with this meaning now; none where it may be signed.

    runs: every run of the lot, from `runs_of`, where it is at hand.
    """
    lot = record.lot
    content = frozen(record.record).content
    signed = questions().signatures_of(record.record)
    reasons = [*_whoever(record, meaning, person), *_signed_before(record, signed, meaning, person)]
    if meaning != "rejected":
        runs = runs_of(lot) if runs is None else runs
        reasons += _second_person(record, runs, person)
        reasons += outdated(record, content, runs)
        reasons += _second_keying(runs) if meaning == "reviewed" else []
    if meaning == "released":
        reasons += _release(record, content, signed, person)
    return reasons


def _whoever(record: LotRecord, meaning: str, person: Person) -> list[str]:
    lot, reasons = record.lot, []
    if role_for(person, meaning) is None:
        named = " or ".join(role.value for role in SIGNS[meaning])
        reasons.append(f"Signing {meaning} is for: {named}.")
    last = last_record(lot)
    if last is not None and last.pk != record.pk:
        reasons.append(f"Record {record.record} of lot {lot.code} is superseded by {last.record}.")
    if lot.state in ("released", "rejected"):
        reasons.append(f"Lot {lot.code} is {lot.state} already.")
    return reasons


def _signed_before(record: LotRecord, signed: list[Signature], meaning: str, person: Person) -> list[str]:
    if meaning != "rejected":
        for rejected in (r for r in record.lot.records.order_by("pk") if was_signed(r.record, "rejected")):
            return [f"Record {rejected.record} of lot {record.lot.code} is signed as rejected: that stays."]
    if any(s.person == person.username and s.meaning == meaning for s in signed):
        return [f"{person.printed_name} signed record {record.record} as {meaning} already."]
    return []


def _second_person(record: LotRecord, runs: tuple[Run, ...], person: Person) -> list[str]:
    """Who had a hand in the evidence signs nothing of it; each reason says what the person did."""
    lot = record.lot
    had_a_hand = {
        "recorded runs": any(run.by_id == person.pk and run.corrects_id is None for run in runs),
        "corrected runs": any(run.by_id == person.pk and run.corrects_id is not None for run in runs),
        "voided runs": any(run.voided_by_id == person.pk for run in runs),
        "said what captured runs were of": _of_lot(lot).filter(assigned_by=person).exists(),
        "voided captured runs": _of_lot(lot).filter(voided_by=person).exists(),
        "recorded moisture": lot.moistures.filter(by=person).exists(),
        "recorded the pH": lot.phs.filter(by=person).exists(),
    }
    did = [f"{what} of lot {lot.code}" for what, so in had_a_hand.items() if so]
    did += _did_with_checks(record, runs, person)
    return [f"{person.printed_name} {what}: another person signs." for what in did]


def _of_lot(lot: Lot) -> QuerySet[CapturedRun]:
    return CapturedRun.objects.filter(portion__sample__lot=lot)


def _did_with_checks(record: LotRecord, runs: tuple[Run, ...], person: Person) -> list[str]:
    opening, lot = record.opening_check, record.lot
    closing = check_after(tuple(run for run in runs if run.counts) or runs)
    around = [opening, *([closing] if closing else [])]
    voided = Check.objects.filter(
        instrument=opening.instrument_id,
        voided_by=person,
        last_read_at__gte=opening.first_read_at,
        first_read_at__lte=max(check.until if check == opening else check.last_read_at for check in around),
    )
    name = opening.instrument.name
    did = [f"recorded check {c.pk} of {name}, on which lot {lot.code} stands" for c in around if c.by_id == person.pk]
    return did + [f"voided check {c.pk} of {name}, under which lot {lot.code} was read" for c in voided.order_by("pk")]


def not_keyed_twice(runs: tuple[Run, ...]) -> list[Run]:
    """The typed runs that count and that no second person keyed alike."""
    return [run for run in runs if run.counts and run.typed and not _agreed(run)]


def _agreed(run: Run) -> bool:
    last = run.second_keyings.exclude(by=run.by_id).order_by("pk").last()
    return last is not None and last.agrees


def _second_keying(runs: tuple[Run, ...]) -> list[str]:
    open_runs = not_keyed_twice(runs)
    if not open_runs:
        return []
    return [f"Run {', '.join(str(run.pk) for run in open_runs)} was typed and not keyed a second time in agreement."]


def _release(record: LotRecord, content: dict[str, Any], signed: list[Signature], person: Person) -> list[str]:
    lot, reasons = record.lot, []
    if lot.state != "judged":
        reasons.append(f"Lot {lot.code} is {lot.state}: only a judged lot is released.")
    if content["decision"]["disposition"] != "release":
        reasons.append(f"Record {record.record} says {content['decision']['disposition']}, not release.")
    reasons += [f"Deviation {d.pk} ({d.kind}) of lot {lot.code} is open." for d in open_deviations(lot)]
    reasons += [*waiting_of_lot(lot), *unaccounted_of_lot(lot)]
    reasons += failed_against(lot, [run for run in record.runs.select_related("method_version") if run.counts])
    reviewers = {s.person for s in signed if s.meaning == "reviewed"}
    if not reviewers:
        reasons.append(f"Record {record.record} is not reviewed.")
    elif content["specification"]["kind"] == "safety" and not reviewers - {person.username}:
        reasons.append("A food-safety limit: the reviewer and the releaser are two people.")
    return reasons
