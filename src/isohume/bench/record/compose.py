"""The record of a judged lot: one plain object with everything a reader needs years later, ready to be frozen."""

from __future__ import annotations

import hashlib
from pathlib import Path
from typing import Any

from isohume.bench.assurance.check import Check
from isohume.bench.decision.specification import Specification
from isohume.bench.record.how import how_figures_were_found
from isohume.bench.record.judge import JudgedLot
from isohume.bench.record.lot_correction import correction_as_json
from isohume.bench.record.lot_description import LotDescription, Method, ProductSpecification
from isohume.bench.record.lot_estimates import CAUTION as ESTIMATE_CAUTION
from isohume.version import __version__

SCHEMA = "isohume.record/1"
CAUTION = (
    "This statement supports, and does not replace, the process authority, the regulator and the validated method."
)
SAFETY_CAUTION = (
    "Water activity is never a kill step: no growth is not safe. Pathogens can survive for months in dry food; limits "
    "differ with humectant, oxygen and organism. Local codes and the process authority decide."
)
SAMPLING_CAUTION = "Sampling is not included: the probability speaks of the portions tested, not of the lot."


def compose(judged: JudgedLot, record_id: str, issued_at: str, earlier: tuple[str, ...] = ()) -> dict[str, Any]:
    """The record's content, in schema isohume.record/1.

    judged: the judged lot [text].
    record_id: the id given by the store [text].
    issued_at: the moment of freezing, ISO 8601 with offset [text].
    earlier: ids of earlier records of the same lot [text].
    Returns: a plain object ready for the canonical form [text].
    Source: ISO17025, 7.5 and 7.8.
    """
    lot = judged.description
    return {
        "schema": SCHEMA,
        "id": record_id,
        "issued_at": issued_at,
        "software": {"name": "isohume", "version": __version__},
        **_who_and_what(lot),
        # a record without a correction is byte for byte what it always was
        **({} if lot.correction is None else {"correction": correction_as_json(lot.correction)}),
        "check": _check(judged.check, lot.check.table.path, judged.check_as_read),
        "closing_check": None
        if judged.closing is None or lot.closing_check is None
        else _check(judged.closing, lot.closing_check.table.path, judged.closing_as_read),
        "standing": judged.standing.as_json(tuple(j.run.read_at for j in judged.runs if j.use == "replicate")),
        "readings": [run.as_json() for run in judged.runs],
        "determination": _determination(judged),
        "uncertainty": _uncertainty(lot),
        "budget": None if judged.budget is None else judged.budget.as_json(),
        "decision": {**judged.decision.as_json(), "rule": rule_in_words(lot.specification.rule)},
        "companions": [companion.as_json() for companion in lot.companions],
        **({"strata": judged.strata.as_json()} if judged.strata else {}),
        **({"estimates": judged.estimates.as_json()} if judged.estimates else {}),
        "how": how_figures_were_found(judged),
        "inputs": input_files(lot),
        "notes": list(judged.notes),
        "earlier_records": list(earlier),
        "amendment": {"reason": lot.amendment_reason} if lot.amendment_reason else None,
        "cautions": _cautions(judged),
        "signatures": [],
    }


def _who_and_what(lot: LotDescription) -> dict[str, Any]:
    return {
        "site": {"name": lot.site, "laboratory": lot.laboratory or None, "address": lot.address or None},
        "customer": lot.customer or None,
        "lot": {
            "id": lot.lot,
            "description": lot.description or None,
            "produced_on": lot.produced_on or None,
            "received_at": lot.received_at.isoformat() if lot.received_at else None,
            "analyst": lot.analyst or None,
        },
        "method": _method(lot.method),
        **_product_and_specification(lot.specification),
        "instrument": {
            "id": lot.instrument.id,
            "serial": lot.instrument.serial or None,
            "principle": lot.instrument.principle,
            "measures_surface_temperature": lot.instrument.measures_surface_temperature,
        },
    }


def _method(method: Method) -> dict[str, Any]:
    mismatch = method.mismatch_limit_c
    return {
        "name": method.name,
        "version": method.version,
        "temperature_c": str(method.temperature_c),
        "temperature_tolerance_c": str(method.temperature_tolerance_c),
        "mismatch_limit_c": None if mismatch is None else str(mismatch),
        **({"estimates_validated": method.estimates_validated} if method.estimates_validated else {}),
    }


def _product_and_specification(spec: ProductSpecification) -> dict[str, Any]:
    return {
        "product": {
            "name": spec.product,
            "expected_a_w": str(spec.expected_a_w),
            "components": list(spec.components),
        },
        "specification": {
            "version": spec.version,
            "component": spec.component or None,
            "temperature_c": str(spec.temperature_c),
            "kind": spec.rule.kind,
            "lower_limit": _limit(spec.rule, upper=False),
            "upper_limit": _limit(spec.rule, upper=True),
            "guard": str(spec.rule.guard),
            "allow_conditional": spec.rule.allow_conditional,
            "source": spec.source,
        },
    }


def _uncertainty(lot: LotDescription) -> dict[str, Any]:
    known = lot.uncertainty
    values = {"u_other": known.u_other, "s_r": known.s_r, "s_position": known.s_position}
    return {
        "basis": known.basis,
        "source": known.source,
        **{name: None if value is None else str(value) for name, value in values.items()},
    }


def _limit(rule: Specification, *, upper: bool) -> dict[str, str] | None:
    limit = rule.upper if upper else rule.lower
    return None if limit is None else {"value": str(limit.value), "operator": limit.operator}


def _check(check: Check, path: Path, as_read: Check | None = None) -> dict[str, Any]:
    at = check.last_read_at
    also = {} if as_read is None else {"as_read": as_read.as_json()}
    return {"file": path.name, "at": at.isoformat() if at else None, **check.as_json(), **also}


def _determination(judged: JudgedLot) -> dict[str, Any] | None:
    if judged.determination is None:
        return None
    return {**judged.determination.as_json(), "u": judged.budget.u if judged.budget else None}


def rule_in_words(rule: Specification) -> str:
    """The decision rule as a certificate words it.

    rule: limits, kind and guard factor [text].
    Returns: one sentence [text].
    Source: ILACG8, 4.2; JCGM106, 8.
    """
    if rule.guard == 0:
        return "Simple acceptance, w = 0 (ILAC-G8:09/2019): at the limit the risk of a false statement is up to 50 %."
    conditional = "may be released (quality limit)" if rule.allow_conditional else "holds the lot"
    return (
        f"Guarded acceptance, w = {rule.guard} u (ILAC-G8:09/2019, non-binary statement with guard band; probability "
        "by JCGM 106): pass inside the acceptance limits; a conditional pass, inside the limits but within w of one, "
        f"{conditional}."
    )


def input_files(lot: LotDescription) -> list[dict[str, Any]]:
    """Every input file with its role, size and SHA-256.

    lot: the lot description [text].
    Returns: one object a file [text].
    Source: FIPS180-4.
    """
    files = []
    for role, path in lot.files:
        with path.open("rb") as file:
            digest = hashlib.file_digest(file, "sha256").hexdigest()
        files.append({"role": role, "name": path.name, "sha256": digest, "bytes": path.stat().st_size})
    return files


def _cautions(judged: JudgedLot) -> list[str]:
    cautions = [CAUTION]
    if judged.description.specification.rule.kind == "safety":
        cautions.append(SAFETY_CAUTION)
    if not judged.decision.sampling_included:
        cautions.append(SAMPLING_CAUTION)
    if judged.estimates is not None:
        cautions.append(ESTIMATE_CAUTION)
    return cautions
