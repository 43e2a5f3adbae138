"""The sections on what was tested and read: the item, every run with its use, the replicates."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from isohume.outlets.paper.blocks import Block, pairs, section, table, text
from isohume.outlets.paper.record_fields import get, items, need, site_line
from isohume.outlets.paper.record_line import route
from isohume.outlets.paper.record_words import ABSENT, fixed, joined, moment, plain, sentence, yes


def tested(record: Mapping[str, Any]) -> Block:
    """Who tested what, by which method, on which instrument, when."""
    lot, method, spec = need(record, "lot"), need(record, "method"), need(record, "specification")
    rows = [
        ("Laboratory", site_line(record)),
        ("Address", plain(get(record, "site", "address"))),
        ("Customer", plain(record.get("customer")) if record.get("customer") else "None named"),
        ("Lot", str(need(record, "lot", "id"))),
        ("Description", plain(lot.get("description"))),
        ("Product", _product(record)),
        ("Produced", moment(lot.get("produced_on"))),
        ("Received", moment(lot.get("received_at"))),
        ("Tested", _tested_when(record)),
        ("Analyst", plain(lot.get("analyst"))),
        ("Method", f"{need(record, 'method', 'name')}, version {need(record, 'method', 'version')}"),
        ("Method asks for", _conditions(method)),
        ("Specification", f"Version {spec['version']}; {plain(spec.get('source'))}"),
        ("Instrument", _instrument(record)),
        ("Issued", moment(need(record, "issued_at"))),
        ("Software", f"{need(record, 'software', 'name')} {need(record, 'software', 'version')}"),
    ]
    return section("What was tested", pairs(row for row in rows if row[1] != ABSENT))


def _product(record: Mapping[str, Any]) -> str:
    expected = get(record, "product", "expected_a_w")
    return str(need(record, "product", "name")) + (f"; expected water activity {expected}" if expected else "")


def _tested_when(record: Mapping[str, Any]) -> str:
    at = [datetime.fromisoformat(r["read_at"]) for r in items(record, "readings") if r.get("read_at")]
    if not at:
        return "No reading"
    first, last = moment(min(at).isoformat()), moment(max(at).isoformat())
    return first if first == last else f"{first} to {last}"


def _conditions(method: Mapping[str, Any]) -> str:
    words = f"{need(method, 'temperature_c')} °C"
    if method.get("temperature_tolerance_c"):
        words += f" ± {method['temperature_tolerance_c']} °C"
    if method.get("mismatch_limit_c"):
        words += f"; sample within {method['mismatch_limit_c']} °C of the block"
    return words


def _instrument(record: Mapping[str, Any]) -> str:
    instrument = need(record, "instrument")
    surface = yes(instrument.get("measures_surface_temperature"))
    serial = f", serial {instrument['serial']}" if instrument.get("serial") else ""
    return (
        f"{need(record, 'instrument', 'id')}{serial}; {plain(instrument.get('principle'))}; "
        f"measures the sample's surface temperature: {surface}"
    )


def readings(record: Mapping[str, Any]) -> Block:
    """Every run in the order read, also those that do not count, each with its use and reason."""
    runs = items(record, "readings")
    day = _one_day(runs)
    mixed = len({r.get("component") for r in runs}) > 1
    moved = any(r.get("corrected_a_w") is not None for r in runs)
    ended = any(r.get("stopped") for r in runs)
    columns = [
        "Run", "Portion", "Position|wide", *(("Component|wide",) if mixed else ()), "a_w|right",
        *(("Corrected|right",) if moved else ()),
        f"Read at, {day}" if day else "Read at", "Sample °C|right", "Block °C|right",
        *(("Ended as|wide",) if ended else ()), "Use",
    ]  # fmt: skip
    rows = [(_run(r, day, mixed, moved, ended), joined(r.get("reasons") or [])) for r in runs]
    counted = sum(r.get("use") == "replicate" for r in runs)
    words = f"Every run is listed: {len(runs)} in all, {counted} of them counted as replicates."
    if runs and not mixed and runs[0].get("component"):
        words += f" Component: {plain(runs[0].get('component'))}."
    return section("Readings", text(words), table(columns, rows) if runs else None)


def _one_day(runs: list[Mapping[str, Any]]) -> str:
    """The day all runs were read on, so that rows need only the time; empty where there are several."""
    days = {str(r.get("read_at"))[:10] for r in runs}
    return days.pop() if len(days) == 1 and all("T" in str(r.get("read_at")) for r in runs) else ""


def _run(r: Mapping[str, Any], day: str, mixed: bool, moved: bool, ended: bool) -> list[str]:
    at = moment(r.get("read_at"))
    return [
        plain(r.get("run")),
        plain(r.get("portion")),
        plain(r.get("position")),
        *([plain(r.get("component"))] if mixed else []),
        plain(r.get("a_w")),
        *([ABSENT if r.get("corrected_a_w") is None else fixed(float(r["corrected_a_w"]), 5)] if moved else []),
        at.removeprefix(f"{day}T") if day else at,
        plain(r.get("sample_temperature_c")),
        plain(r.get("block_temperature_c")),
        *([plain(r.get("stopped"))] if ended else []),
        plain(r.get("use")),
    ]


def replicates(record: Mapping[str, Any]) -> Block:
    """How the result came from the replicates."""
    d = record.get("determination")
    if not d:
        return section("Replicates", text("No usable portion: no determination was made."))
    rows = [
        ("Route", sentence(route(record))),
        ("Replicates", plain(d.get("n"))),
        ("Range", f"{plain(d.get('range'))}; allowed {plain(d.get('allowed_range'))}"),
        ("Repeatability", f"standard deviation {d['s_r']}" if d.get("s_r") else "Not known"),
    ]
    return section("Replicates", pairs(rows), text(joined(d.get("reasons") or [])))
