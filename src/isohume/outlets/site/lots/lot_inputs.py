"""From the site's rows to the very input files of the command line: the same code judges page and command line.

What is written here can be given to `isohume certify` as it stands, today and years later.
"""

from __future__ import annotations

import csv
from collections.abc import Iterable, Sequence
from datetime import datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from isohume.bench.reading.check_file import COLUMNS as CHECK_COLUMNS
from isohume.bench.reading.runs import COLUMNS as RUN_COLUMNS
from isohume.bench.reading.runs import STOP_COLUMNS
from isohume.outlets.site.adjustments.lot_table import correction_table
from isohume.outlets.site.bench.models import Lot, Run
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.lots.evidence_of_lot import EvidenceOfLot
from isohume.outlets.site.lots.models import MoistureDetermination, PhDetermination
from isohume.outlets.site.lots.stop_of_run import stop_of
from isohume.outlets.site.lots.toml_text import toml_of
from isohume.outlets.site.register.models import Budget, MethodVersion, SpecificationVersion

LOT_FILE, CHECK_FILE, CLOSING_FILE, READINGS_FILE = "lot.toml", "check.csv", "closing.csv", "readings.csv"


def write_inputs(evidence: EvidenceOfLot, folder: Path, amendment_reason: str = "") -> Path:
    """Write the input files of a lot to a folder.

    evidence: the lot's evidence. folder: an empty folder. amendment_reason: why another record is made, if one is.
    Returns: the lot file's place.
    """
    zone = ZoneInfo(evidence.lot.site.time_zone)
    _write_table(folder / CHECK_FILE, CHECK_COLUMNS, _check_rows(evidence.opening, zone))
    if evidence.closing is not None:
        _write_table(folder / CLOSING_FILE, CHECK_COLUMNS, _check_rows(evidence.closing, zone))
    columns = _run_columns(evidence.runs)
    _write_table(folder / READINGS_FILE, columns, (run_row(run, zone)[: len(columns)] for run in evidence.runs))
    path = folder / LOT_FILE
    path.write_text(toml_of(_lot_tables(evidence, zone, amendment_reason)), encoding="utf-8", newline="\n")
    return path


def _run_columns(runs: Iterable[Run]) -> tuple[str, ...]:
    """The columns of a readings file; where no run says how it ended, the file is byte for byte what it always was."""
    without = RUN_COLUMNS[: -len(STOP_COLUMNS)]
    return RUN_COLUMNS if any(stop_of(run)[0] for run in runs) else without


def run_row(run: Run, zone: ZoneInfo) -> list[str]:
    """A run as the readings file holds it; a corrected original is void, with the run that corrects it."""
    sample = run.portion.sample
    return [
        str(run.pk),
        f"{sample.code} / {run.portion.code}",
        sample.position,
        sample.component,
        run.a_w,
        _time(run.read_at, zone),
        run.sample_temperature_c,
        run.block_temperature_c,
        void_reason(run),
        run.override_reason,
        run.instrument.name,
        *stop_of(run),
    ]


def void_reason(run: Run) -> str:
    """Why a run does not count; empty where it does."""
    if run.void_reason or run.counts:
        return run.void_reason
    later = run.corrected_by
    return f"corrected by run {later.pk}: {later.correction_reason}"


def _lot_tables(evidence: EvidenceOfLot, zone: ZoneInfo, amendment_reason: str) -> dict[str, dict[str, Any]]:
    lot, run = evidence.lot, evidence.deciding[0]
    site, instrument = lot.site, run.instrument
    return {
        "lot": _lot(evidence, zone),
        "site": {
            "name": site.name,
            "laboratory": site.laboratory,
            "address": site.address,
            "customer": lot.customer,
        },
        "product": {
            "name": lot.product.name,
            "expected_a_w": lot.specification.expected_a_w,
            "components": list(lot.product.components) or None,
        },
        "specification": _specification(lot.specification, lot.product.components),
        "method": _method(run.method_version),
        "instrument": {
            "id": instrument.name,
            "serial": instrument.serial,
            "principle": instrument.principle,
            "measures_surface_temperature": instrument.measures_surface_temperature,
        },
        "correction": correction_table(run.instrument, run.read_at, zone),
        "check": _check(evidence.opening, CHECK_FILE),
        "closing_check": _check(evidence.closing, CLOSING_FILE) if evidence.closing else {},
        "readings": {"file": READINGS_FILE},
        "uncertainty": _budget(run.method_version.budget),
        **_companions(lot),
        "amendment": {"reason": amendment_reason} if amendment_reason else {},
    }


def _lot(evidence: EvidenceOfLot, zone: ZoneInfo) -> dict[str, Any]:
    lot = evidence.lot
    people = dict.fromkeys(run.by.printed_name for run in evidence.deciding)
    return {
        "id": lot.code,
        "description": lot.description,
        "produced_on": lot.produced_on.isoformat() if lot.produced_on else None,
        # forms give minutes, the server seconds: the minute it came in
        "received_at": _time(lot.received_at.replace(second=0, microsecond=0), zone),
        "analyst": _listed(list(people)),
    }


def _listed(names: list[str], most: int = 3) -> str:
    """A few names on one line; a certificate's field holds no crowd."""
    return ", ".join(names[:most]) + (f" and {len(names) - most} more" if len(names) > most else "")


def _specification(spec: SpecificationVersion, components: Sequence[str]) -> dict[str, Any]:
    lower = {">=": "minimum", ">": "above"}.get(spec.lower_operator, "minimum")
    upper = {"<=": "maximum", "<": "below"}.get(spec.upper_operator, "maximum")
    return {
        "version": spec.version,
        "component": spec.component or (components[0] if len(components) == 1 else ""),
        "temperature_c": spec.temperature_c,
        lower: spec.lower,
        upper: spec.upper,
        "kind": spec.kind,
        "guard": spec.guard,
        "allow_conditional": spec.allow_conditional,
        "source": spec.source,
    }


def _method(version: MethodVersion) -> dict[str, Any]:
    return {
        "name": version.method.name,
        "version": version.version,
        "temperature_c": version.temperature_c,
        "temperature_tolerance_c": version.temperature_tolerance_c,
        "mismatch_limit_c": version.mismatch_limit_c,
        "check_interval_h": version.check_interval_h,
        "estimates_validated": version.estimates_validated,
    }


def _check(check: Check, file: str) -> dict[str, Any]:
    return {"file": file, "limit": check.limit, "u_instrument": check.u_instrument}


def _budget(budget: Budget | None) -> dict[str, Any]:
    """None is the starter budget of the published studies: the lot file then has no table."""
    if budget is None:
        return {}
    own = budget.basis == "own data"
    return {
        "basis": budget.basis,
        "u_other": budget.u_other if own else "",
        "s_r": budget.s_r,
        "s_R": "" if own else budget.s_reproducibility,
        "s_position": budget.s_position,
        "source": budget.source,
    }


def _companions(lot: Lot) -> dict[str, dict[str, Any]]:
    """The last determination of each kind; earlier ones stay in the trail."""
    tables: dict[str, dict[str, Any]] = {}
    if (wet := lot.moistures.order_by("pk").last()) is not None:
        tables |= moisture_tables(wet)
    if (acid := lot.phs.order_by("pk").last()) is not None:
        tables |= ph_tables(acid)
    return tables


def moisture_tables(found: MoistureDetermination) -> dict[str, dict[str, Any]]:
    """The tables of a moisture determination in a lot file."""
    weighed = ("dish_g", "with_sample_g", "with_dry_g")
    return {
        "moisture": {
            "method": found.method,
            "basis": found.basis,
            "u_wet_basis": found.u_wet_basis,
            "weighings": [{key: dish[key] for key in weighed} for dish in found.dishes],
        },
        "moisture.check": {
            "nominal_g": found.check_nominal_g,
            "read_g": found.check_read_g,
            "limit_g": found.check_limit_g,
        },
    }


def ph_tables(found: PhDetermination) -> dict[str, dict[str, Any]]:
    """The tables of a pH determination in a lot file."""
    keys = ("nominal", "read", "temperature_c")
    return {
        "ph": {
            "method": found.method,
            "values": list(found.values),
            "temperature_c": found.temperature_c,
            "u": found.u,
        },
        "ph.check": {
            "limit": found.limit,
            "buffers": [{key: buffer[key] for key in keys if buffer.get(key)} for buffer in found.buffers],
        },
    }


def _check_rows(check: Check, zone: ZoneInfo) -> Iterable[list[str]]:
    readings = check.readings.select_related("bottle__solution_lot").order_by("read_at", "pk")
    for reading in readings:
        solution = reading.bottle.solution_lot
        yield [
            solution.solution,
            solution.molality,
            reading.temperature_c,
            reading.a_w,
            _time(reading.read_at, zone),
            f"{solution.code} / {reading.bottle.code}",
            check.instrument.name,
        ]


def _time(at: datetime, zone: ZoneInfo) -> str:
    return at.astimezone(zone).isoformat()


def _write_table(path: Path, columns: Sequence[str], rows: Iterable[Sequence[str]]) -> None:
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(columns)
        writer.writerows(rows)
