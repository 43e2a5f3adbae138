"""`isohume certify LOT.toml --data FOLDER`: a lot from files to a verifiable certificate."""

from __future__ import annotations

import sqlite3
import sys
from collections import Counter
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from isohume.bench.record.certification import Certified, certify
from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.rounding import round_together
from isohume.outlets.cli.arguments import Arguments
from isohume.outlets.cli.output import facts, listed, parts, percent, print_error, print_json, print_text
from isohume.outlets.paper import write_certificate, write_readings

EXAMPLE = "isohume certify demo-day/inputs/SB-0914-01.toml --data demo-day/records"
NOT_SIGNED = "Certificates are not signed."
SUPPORT = "They support, and do not replace, the process authority, the regulator and the validated method."
CAUTION = f"{NOT_SIGNED} {SUPPORT}"
SIGNED = f"Certificates print the signatures they have. {SUPPORT}"
SAMPLING = "Sampling is not included: what is said here is said of the portions tested."


def run(arguments: list[str]) -> int:
    """Certify one lot or several; 0 only where every lot is released."""
    parser = Arguments("certify", "Check, replicates, decision, record and certificate of a lot.", EXAMPLE)
    parser.path("lots", nargs="+", metavar="LOT.toml", help="lot descriptions")
    parser.path("--data", required=True, metavar="FOLDER", help="folder of the ledger and the PDFs")
    parser.once("--paper", choices=("a4", "us-letter"), default="a4", help="paper size (default a4)")
    given = parser.parse_args(arguments)
    contents: list[dict[str, Any]] = []
    texts: list[str] = []
    signed = False
    refused: list[InputError] = []
    for number, lot in enumerate(given.lots, 1):
        try:
            certified = _certified(lot, given.data)
        except InputError as error:
            refused.append(error)
        else:
            pdf = print_papers(certified, given.data, given.paper)
            contents.append(as_json(certified, pdf))
            texts.append(readable(certified, pdf))
            signed = signed or bool(certified.signatures)
        _progress(number, len(given.lots))
    if len(given.lots) == 1 and refused:
        raise refused[0]
    for refusal in refused:
        print_error(str(refusal))
    if given.json:
        print_json(contents[0] if len(given.lots) == 1 else {"lots": contents, "refused": [str(e) for e in refused]})
    else:
        print_text(parts(*texts, (SIGNED if signed else CAUTION) if texts else ""))
    return 2 if refused else 0 if all(content["disposition"] == "release" for content in contents) else 1


def _certified(lot: Path, folder: Path) -> Certified:
    try:
        return certify(lot, folder, datetime.now(UTC))
    except sqlite3.OperationalError as error:
        raise _unwritable(folder, str(error), "nothing was frozen") from None


def _unwritable(folder: Path, why: str, state: str) -> InputError:
    return InputError("data", str(folder), f"a folder that can be written ({why}; {state})")


class PaperError(RuntimeError):
    """A record was frozen, but its certificate could not be written; giving the command again writes it."""


def print_papers(certified: Certified, folder: Path, paper: str) -> Path:
    """The certificate and its readings as CSV, beside the ledger; returns the certificate's place."""
    try:
        write_readings(certified.record, folder)
        return write_certificate(certified.record, certified.digest, folder, paper, certified.signatures)
    except OSError as error:
        frozen = f"record {certified.record['id']} is frozen: give the command again for its certificate"
        raise _unwritable(folder, error.strerror or type(error).__name__, frozen) from error
    except InputError as error:
        raise PaperError(
            f"record {certified.record['id']} is frozen, but its certificate could not be written ({error}); "
            "give the command again"
        ) from error


def _progress(number: int, count: int) -> None:
    if count > 1:
        end = "\n" if number == count else "\r"
        print(f"{number} of {count} lots", end=end, file=sys.stderr, flush=True)


def as_json(certified: Certified, pdf: Path) -> dict[str, Any]:
    """The keys of the command line's contract, with the reasons."""
    decision = certified.record["decision"]
    return {
        "lot": certified.record["lot"]["id"],
        "record": certified.record["id"],
        "verdict": decision["verdict"],
        "disposition": decision["disposition"],
        "estimates": certified.record.get("estimates"),
        "digest": certified.digest,
        "pdf": str(pdf),
        "reasons": decision["reasons"],
        "notes": certified.record["notes"],
        "already_frozen": certified.already_frozen,
    }


def readable(certified: Certified, pdf: Path) -> str:
    """What was decided, why, and where the proof is."""
    record, decision = certified.record, certified.record["decision"]
    rows = [
        ("lot", f"{record['lot']['id']}, {record['product']['name']}"),
        ("verdict", decision["verdict"]),
        ("disposition", decision["disposition"]),
        ("limit", _limits(record)),
    ]
    rows.append(("readings", _uses(record)))
    if used := record.get("correction"):
        rows.append(("correction", f"version {used['version']} of {used['id']}, since {used['since']}"))
    if decision["value"] is not None:
        value, u = round_together(decision["value"], decision["u"])
        early = f", {record['estimates']['label']}" if record.get("estimates") else ""
        rows.append(("value", (f"{value}, u {u}" if u else f"{value}, u not known") + early))
    if decision["probability_of_conformity"] is not None:
        rows.append(("probability of conformity", percent(decision["probability_of_conformity"])))
    again = " (frozen before; the same inputs make the same record)" if certified.already_frozen else ""
    rows += [("record", record["id"] + again), ("digest", certified.digest), ("certificate", str(pdf))]
    sampling = [] if decision["sampling_included"] else [SAMPLING]
    return parts(
        "\n".join((facts(rows), *(f"- {text}" for text in [*decision["reasons"], *sampling]))),
        listed("Notes", record["notes"]),
    )


def _uses(record: dict[str, Any]) -> str:
    """How many readings there are of each use: every one is accounted for."""
    uses = Counter(reading["use"] for reading in record["readings"])
    return ", ".join(f"{count} {use}{'s' if use == 'replicate' and count > 1 else ''}" for use, count in uses.items())


def _limits(record: dict[str, Any]) -> str:
    specification = record["specification"]
    sides = [specification[side] for side in ("lower_limit", "upper_limit") if specification[side]]
    kind = "a food-safety limit" if specification["kind"] == "safety" else "a quality limit"
    return f"{' and '.join(side['operator'] + ' ' + side['value'] for side in sides)}, {kind}"
